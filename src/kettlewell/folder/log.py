"""Reads log.csv: every row becomes an entry or a problem, none is lost."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from datetime import datetime
from operator import itemgetter
from pathlib import Path
from typing import BinaryIO

from kettlewell.book import Entry
from kettlewell.book.letters import FORMULA
from kettlewell.book.setup import Setup
from kettlewell.book.words import N_, Message, Value
from kettlewell.folder import german
from kettlewell.folder.acts import BUILDERS, Builder, Known, Row, RowAct, Stamp
from kettlewell.folder.cells import moment
from kettlewell.folder.german import with_german
from kettlewell.folder.meters import METER_BUILDERS, OfMeter
from kettlewell.folder.plainly import PLAIN_BUILDERS
from kettlewell.folder.rows import NOT_UTF8, Lines, RawRow, split_rows
from kettlewell.folder.values import Earlier, KitchenError, Log, Problem, opened
from kettlewell.folder.words import COLUMNS, REQUIRED_COLUMNS, NotUnderstoodError, Words, nearest, short

LOG_NAME = "log.csv"
Noted = tuple[Entry, str]  # an entry, and what stands under note
MOST_BYTES = 200_000_000  # some two million rows
TOO_WIDE = N_(
    "has more cells than the first line has columns; put a number with a decimal comma in quotes, "
    "or part the columns by semicolons"
)

_COLUMNS = Words(with_german({column: column for column in COLUMNS}, german.COLUMNS))
_WHATS: Words[Builder | OfMeter] = Words(
    with_german(BUILDERS | METER_BUILDERS | PLAIN_BUILDERS, german.WHATS)
)


class KnownThen:
    """What the words of a row point at in the kitchen as it was when the row happened."""

    def __init__(self, setup: Setup, earlier: Sequence[Earlier]) -> None:
        """Take what the kitchen is set up as, and what it was earlier."""
        setups = [*(each.setup for each in earlier), setup]
        self._known = [
            Known(each, [later.kitchen for later in setups[place:]]) for place, each in enumerate(setups, 1)
        ]
        self._untils = [each.until for each in earlier]
        self.zone = self._known[-1].zone

    def at(self, at: datetime) -> Known:
        """Return what words point at, at a time."""
        return self._known[bisect_right(self._untils, at)]


def read_log(source: Path | BinaryIO, setup: Setup, earlier: Sequence[Earlier] = ()) -> Log:
    """Return what a log says; its rows in the order of the file, each read by the kitchen of its time.

    ``source`` is the file or a stream of its bytes, which is left open. A row that
    cannot be used is a problem and the others stand; a row that says the same as
    an earlier one, cell by cell, counts once. Raises KitchenError only when the
    file cannot be opened.
    """
    if isinstance(source, Path):
        try:
            with opened(source, most=MOST_BYTES) as stream:
                return read_log(stream, setup, earlier)
        except OSError as error:
            why = error.strerror or Message(text=N_("cannot be read"))
            values: dict[str, Value] = {"why": why, "columns": ",".join(COLUMNS)}
            advice = Message(text=N_("{why}; begin one with the line {columns}"), values=values)
            raise KitchenError(source.name, "", advice) from None
    lines = Lines(source)
    entries: list[Entry] = []
    problems: list[Problem] = []
    notes: dict[str, str] = {}
    for read in _read(lines, KnownThen(setup, earlier)):
        if isinstance(read, Problem):
            problems.append(read)
            continue
        entry, note = read
        entries.append(entry)
        if note:
            notes[entry.ref] = note
    lines.release()
    if lines.foreign_line is not None:
        problems.append(Problem(line=lines.foreign_line, field="row", why=NOT_UTF8))
    problems.sort(key=lambda problem: problem.line)
    return Log(entries=tuple(entries), problems=tuple(problems), notes=notes)


def _read(lines: Lines, names: KnownThen) -> Iterator[Noted | Problem]:
    rows = split_rows(lines)
    header = next(rows, None)
    if header is None:
        yield _of_header(1, N_("the file is empty; begin it with {columns}"), columns=",".join(COLUMNS))
        return
    if isinstance(header, Problem):
        yield header
        return
    places, found = _header(header)
    yield from found
    if not all(places[column] is not None for column in REQUIRED_COLUMNS):
        return
    yield from _entries(rows, list(places.values()), len(header.cells), names)


def _header(header: RawRow) -> tuple[dict[str, int | None], list[Problem]]:
    """Return where each column stands, and what is wrong with the first line."""
    places: dict[str, int | None] = dict.fromkeys(COLUMNS)
    problems = []
    for place, title in enumerate(header.cells):
        try:
            column = _COLUMNS.find(title, "header") if title.strip() else None
        except NotUnderstoodError:
            unknown = N_("column {title!r} is not known and is not read; {advice}")
            advice = nearest(title, _COLUMNS.words)
            problems.append(_of_header(header.line, unknown, title=short(title), advice=advice))
            continue
        if column and places[column] is not None:
            twice = N_("column {title!r} is there twice; the first is read, take the other out")
            problems.append(_of_header(header.line, twice, title=title.strip()))
        elif column:
            places[column] = place
    if missing := [column for column in REQUIRED_COLUMNS if places[column] is None]:
        lacking = N_("no column {missing}, so no row can be read; begin the file with {columns}")
        told = {"missing": ", ".join(map(repr, missing)), "columns": ",".join(COLUMNS)}
        problems.append(_of_header(header.line, lacking, **told))
    return places, problems


def _of_header(line: int, text: str, **values: Value) -> Problem:
    return Problem(line=line, field="header", why=Message(text=text, values=values))


def _entries(
    rows: Iterator[RawRow | Problem], places: list[int | None], width: int, names: KnownThen
) -> Iterator[Noted | Problem]:
    # a column that is not there is read from the empty cell put behind the last
    pick = itemgetter(*(width if place is None else place for place in places))
    # hashes, not rows: a million rows would not fit; 64 bits collide once in 10^7 such files
    seen: set[int] = set()
    for raw in rows:
        if isinstance(raw, Problem):
            yield raw
            continue
        cells = [as_written(cell.strip()) for cell in raw.cells]
        if (same := hash(tuple(cells))) in seen:
            continue
        seen.add(same)
        try:
            if len(cells) > width and any(cells[width:]):
                raise NotUnderstoodError("row", TOO_WIDE)  # noqa: TRY301 - listed as any other bad row
            cells += [""] * (width + 1 - len(cells))
            row = Row(pick(cells))
            yield _entry(row, raw.line, names), row.note
        except NotUnderstoodError as error:
            yield Problem(line=raw.line, field=error.field, why=error.message)


def _entry(row: Row, line: int, then: KnownThen) -> Entry:
    if not (row.when and row.what):
        raise _lacking(row)
    at, build = moment(row.when, then.zone), _WHATS.find(row.what, "what")
    names = then.at(at)
    who, ref = row.who or None, f"{LOG_NAME}:{line}"
    if isinstance(build, OfMeter):
        return build.build(row, {"at": at, "person": who, "ref": ref}, names)
    if not row.fryer:
        raise _lacking(row)
    fryer = names.fryers.find(row.fryer, "fryer")
    stamp: Stamp = {"at": at, "fryer": fryer.key, "person": who, "ref": ref}
    return build(RowAct(row, stamp, fryer, names))


def as_written(cell: str) -> str:
    """Return a cell without the apostrophe that keeps a spreadsheet from taking it for a formula."""
    return cell[1:] if cell.startswith("'") and cell.lstrip("'").startswith(FORMULA) else cell


def _lacking(row: Row) -> NotUnderstoodError:
    empty = next(column for column in REQUIRED_COLUMNS if not getattr(row, column))
    return NotUnderstoodError(
        empty, N_("is empty; every row needs when and what, and a fryer if it is of one")
    )
