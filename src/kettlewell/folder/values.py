"""What is read out of a kitchen's folder."""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from kettlewell.book import Entry
from kettlewell.book.setup import Setup
from kettlewell.book.words import N_, Message, ToldError, Value


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
    """What log.csv says: the entries in the order of the file, and what could not be read."""

    entries: tuple[Entry, ...]
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Folder:
    """A whole kitchen as files: kitchen.toml and log.csv."""

    setup: Setup
    log: Log
