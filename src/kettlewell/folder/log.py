"""Reads log.csv: every row becomes an entry or a problem, none is lost."""

from collections.abc import Iterator
from operator import itemgetter
from pathlib import Path
from typing import BinaryIO

from kettlewell.book import Entry
from kettlewell.book.setup import Setup
from kettlewell.book.words import N_, Message, Value
from kettlewell.folder import german
from kettlewell.folder.acts import BUILDERS, Builder, Known, Row, RowAct, Stamp
from kettlewell.folder.cells import moment
from kettlewell.folder.german import with_german
from kettlewell.folder.meters import METER_BUILDERS, OfMeter
from kettlewell.folder.plainly import PLAIN_BUILDERS
from kettlewell.folder.rows import NOT_UTF8, Lines, RawRow, split_rows
from kettlewell.folder.values import KitchenError, Log, Problem, opened
from kettlewell.folder.words import COLUMNS, REQUIRED_COLUMNS, NotUnderstoodError, Words, nearest, short

LOG_NAME = "log.csv"
MOST_BYTES = 200_000_000  # some two million rows
TOO_WIDE = N_(
    "has more cells than the first line has columns; put a number with a decimal comma in quotes, "
    "or part the columns by semicolons"
)

_COLUMNS = Words(with_german({column: column for column in COLUMNS}, german.COLUMNS))
_WHATS: Words[Builder | OfMeter] = Words(
    with_german(BUILDERS | METER_BUILDERS | PLAIN_BUILDERS, german.WHATS)
)


def read_log(source: Path | BinaryIO, setup: Setup) -> Log:
    """Return what a log says; its rows in the order of the file.

    ``source`` is the file or a stream of its bytes, which is left open. A row that
    cannot be used is a problem and the others stand; a row that says the same as
    an earlier one, cell by cell, counts once. Raises KitchenError only when the
    file cannot be opened.
    """
    if isinstance(source, Path):
        try:
            with opened(source, most=MOST_BYTES) as stream:
                return read_log(stream, setup)
        except OSError as error:
            why = error.strerror or Message(text=N_("cannot be read"))
            values: dict[str, Value] = {"why": why, "columns": ",".join(COLUMNS)}
            advice = Message(text=N_("{why}; begin one with the line {columns}"), values=values)
            raise KitchenError(source.name, "", advice) from None
    lines = Lines(source)
    entries: list[Entry] = []
    problems: list[Problem] = []
    for read in _read(lines, setup):
        if isinstance(read, Problem):
            problems.append(read)
        else:
            entries.append(read)
    lines.release()
    if lines.foreign_line is not None:
        problems.append(Problem(line=lines.foreign_line, field="row", why=NOT_UTF8))
    return Log(entries=tuple(entries), problems=tuple(sorted(problems, key=lambda p: p.line)))


def _read(lines: Lines, setup: Setup) -> Iterator[Entry | Problem]:
    names = Known(setup)
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
    rows: Iterator[RawRow | Problem], places: list[int | None], width: int, names: Known
) -> Iterator[Entry | Problem]:
    # a column that is not there is read from the empty cell put behind the last
    pick = itemgetter(*(width if place is None else place for place in places))
    # hashes, not rows: a million rows would not fit; 64 bits collide once in 10^7 such files
    seen: set[int] = set()
    for raw in rows:
        if isinstance(raw, Problem):
            yield raw
            continue
        cells = [cell.strip() for cell in raw.cells]
        if (same := hash(tuple(cells))) in seen:
            continue
        seen.add(same)
        try:
            if len(cells) > width and any(cells[width:]):
                raise NotUnderstoodError("row", TOO_WIDE)  # noqa: TRY301 - listed as any other bad row
            cells += [""] * (width + 1 - len(cells))
            yield _entry(Row(pick(cells)), raw.line, names)
        except NotUnderstoodError as error:
            yield Problem(line=raw.line, field=error.field, why=error.message)


def _entry(row: Row, line: int, names: Known) -> Entry:
    if not (row.when and row.what):
        raise _lacking(row)
    at, build = moment(row.when, names.zone), _WHATS.find(row.what, "what")
    who, ref = row.who or None, f"{LOG_NAME}:{line}"
    if isinstance(build, OfMeter):
        return build.build(row, {"at": at, "person": who, "ref": ref}, names)
    if not row.fryer:
        raise _lacking(row)
    fryer = names.fryers.find(row.fryer, "fryer")
    stamp: Stamp = {"at": at, "fryer": fryer.key, "person": who, "ref": ref}
    return build(RowAct(row, stamp, fryer, names))


def _lacking(row: Row) -> NotUnderstoodError:
    empty = next(column for column in REQUIRED_COLUMNS if not getattr(row, column))
    return NotUnderstoodError(
        empty, N_("is empty; every row needs when and what, and a fryer if it is of one")
    )
