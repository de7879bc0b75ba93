"""Identifiers that sort by time, for entries the program writes itself."""

import secrets
from datetime import datetime
from uuid import UUID


def uuid7(at: datetime) -> UUID:
    """Return a UUIDv7 (RFC 9562, section 5.7): milliseconds since 1970, then random bits."""
    milliseconds = int(at.timestamp() * 1000)
    random_bits = secrets.randbits(74)
    head = milliseconds << 80 | 0x7 << 76 | (random_bits >> 62) << 64
    return UUID(int=head | 0b10 << 62 | random_bits & (1 << 62) - 1)
