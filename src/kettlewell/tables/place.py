"""What a table's words may point at: the fryers and meters of a kitchen, and its clocks."""

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from kettlewell.folder.words import squeezed

CLOSE = 0.75  # from how alike two names are on, as difflib has it, one is guessed: chosen


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A kitchen as far as its tables speak of it: names of fryers and meters by key."""

    fryers: Mapping[str, str]
    meters: Mapping[str, str]
    zone: ZoneInfo


def fryer_named(word: str, fryers: Mapping[str, str]) -> str:
    """Return the key of the fryer that has exactly this name, or this key; "" where none has."""
    told = squeezed(word)
    return next((key for key, name in fryers.items() if told in (squeezed(key), squeezed(name))), "")


def fryer_guessed(word: str, fryers: Mapping[str, str]) -> str:
    """Return the key of the one fryer that a word may well mean; "" where none or several do."""
    if exact := fryer_named(word, fryers):
        return exact
    if not word:
        return next(iter(fryers)) if len(fryers) == 1 else ""
    told = squeezed(word)
    for fits in (
        [key for key, name in fryers.items() if squeezed(name) in told or squeezed(key) in told],
        [key for key, name in fryers.items() if number_in(name) and number_in(name) == number_in(word)],
    ):
        if len(fits) == 1:
            return fits[0]
    names = dict(_squeezed_names(fryers))
    near = difflib.get_close_matches(told[:40], names, n=1, cutoff=CLOSE)
    return names[near[0]] if near else ""


def _squeezed_names(fryers: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    for key, name in fryers.items():
        yield squeezed(key), key
        yield squeezed(name), key


def number_in(text: str) -> str:
    """Return the digits of a name, without zeros before them."""
    return "".join(sign for sign in text if sign.isdecimal()).lstrip("0")
