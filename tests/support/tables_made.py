"""Tables as kitchens keep them, and as nobody should send them; all invented."""

import io
import zipfile
from zoneinfo import ZoneInfo

from openpyxl import Workbook, load_workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from kettlewell.tables.apply import Applied, applied
from kettlewell.tables.guess import Guess, guess
from kettlewell.tables.place import Place
from kettlewell.tables.reading import read_sheet

PLACE = Place(
    fryers={"f1": "Fryer 1", "f2": "Fryer 2"}, meters={"m1": "Meter 1"}, zone=ZoneInfo("Europe/London")
)


def guessed(data: bytes, place: Place = PLACE) -> tuple[Guess, Applied]:
    """Return what is guessed of a file, and what it then says."""
    sheet = read_sheet(data)
    first = guess(sheet, place)
    return first, applied(first.recipe, sheet, place)


def saved(book: Workbook) -> bytes:
    """Return a workbook as a file."""
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def workbook(rows: list[list[object]], *, merged: tuple[str, ...] = (), from_1904: bool = False) -> bytes:
    """Return a workbook of one sheet."""
    book = Workbook()
    if from_1904:
        book.epoch = CALENDAR_MAC_1904
    sheet = book.active
    for row in rows:
        sheet.append(row)
    for cells in merged:
        sheet.merge_cells(cells)
    return saved(book)


def with_results(data: bytes, results: dict[str, str]) -> bytes:
    """Return a workbook whose formulas were saved with what they came to."""
    book = load_workbook(io.BytesIO(data))
    formulas = {cell: book.active[cell].value for cell in results}
    return repacked(
        data,
        "xl/worksheets/sheet1.xml",
        lambda text: put_results(text, {formulas[cell][1:]: told for cell, told in results.items()}),
    )


def put_results(text: bytes, results: dict[str, str]) -> bytes:
    """Return a sheet with a result behind each formula."""
    for formula, result in results.items():
        bare = f"<f>{formula}</f><v />".encode()
        assert bare in text or f"<f>{formula}</f><v></v>".encode() in text, text
        told = f"<f>{formula}</f><v>{result}</v>".encode()
        text = text.replace(bare, told).replace(f"<f>{formula}</f><v></v>".encode(), told)
    return text


def repacked(data: bytes, name: str, change, **more: bytes) -> bytes:
    """Return an archive with one member changed, and others added."""
    file = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as new:
        for member in old.namelist():
            content = old.read(member)
            new.writestr(member, change(content) if member == name else content)
        for added, content in more.items():
            new.writestr(added, content)
    return file.getvalue()


def added(data: bytes, name: str, content: bytes = b"x") -> bytes:
    """Return an archive with one member more."""
    return repacked(data, "", lambda content: content, **{name: content})


def bomb() -> bytes:
    """Return a small workbook that unpacks to 300 MB."""
    data = workbook([["Date", "Fryer", "TPM"], ["2026-03-04 10:00", "Fryer 1", 12.5]])
    filled = b" " * 300_000_000 + b"</sheetData>"
    return repacked(data, "xl/worksheets/sheet1.xml", lambda text: text.replace(b"</sheetData>", filled))
