"""From the bytes of a log to rows of cells, whatever the bytes are."""

import csv
import io
from collections.abc import Iterator
from typing import BinaryIO, NamedTuple

from kettlewell.book.words import N_, Message
from kettlewell.folder.cells import begins_a_row
from kettlewell.folder.values import Problem

DELIMITERS = ",;\t"
LONGEST_LINE = 10_000
LONGEST_CELL_LINES = 50
TOO_LONG = Message(text=N_("is longer than {most} letters; shorten it"), values={"most": LONGEST_LINE})
NOT_UTF8 = Message(
    text=N_(
        "the file is not UTF-8; this line and its like were read as Windows-1252: save the file as CSV UTF-8"
    )
)
OPEN_QUOTE = Message(
    text=N_(
        'a quotation mark is opened here and never closed: take it out, or write "" for one inside a text'
    )
)


class RawRow(NamedTuple):
    """The cells of one row and the line it begins at."""

    line: int
    cells: list[str]


class Lines(Iterator[str]):
    """The physical lines of a file, counted; the last one can be handed back.

    Bytes that are not UTF-8 are read as Windows-1252, line by line, and
    ``foreign_line`` keeps the first such line.
    """

    def __init__(self, source: BinaryIO) -> None:
        """Begin at the top of ``source``; a byte-order mark is left out."""
        self._text = io.TextIOWrapper(source, encoding="utf-8-sig", errors="surrogateescape", newline="")
        self._held: str | None = None
        self.number = 0
        self.foreign_line: int | None = None

    def __next__(self) -> str:
        """Return the next line with its ending."""
        line, self._held = self._held or self._text.readline(), None
        if not line:
            raise StopIteration
        self.number += 1
        return line if line.isascii() else self._readable(line)

    def hold(self, line: str) -> None:
        """Hand the last line back to be read again."""
        self._held = line
        self.number -= 1

    def release(self) -> None:
        """Let go of the source without closing it."""
        self._text.detach()

    def _readable(self, line: str) -> str:
        try:
            line.encode()
        except UnicodeEncodeError:
            self.foreign_line = self.foreign_line or self.number
            return line.encode("utf-8", "surrogateescape").decode("cp1252", "replace")
        return line


def split_rows(lines: Lines, delimiter: str = "") -> Iterator[RawRow | Problem]:
    """Yield every row that is not empty, and a Problem for each that cannot be split.

    Where no delimiter is told, it is the one that the first line has most of.
    A quoted cell may run over several lines, but never over one that begins with
    a date: a forgotten quotation mark must not swallow the days after it.
    """
    for first in lines:
        if not delimiter and first.strip():
            delimiter = max(DELIMITERS, key=first.count)
        row = _split(first, lines, delimiter or DELIMITERS[0])
        if isinstance(row, Problem) or "".join(row.cells).strip():
            yield row


def _split(first: str, lines: Lines, delimiter: str) -> RawRow | Problem:
    line = lines.number
    if len(first) > LONGEST_LINE:
        return Problem(line=line, field="row", why=TOO_LONG)
    if '"' not in first:
        # what csv would do, in a third of the time
        return RawRow(line, first.rstrip("\r\n").split(delimiter))
    one_row = _LinesOfOneRow(first, lines)
    try:
        cells = next(csv.reader(one_row, delimiter=delimiter))
    except csv.Error as error:
        torn = N_("cannot be split into cells ({error}): type it again")
        return Problem(line=line, field="row", why=Message(text=torn, values={"error": str(error)}))
    return Problem(line=line, field="row", why=OPEN_QUOTE) if one_row.torn else RawRow(line, cells)


class _LinesOfOneRow(Iterator[str]):
    """Hands csv a first line, and more only while a quoted cell stays open."""

    def __init__(self, first: str, rest: Lines) -> None:
        self._first: str | None = first
        self._rest = rest
        self._more = 0
        self.torn = False

    def __next__(self) -> str:
        if self._first is not None:
            first, self._first = self._first, None
            return first
        line = next(self._rest, None)
        if line is not None and self._goes_on(line):
            self._more += 1
            return line
        if line is not None:
            self._rest.hold(line)
        self.torn = True
        raise StopIteration

    def _goes_on(self, line: str) -> bool:
        return self._more < LONGEST_CELL_LINES and len(line) <= LONGEST_LINE and not begins_a_row(line)
