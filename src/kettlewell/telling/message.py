"""A sentence to be shown, and how its text is marked for the catalogue."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from kettlewell.book.words import N_

__all__ = ["N_", "Message", "Value", "tidy"]

Value = float | int | str | datetime | date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """A sentence to be shown: a translatable ``text`` with the values of its {fields}."""

    text: str
    values: Mapping[str, Value] = field(default_factory=dict)

    def __str__(self) -> str:
        """Return the sentence untranslated."""
        return self.text.format(**self.values)


def tidy(number: float) -> float | int:
    """Return a number as it is told: whole, or to a tenth."""
    return int(number) if number == int(number) else round(number, 1)
