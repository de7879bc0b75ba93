"""Identifiers that sort by time, for entries the program writes itself."""

import hashlib
import secrets
from datetime import datetime
from uuid import UUID


def uuid7(at: datetime) -> UUID:
    """Return a UUIDv7 (RFC 9562, section 5.7): milliseconds since 1970, then random bits."""
    return _uuid7(at, secrets.randbits(74))


def uuid7_of(at: datetime, said: str) -> UUID:
    """Return the UUIDv7 of what was said of a time: the same of the same, in place of random bits."""
    return _uuid7(at, int.from_bytes(hashlib.sha256(said.encode()).digest()) >> (256 - 74))


def _uuid7(at: datetime, bits: int) -> UUID:
    milliseconds = int(at.timestamp() * 1000)
    head = milliseconds << 80 | 0x7 << 76 | (bits >> 62) << 64
    return UUID(int=head | 0b10 << 62 | bits & (1 << 62) - 1)
