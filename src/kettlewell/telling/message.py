"""A sentence to be shown."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """A sentence to be shown: a translatable ``text`` with the values of its {fields}."""

    text: str
    values: Mapping[str, float | int | str | datetime | date | None] = field(default_factory=dict)

    def __str__(self) -> str:
        """Return the sentence untranslated."""
        return self.text.format(**self.values)
