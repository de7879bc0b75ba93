"""Codes that people copy: random bytes as letters in fours, read again however they are typed."""

from base64 import b32encode


def lettered(data: bytes) -> str:
    """Return bytes, five or a multiple, as letters and digits in fours: ``abcd-efgh``."""
    return in_fours(b32encode(data).decode("ascii").casefold(), "-")


def in_fours(letters: str, between: str) -> str:
    """Return letters in fours, so that eyes keep their place."""
    return between.join(letters[start : start + 4] for start in range(0, len(letters), 4))


def bare(typed: str) -> str:
    """Return a code as it is compared; blanks, dashes and capitals make no difference."""
    return "".join(typed.split()).casefold().replace("-", "")
