"""Marks the sentences that a reader may want in another language, and carries them to him."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Union

Value = Union[float, int, str, datetime, date, Decimal, "Message", None]


def N_(text: str) -> str:
    """Return ``text`` unchanged; the name marks the sentence for the catalogue."""
    return text


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """A sentence to be shown: a translatable ``text`` with the values of its {fields}."""

    text: str
    values: Mapping[str, Value] = field(default_factory=dict)

    def __str__(self) -> str:
        """Return the sentence untranslated."""
        return self.text.format(**self.values)


class ToldError(ValueError):
    """An error whose sentence a reader may want in another language."""

    def __init__(self, text: str | Message, **values: Value) -> None:
        """Take a sentence, or its text with the values of its {fields}."""
        self.message = text if isinstance(text, Message) else Message(text=text, values=values)
        super().__init__(str(self.message))


def message_of(error: ValueError) -> Message:
    """Return the sentence of an error; one that has none in another language stays as it is."""
    if isinstance(error, ToldError):
        return error.message
    return Message(text="{said}", values={"said": str(error)})
