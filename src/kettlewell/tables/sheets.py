"""The bare cells of a table, and the bounds within which one is read."""

from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import NamedTuple

from kettlewell.book.words import Message, ToldError

MOST_BYTES = 10_000_000
MOST_UNPACKED = 100_000_000
MOST_ROWS = 100_000
MOST_COLUMNS = 100


class NotComputed(str):
    """A formula that was saved without its result; it is shown, and never computed."""

    __slots__ = ()


Cell = str | float | datetime | date | time | None


class Row(NamedTuple):
    """The cells of a row that is not empty, and the line or row of the file where it stands."""

    line: int
    cells: tuple[Cell, ...]

    def cell(self, place: int) -> Cell:
        """Return a cell; None where the row ends before it."""
        return self.cells[place] if place < len(self.cells) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """What was not used of a table: the row of the file, the title of the column ("" is all of it), why."""

    line: int
    column: str
    why: Message


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The rows of a table that are not empty.

    ``name`` is that of the sheet within a workbook, ``others`` those beside it. ``notes`` say how it
    had to be read, ``problems`` which rows could not be.
    """

    rows: tuple[Row, ...]
    name: str = ""
    others: tuple[str, ...] = ()
    notes: tuple[Message, ...] = ()
    problems: tuple[Problem, ...] = field(default=())


class TableError(ToldError):
    """A file that no table can be read from: why, and what to do."""
