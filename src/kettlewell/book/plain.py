"""Numbers and times as they stand in the day book: texts that say the same on every machine."""

from datetime import UTC, datetime
from decimal import Decimal


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
