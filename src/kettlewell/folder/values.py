"""What is read out of a kitchen's folder."""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from itertools import accumulate
from pathlib import Path
from typing import Any, BinaryIO

from kettlewell.book import Entry, History, Kitchen, history_from
from kettlewell.book.naming import with_all
from kettlewell.book.settings import TABLES
from kettlewell.book.setup import Setup
from kettlewell.book.words import N_, Message, ToldError, Value

EVER = datetime.min.replace(tzinfo=UTC)


class KitchenError(ToldError):
    """A file of the folder that cannot be used: which, where in it, and what to do."""

    def __init__(self, file: str, where: str | Message, advice: str | Message) -> None:
        """``where`` names table and key, or is empty when the whole file is meant."""
        parts = {name: part for name, part in (("file", file), ("where", where), ("advice", advice)) if part}
        super().__init__(": ".join(f"{{{name}}}" for name in parts), **parts)
        self.file = file
        self.where = where
        self.advice = advice


def opened(path: Path, *, most: int) -> BinaryIO:
    """Open a file of at most so many bytes to be read; raise KitchenError for one that is none, or larger."""
    if path.exists() and not path.is_file():
        raise KitchenError(path.name, "", Message(text=N_("is no file; put the file itself there")))
    stream = path.open("rb")
    if os.fstat(stream.fileno()).st_size > most:
        stream.close()
        too_large = N_("is larger than {most} MB; take it apart")
        raise KitchenError(path.name, "", Message(text=too_large, values={"most": most // 10**6}))
    return stream


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Something in log.csv that was not used: the line where the row begins, the column, why."""

    line: int
    field: str
    why: Message

    @property
    def reason(self) -> str:
        """Why, untranslated."""
        return str(self.why)

    @property
    def message(self) -> Message:
        """It as one sentence."""
        values: dict[str, Value] = {"line": self.line, "field": self.field, "why": self.why}
        return Message(text=N_("log.csv, line {line}, {field}: {why}"), values=values)

    def __str__(self) -> str:
        """Return it as one sentence, untranslated."""
        return str(self.message)


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """What log.csv says: the entries in the order of the file, and what could not be read.

    ``notes`` are what stands under note, by the ``ref`` of the entry.
    """

    entries: tuple[Entry, ...]
    problems: tuple[Problem, ...]
    notes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """What a kitchen was set up as until a time."""

    until: datetime
    setup: Setup


@dataclass(frozen=True, slots=True, kw_only=True)
class Folder:
    """A whole kitchen as files: kitchen.toml, what it said earlier, in order of time, and log.csv."""

    setup: Setup
    log: Log
    earlier: tuple[Earlier, ...] = ()

    @property
    def history(self) -> History:
        """The settings of the kitchen over time; a thing that it had keeps its place among the others."""
        epochs = [(each.until, each.setup.kitchen) for each in self.earlier]
        kitchens = [*(kitchen for _, kitchen in epochs), self.setup.kitchen]
        sinces = [EVER, *(until for until, _ in epochs)]
        return history_from(zip(sinces, accumulate(kitchens, arranged), strict=True))

    def kitchen_at(self, at: datetime) -> Kitchen:
        """Return the kitchen as it was at a time, with all that it ever had."""
        return with_all(self.history.at(at), reversed(self.history.kitchens()))


def arranged(before: Kitchen, kitchen: Kitchen) -> Kitchen:
    """Return a kitchen with its things in the places that they had before, and the new ones behind."""
    tables: dict[str, Any] = {
        table: placed(getattr(before, table), getattr(kitchen, table)) for table in TABLES
    }
    return replace(kitchen, **tables)


def placed(before: Sequence[Any], things: Sequence[Any]) -> tuple[Any, ...]:
    """Return things in the places of their namesakes, and the new ones behind."""
    places = {key_of(thing): place for place, thing in enumerate(before)}
    return tuple(sorted(things, key=lambda thing: places.get(key_of(thing), len(places))))


def key_of(thing: Any) -> str:  # noqa: ANN401 - as different as things are
    """Return what a thing of a kitchen is known by."""
    return str(getattr(thing, "key", None) or getattr(thing, "name", None) or thing.quantity)
