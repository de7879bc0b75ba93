"""A table in a workbook (.xlsx, ECMA-376): what was saved in its cells, with nothing computed or followed."""

import io
import warnings
import zlib
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from itertools import chain, repeat
from typing import Any
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from openpyxl import load_workbook
from openpyxl.workbook import Workbook
from openpyxl.worksheet._read_only import ReadOnlyWorksheet

from kettlewell.book.words import N_
from kettlewell.tables.sheets import (
    MOST_COLUMNS,
    MOST_ROWS,
    MOST_UNPACKED,
    Cell,
    NotComputed,
    Row,
    Sheet,
    TableError,
)
from kettlewell.tables.text import TOO_MANY_ROWS

PART = 1 << 16
MIDNIGHT = datetime(2000, 1, 1, tzinfo=UTC)
MOST_FILES = 2_000
BROKEN = N_("The workbook cannot be read. Open it in your spreadsheet program and save it anew as .xlsx.")
NOT_ONE = N_("This is no workbook (.xlsx). Save the table as .xlsx or as CSV.")
LOCKED = N_("The workbook is locked by a password. Save it without one.")
MACROS = N_("The workbook holds macros, which are never run here. Save it as .xlsx without them, or as CSV.")
LINKED = N_("The workbook draws on other files. Save the sheet alone as CSV, with its values.")
TOO_LARGE = N_("Unpacked, the workbook is larger than {most} MB. Save the sheet alone as CSV.")
NO_SHEET = N_("No sheet of the workbook holds anything.")


def read_workbook(data: bytes, *, sheet: str = "") -> Sheet:
    """Return the rows of a sheet by its name, or of the first with something in it.

    A formula counts as the result that was saved with it. Raises TableError for a workbook that is
    broken, locked or too large, that holds macros, or that draws on other files.
    """
    has_formulas = check_archive(data)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of what openpyxl does not keep when it writes
            return found(data, sheet, has_formulas=has_formulas)
    except TableError:
        raise
    except Exception as error:  # openpyxl raises whatever a broken part of a file leads to
        raise TableError(BROKEN) from error


def check_archive(data: bytes) -> bool:
    """Unpack all of it once, within bounds, whatever its headers say; return whether it holds formulas."""
    try:
        with ZipFile(io.BytesIO(data)) as archive:
            members = archive.infolist()
            check_members(members)
            return any(list(unpacked(archive, members)))
    except TableError:
        raise
    except (BadZipFile, zlib.error, OSError, EOFError, NotImplementedError, RuntimeError, ValueError):
        raise TableError(BROKEN) from None


def check_members(members: list[ZipInfo]) -> None:
    """Raise TableError for an archive that is no workbook, or one that we do not open."""
    names = [member.filename for member in members]
    if any(member.flag_bits & 1 for member in members):
        raise TableError(LOCKED)
    if any(member.compress_type not in (ZIP_STORED, ZIP_DEFLATED) for member in members):
        raise TableError(BROKEN)  # the others cannot be unpacked in bounded parts
    if len(set(names)) < len(names) or len(names) > MOST_FILES:
        raise TableError(BROKEN)
    if any(name.startswith("/") or "\\" in name or ".." in name.split("/") for name in names):
        raise TableError(BROKEN)
    if "[Content_Types].xml" not in names or not any(name.startswith("xl/") for name in names):
        raise TableError(NOT_ONE)
    if any("vbaproject" in name.casefold() or "macrosheets/" in name.casefold() for name in names):
        raise TableError(MACROS)
    if any(name.casefold().startswith("xl/externallinks/") for name in names):
        raise TableError(LINKED)


def unpacked(archive: ZipFile, members: list[ZipInfo]) -> Iterator[bool]:
    """Yield of each part of a sheet whether a formula is in it; raises TableError for what is too large.

    No such file declares a document type: entities that unfold without end are made by one.
    """
    total = 0
    for member in members:
        before = b""
        with archive.open(member) as file:
            while part := file.read(PART):
                total += len(part)
                if total > MOST_UNPACKED:
                    raise TableError(TOO_LARGE, most=MOST_UNPACKED // 10**6)
                seen = before + part
                if b"<!DOCTYPE" in seen or b"<!ENTITY" in seen:
                    raise TableError(BROKEN)
                yield "worksheets/" in member.filename and (b"<f>" in seen or b"<f " in seen)
                before = part[-16:]


def found(data: bytes, name: str, *, has_formulas: bool) -> Sheet:
    """Return a sheet of a workbook that was looked through."""
    book = opened(data, computed=True)
    sheets = {sheet.title: sheet for sheet in book.worksheets if sheet.sheet_state == "visible"}
    asked = [name] if name in sheets else list(sheets)
    for title in asked:
        formulas = formulas_of(data, title) if has_formulas else repeat(())
        rows = tuple(rows_of(sheets[title], formulas))
        if rows or title == name:
            others = tuple(each for each in sheets if each != title)
            return Sheet(rows=rows, name=title, others=others)
    raise TableError(NO_SHEET)


def opened(data: bytes, *, computed: bool) -> Workbook:
    """Return a workbook, its cells as results that were saved or as formulas."""
    return load_workbook(io.BytesIO(data), read_only=True, data_only=computed, keep_links=False)


def formulas_of(data: bytes, title: str) -> Iterator[tuple[Any, ...]]:
    """Yield the rows of a sheet with formulas in place of what they came to."""
    return chain(values_of(opened(data, computed=False)[title]), repeat(()))


def values_of(sheet: Any) -> Iterator[tuple[Any, ...]]:  # noqa: ANN401 - a sheet as openpyxl reads one
    """Yield rows from the data alone, whatever size the sheet claims to have."""
    if isinstance(sheet, ReadOnlyWorksheet):
        sheet.reset_dimensions()
    return iter(sheet.iter_rows(max_row=MOST_ROWS + 1, max_col=MOST_COLUMNS, values_only=True))


def rows_of(sheet: Any, formulas: Iterator[tuple[Any, ...]]) -> Iterator[Row]:  # noqa: ANN401 - as above
    """Yield the rows of a sheet that are not empty; raises TableError where there are too many."""
    for line, (values, under) in enumerate(zip(values_of(sheet), formulas, strict=False), start=1):
        cells = tuple(cell_of(value) for value in values)
        if under:
            cells = tuple(
                NotComputed(formula) if value is None and is_formula(formula) else value
                for value, formula in zip(cells, under, strict=False)
            )
        width = max((place for place, cell in enumerate(cells, start=1) if cell is not None), default=0)
        if not width:
            continue
        if line > MOST_ROWS:
            raise TableError(TOO_MANY_ROWS, most=MOST_ROWS)
        yield Row(line, cells[:width])


def is_formula(value: object) -> bool:
    """Tell whether openpyxl gives a cell as a formula."""
    return isinstance(value, str) and value.startswith("=")


def cell_of(value: object) -> Cell:
    """Return what a cell holds, as tables of text and of workbooks have in common."""
    match value:
        case None | datetime() | date() | time() | float():
            return value
        case bool():
            return "yes" if value else "no"
        case int():
            return float(value) if abs(value) < 10**15 else str(value)
        case timedelta():
            within_a_day = timedelta(0) <= value < timedelta(days=1)
            return (MIDNIGHT + value).time() if within_a_day else str(value)
        case _:
            return str(value).strip() or None
