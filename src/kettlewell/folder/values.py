"""What is read out of a kitchen's folder."""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from kettlewell.book import Entry
from kettlewell.book.setup import Setup


class KitchenError(ValueError):
    """A file of the folder that cannot be used: which, where in it, and what to do."""

    def __init__(self, file: str, where: str, advice: str) -> None:
        """``where`` names table and key, or is empty when the whole file is meant."""
        super().__init__(": ".join(part for part in (file, where, advice) if part))
        self.file = file
        self.where = where
        self.advice = advice


def opened(path: Path, *, most: int) -> BinaryIO:
    """Open a file of at most so many bytes to be read; raise KitchenError for one that is none, or larger."""
    if path.exists() and not path.is_file():
        raise KitchenError(path.name, "", "is no file; put the file itself there")
    stream = path.open("rb")
    if os.fstat(stream.fileno()).st_size > most:
        stream.close()
        raise KitchenError(path.name, "", f"is larger than {most / 1e6:g} MB; take it apart")
    return stream


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Something in log.csv that was not used: the line where the row begins, the column, why."""

    line: int
    field: str
    reason: str

    def __str__(self) -> str:
        """Return it as one sentence."""
        return f"log.csv, line {self.line}, {self.field}: {self.reason}"


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
