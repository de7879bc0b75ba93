"""A day book as a table of each kind of entry, for a spreadsheet.

A text that a spreadsheet would take for a formula is written after an apostrophe (OWASP ASVS 5.0, 1.2.10);
numbers are written as numbers.
"""

import csv
import io
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from kettlewell.book.fields import Type
from kettlewell.book.kinds import KINDS, EntryKind
from kettlewell.book.letters import FORMULA
from kettlewell.book.plain import time_text
from kettlewell.records.models import Entry, Kitchen, Private

FIRST = ("seq", "at", "written", "person", "device", "replaces", "replaced_by")
LAST = ("notes", "hash")
Cell = str | Decimal | datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The entries of one kind: the names of the columns, and a row for each entry."""

    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]

    @property
    def csv(self) -> str:
        """The table after RFC 4180, in lines that end as Unix ends them."""
        lines = io.StringIO()
        writer = csv.writer(lines, lineterminator="\n")
        writer.writerow(self.columns)
        writer.writerows([plain(cell) for cell in row] for row in self.rows)
        return lines.getvalue()


def tables_of(kitchen: Kitchen) -> dict[str, Table]:
    """Return the tables of a day book by kind; a kind of which nothing was written has none."""
    notes: dict[object, list[str]] = {}
    for private in written_privates(kitchen):
        said = bytes(private.content or b"").decode("utf-8", errors="replace")
        notes.setdefault(private.entry_id, []).append(f"{private.field}: {said}")
    entries = Entry.objects.filter(kitchen=kitchen).order_by("seq")
    rows: dict[str, list[tuple[Cell, ...]]] = {}
    for entry in entries.select_related("person", "device", "replaces", "replaced_by"):
        row = (
            *begun(entry),
            *said_by(entry, KINDS[entry.kind]),
            "\n".join(notes.get(entry.pk, [])),
            entry.hash,
        )
        rows.setdefault(entry.kind, []).append(row)
    return {
        kind: Table(columns=(*FIRST, *(field.name for field in KINDS[kind].fields), *LAST), rows=tuple(found))
        for kind, found in sorted(rows.items())
    }


def written_privates(kitchen: Kitchen) -> QuerySet[Private]:
    """Return names, notes and reasons as they are not erased; a photo has no place in a table."""
    found = Private.objects.filter(entry__kitchen=kitchen, content__isnull=False)
    return found.exclude(field="photo").order_by("pk")


def begun(entry: Entry) -> Iterator[Cell]:
    """Yield what every kind of entry has: place, times, hands, corrections."""
    yield Decimal(entry.seq)
    yield entry.at
    yield entry.received_at
    yield str(entry.person) if entry.person else None
    yield entry.device.name if entry.device else None
    yield Decimal(entry.replaces.seq) if entry.replaces else None
    later = getattr(entry, "replaced_by", None)
    yield Decimal(later.seq) if later else None


def said_by(entry: Entry, kind: EntryKind) -> Iterator[Cell]:
    """Yield what an entry says, by the fields of its kind."""
    for field in kind.fields:
        said = entry.payload.get(field.name)
        if said is None:
            yield None
        elif field.type is Type.NUMBER:
            yield Decimal(said)
        elif isinstance(said, bool):
            yield "yes" if said else "no"
        else:
            yield said if isinstance(said, str) else as_text(said)


def as_text(said: object) -> str:
    """Return several texts in one cell, and anything deeper as JSON."""
    if isinstance(said, list) and all(isinstance(each, str) for each in said):
        return " ".join(said)
    return json.dumps(said, ensure_ascii=False, sort_keys=True)


def plain(cell: Cell) -> str | Decimal | None:
    """Return a cell as text or number, such as no spreadsheet takes for a formula."""
    if isinstance(cell, datetime):
        return time_text(cell)
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA) else cell


def workbook(tables: dict[str, Table]) -> Workbook:
    """Return the tables as sheets of one workbook; no cell is a formula."""
    book = Workbook(write_only=True)
    for kind, table in tables.items():
        sheet = book.create_sheet(kind)
        sheet.append(list(table.columns))
        for row in table.rows:
            sheet.append([typed(sheet, cell) for cell in row])
    return book


def typed(sheet: Any, cell: Cell) -> Any:  # noqa: ANN401 - openpyxl has one of two classes for a sheet
    """Return a cell of a sheet: a text is one, however it begins, and a time is in UTC."""
    if isinstance(cell, datetime):
        return cell.astimezone(UTC).replace(tzinfo=None)
    if not isinstance(cell, str):
        return cell
    written = WriteOnlyCell(sheet, value=ILLEGAL_CHARACTERS_RE.sub("", cell))
    written.data_type = "s"
    return written
