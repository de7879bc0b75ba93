"""From the bytes of a file to a sheet, whatever it is called."""

from pathlib import Path

from kettlewell.book.words import N_
from kettlewell.folder.values import opened
from kettlewell.tables.sheets import MOST_BYTES, Sheet, TableError
from kettlewell.tables.text import read_text
from kettlewell.tables.workbook import read_workbook

ZIP, OLD_WORKBOOK = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
TOO_LARGE = N_("The file is larger than {most} MB. Take it apart, a year in each file.")
OLD = N_("This is a workbook of the old kind, or a locked one. Save it as .xlsx without a password.")


def read_sheet(data: bytes, *, sheet: str = "") -> Sheet:
    """Return the rows of a table; raises TableError for a file that none can be read from."""
    if len(data) > MOST_BYTES:
        raise TableError(TOO_LARGE, most=MOST_BYTES // 10**6)
    if data.startswith(OLD_WORKBOOK):
        raise TableError(OLD)
    return read_workbook(data, sheet=sheet) if data.startswith(ZIP) else read_text(data)


def file_bytes(path: Path) -> bytes:
    """Return what a file holds; raises KitchenError for one that is none, or too large to be read."""
    with opened(path, most=MOST_BYTES) as stream:
        return stream.read()
