"""The words of the log, and how a word that is nearly right is understood."""

import difflib
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from typing import Generic, TypeVar

from kettlewell.book.kinds import KINDS, Concerns
from kettlewell.book.words import N_, Message, ToldError, Value

T = TypeVar("T")

NOT_KNOWN = N_("{word!r} is not known; {advice}")

_FIRST = (
    "when",
    "fryer",
    "what",
    "amount",
    "unit",
    "product",
    "oil",
    "into",
    "oil_temp",
    "meter",
    "lot",
    "sound",
    "uncertainty",
)
_LAST = ("who", "note")
_TOLD = {field.column for kind in KINDS.values() if kind.log for field in kind.fields if field.column}
COLUMNS = (*_FIRST, *sorted(_TOLD - {*_FIRST, *_LAST}), *_LAST)
REQUIRED_COLUMNS = ("when", "fryer", "what")

OIL_UNITS = {
    "kg": "kg",
    "g": "g",
    "l": "l",
    "litre": "l",
    "litres": "l",
    "ml": "ml",
    "mark": "mark",
    "jug": "jug",
    "jugs": "jug",
    "pack": "pack",
    "packs": "pack",
}
FOOD_UNITS = {
    "kg": "kg",
    "g": "g",
    "portion": "portion",
    "portions": "portion",
    "basket": "basket",
    "baskets": "basket",
}
HOUR_UNITS = {"h": "h", "hour": "h", "hours": "h", "min": "min"}
TPC_UNITS = {"%": "%"}
SENSES = {"spoiled": True, "fine": False}
ANSWERS = {"yes": True, "no": False}
WHATS = tuple(word for kind in KINDS.values() for word in kind.log)
OF_NO_FRYER = tuple(
    word for kind in KINDS.values() if kind.concerns is not Concerns.FRYER for word in kind.log
)


class NotUnderstoodError(ToldError):
    """A cell that cannot be used: its column, and what to do about it."""

    def __init__(self, field: str, text: str | Message, **values: Value) -> None:
        """Keep both apart for the list of problems."""
        super().__init__(text, **values)
        self.field = field


class Words(Generic[T]):
    """A choice of words, each with its meaning, forgiving in case, spaces and hyphens."""

    def __init__(self, meanings: Iterable[tuple[str, T]]) -> None:
        """Let an earlier word win over a later one that reads the same once squeezed."""
        self.words: list[str] = []
        self._meanings: dict[str, T] = {}
        for word, meaning in meanings:
            self.words.append(word)
            self._meanings.setdefault(squeezed(word), meaning)

    def find(self, text: str, field: str) -> T:
        """Return what ``text`` means; raise NotUnderstoodError with the nearest word there is."""
        try:
            return self._meanings[squeezed(text)]
        except KeyError:
            advice = nearest(text, self.words)
            raise NotUnderstoodError(field, NOT_KNOWN, word=short(text), advice=advice) from None


@lru_cache(maxsize=4096)
def squeezed(text: str) -> str:
    """Return the letters and digits alone, in lower case (or all of it where there are none)."""
    plain = unicodedata.normalize("NFKC", text).casefold()
    return "".join(c for c in plain if c.isalnum()) or plain.strip()


def nearest(text: str, words: Iterable[str]) -> Message:
    """Return "did you mean …?", or the choice there is when nothing comes near."""
    known = {word.casefold(): word for word in words}
    if near := difflib.get_close_matches(short(text).casefold(), known, n=1):
        return Message(text=N_("did you mean {word!r}?"), values={"word": known[near[0]]})
    if not known:
        return Message(text=N_("kitchen.toml names none"))
    return Message(text=N_("use one of: {words}"), values={"words": ", ".join(known.values())})


def short(text: str) -> str:
    """Return ``text`` cut so that a message stays readable."""
    return text if len(text) <= 40 else text[:39] + "…"
