"""The canonical form of an entry: JSON after RFC 8785 in which every number is a decimal string."""

import hashlib
from collections.abc import Mapping, Sequence

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


def _checked(value: Plain) -> Plain:
    match value:
        case None | bool() | str():
            return value
        case Mapping():
            return {str(key): _checked(each) for key, each in value.items()}
        case list() | tuple():
            return [_checked(each) for each in value]
    raise TypeError(f"{value!r} is no text, list or table: numbers are written as decimal strings")
