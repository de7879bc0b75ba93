"""A day book as tables: what was written, in its place, and nothing that a spreadsheet would run."""

import csv
import io
from decimal import Decimal

import pytest
from openpyxl import load_workbook

from kettlewell.book.plain import time_text
from kettlewell.records.ledger import entry_add
from kettlewell.records.models import Entry
from kettlewell.records.tables import tables_of, workbook


def rows(table):
    return list(csv.DictReader(io.StringIO(table.csv)))


def test_each_kind_has_a_table_with_a_row_for_each_entry(marrowby, write):
    written = write()
    tables = tables_of(marrowby)
    assert {kind: len(table.rows) for kind, table in tables.items()} == {
        kind: Entry.objects.filter(kind=kind).count() for kind in tables
    }
    assert sum(len(table.rows) for table in tables.values()) == Entry.objects.count()
    last = rows(tables["reading"])[-1]
    assert (last["seq"], last["fryer"], last["tpc_pct"]) == (str(written.seq), "F1", "15.5")
    assert (last["person"], last["hash"]) == ("Olive Owner", written.hash)
    assert (last["at"], tables["reading"].rows[-1][1]) == (time_text(written.at), written.at)


def test_a_correction_stands_beside_what_it_corrects(marrowby, write):
    first = write()
    second = write(replaces=first.pk, private={"reason": b"Misread"})
    found = rows(tables_of(marrowby)["reading"])[-2:]
    assert [(row["replaces"], row["replaced_by"]) for row in found] == [
        ("", str(second.seq)),
        (str(first.seq), ""),
    ]
    assert found[1]["notes"] == "reason: Misread"


@pytest.mark.parametrize("begun", ["=", "+", "-", "@", "\t", "\uff1d"])
def test_no_text_is_a_formula(marrowby, owner, write, begun):
    owner.name = f"{begun}1+1"
    owner.save()
    write()
    tables = tables_of(marrowby)
    assert rows(tables["reading"])[-1]["person"] == f"'{begun}1+1"
    file = io.BytesIO()
    workbook(tables).save(file)
    sheet = load_workbook(file)["reading"]
    cells = [cell for row in sheet.iter_rows() for cell in row]
    assert "f" not in {cell.data_type for cell in cells}
    assert f"{begun}1+1" in {cell.value for cell in cells}


def test_numbers_are_numbers_below_zero_too(marrowby, hand, told):
    payload = {
        "meter": "hand",
        "oil": "rapeseed",
        "offset_pct": "-1.25",
        "offset_u_pct": "0.3",
        "gain": "0.97",
        "gain_u": "0.02",
        "correlation": "-0.4",
    }
    entry_add(marrowby, told(kind="comparison", payload=payload), hand)
    table = tables_of(marrowby)["comparison"]
    assert rows(table)[-1]["offset_pct"] == "-1.25"
    assert table.rows[-1][table.columns.index("offset_pct")] == Decimal("-1.25")
    file = io.BytesIO()
    workbook({"comparison": table}).save(file)
    sheet = load_workbook(file)["comparison"]
    assert sheet.cell(2, 2).is_date
    assert sheet.cell(2, table.columns.index("offset_pct") + 1).value == pytest.approx(-1.25)
