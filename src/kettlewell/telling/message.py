"""A sentence to be shown, and how its text is marked for the catalogue."""

from kettlewell.book.words import N_, Message, Value

__all__ = ["N_", "Message", "Value", "tidy"]


def tidy(number: float) -> float | int:
    """Return a number as it is told: whole, or to a tenth."""
    return int(number) if number == int(number) else round(number, 1)
