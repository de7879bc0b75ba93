"""A table as text: columns parted by commas, semicolons, tabs or bars, in whichever encoding."""

import codecs
import io
from collections import Counter
from itertools import islice

from kettlewell.book.words import N_, Message
from kettlewell.folder.rows import Lines, RawRow, split_rows
from kettlewell.tables.sheets import MOST_COLUMNS, MOST_ROWS, Problem, Row, Sheet, TableError

# what comes first wins where two part the lines alike: a comma may be of decimals
DELIMITERS = "\t;|,"
LOOKED_AT = 100
BOMS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
MOSTLY = 0.3  # of the bytes of a text in UTF-16 without a mark are 0 at one of two places: chosen
NO_TABLE = N_("This is no table. Save it as CSV or as a workbook (.xlsx), and choose that file.")
EMPTY = N_("The file is empty.")
TOO_MANY_ROWS = N_("The table has more than {most} rows. Take it apart, a year in each file.")
OLD_LETTERS = N_(
    "The letters were read as Windows-1252. If ä, é or ° look wrong below, save the file as CSV UTF-8."
)
HINT = "sep="  # spreadsheets write in the first line how columns are parted


def read_text(data: bytes) -> Sheet:
    """Return the rows of a table in text; raises TableError for what is no text, or too long."""
    text, encoding = decoded(data)
    if not text.strip():
        raise TableError(EMPTY)
    delimiter, text = delimiter_of(text)
    rows: list[Row] = []
    problems: list[Problem] = []
    for read in split_rows(Lines(io.BytesIO(text.encode("utf-8", "replace"))), delimiter):
        if not isinstance(read, RawRow):
            problems.append(Problem(line=read.line, column="", why=read.why))
            continue
        if len(rows) == MOST_ROWS:
            raise TableError(TOO_MANY_ROWS, most=MOST_ROWS)
        cells = tuple(cell.strip() or None for cell in read.cells[:MOST_COLUMNS])
        rows.append(Row(read.line, cells))
    notes = (Message(text=OLD_LETTERS),) if encoding == "cp1252" else ()
    return Sheet(rows=tuple(rows), notes=notes, problems=tuple(problems))


def decoded(data: bytes) -> tuple[str, str]:
    """Return a text and the encoding that it was read in; raises TableError for what is no text."""
    encoding = next((name for bom, name in BOMS if data.startswith(bom)), "") or unmarked(data)
    text = data.decode(encoding, "replace")
    strange = sum(text.count(chr(sign)) for sign in range(32) if chr(sign) not in "\t\n\r\f\v")
    if strange > len(text) // 1000:
        raise TableError(NO_TABLE)
    return text.replace("\x00", ""), encoding


def unmarked(data: bytes) -> str:
    """Return in which encoding a text without a mark is."""
    head = data[:4096]
    if head[1::2].count(0) > MOSTLY * len(head[1::2]):
        return "utf-16-le"
    if head[::2].count(0) > MOSTLY * len(head[::2]):
        return "utf-16-be"
    try:
        data.decode()
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def delimiter_of(text: str) -> tuple[str, str]:
    """Return what parts the columns of a text, and the text without a line that says so."""
    first, _, rest = text.partition("\n")
    told = first.strip().strip('"')
    if told.casefold().startswith(HINT) and told[len(HINT) :] in tuple(DELIMITERS):
        return told[len(HINT) :], "\n" + rest  # so that lines keep their numbers
    lines = list(islice((line for line in io.StringIO(text) if line.strip()), LOOKED_AT))
    return max(DELIMITERS, key=lambda sign: alike(lines, sign)), text


def alike(lines: list[str], delimiter: str) -> int:
    """Return how many lines have the commonest number of columns that a delimiter makes, beyond one."""
    counts = Counter(line.count(delimiter) for line in lines)
    del counts[0]
    return max(counts.values(), default=0)
