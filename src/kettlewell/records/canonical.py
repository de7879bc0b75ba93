"""The canonical form of an entry: JSON after RFC 8785 in which every number is a decimal string."""

import hashlib
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from decimal import Decimal

import rfc8785

VERSION = "1"

Plain = Mapping[str, "Plain"] | Sequence["Plain"] | str | bool | None


def canonical(value: Plain) -> bytes:
    """Return the bytes that a hash is taken over; raises TypeError where a number is no decimal string."""
    return rfc8785.dumps(_checked(value))


def sha256(value: Plain) -> str:
    """Return the SHA-256 of the canonical form, in hexadecimal."""
    return hashlib.sha256(canonical(value)).hexdigest()


def salted_digest(salt: bytes, content: bytes) -> str:
    """Return the digest that stands in an entry for a content which may be erased.

    The salt is as long as the digest, so that nobody can find a name by trying names.
    """
    return hashlib.sha256(salt + content).hexdigest()


def decimal_text(number: Decimal | float) -> str:
    """Return a number as the shortest decimal string that says the same, without an exponent."""
    exact = Decimal(repr(number)) if isinstance(number, float) else Decimal(number)
    if not exact.is_finite():
        raise ValueError(f"{number} is not a number that can be written down")
    text = format(exact, "f")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def time_text(at: datetime) -> str:
    """Return a moment in UTC with microseconds, such as 2026-11-25T13:05:00.000000Z."""
    return at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def _checked(value: Plain) -> Plain:
    match value:
        case None | bool() | str():
            return value
        case Mapping():
            return {str(key): _checked(each) for key, each in value.items()}
        case list() | tuple():
            return [_checked(each) for each in value]
    raise TypeError(f"{value!r} is no text, list or table: numbers are written as decimal strings")
