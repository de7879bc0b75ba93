"""Files that mean harm, or are no tables: a clear sentence, and nothing unfolds, runs or is followed."""

import io
import struct
import tracemalloc
import zipfile
from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tables_made import PLACE, added, bomb, guessed, repacked, workbook

from kettlewell.book.words import ToldError
from kettlewell.folder import KitchenError
from kettlewell.tables.apply import applied
from kettlewell.tables.guess import guess
from kettlewell.tables.reading import file_bytes, read_sheet
from kettlewell.tables.recipe import plain_recipe, recipe_from, recipe_of
from kettlewell.tables.sheets import MOST_BYTES, TableError

SHEET = "xl/worksheets/sheet1.xml"
GOOD = workbook([["Date", "Fryer", "TPM"], ["2026-03-04 10:00", "Fryer 1", 12.5]])


def refused(data: bytes) -> str:
    with pytest.raises(TableError) as told:
        read_sheet(data)
    return str(told.value)


def test_a_workbook_that_unfolds_without_end_is_refused_before_it_is_held():
    data = bomb()
    assert len(data) < 1_000_000
    tracemalloc.start()
    assert "larger than 100 MB" in refused(data)
    assert tracemalloc.get_traced_memory()[1] < 20_000_000
    tracemalloc.stop()


def test_an_archive_whose_header_lies_about_its_size_is_refused():
    large = bytearray(repacked(GOOD, SHEET, lambda text: text + b" " * 1_000_000))
    with zipfile.ZipFile(io.BytesIO(large)) as archive:
        size = archive.getinfo(SHEET).file_size
    lied = bytes(large).replace(struct.pack("<L", size), struct.pack("<L", 100))
    assert "cannot be read" in refused(lied)


def test_entities_that_unfold_without_end_are_refused():
    laughs = b'<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]>'
    assert "cannot be read" in refused(repacked(GOOD, SHEET, lambda text: laughs + text))
    hidden = (laughs.decode() + "<worksheet/>").encode("utf-16")
    assert "cannot be read" in refused(repacked(GOOD, SHEET, lambda _: hidden))


@pytest.mark.parametrize("name", ["../../evil.xml", "/etc/evil", "xl\\..\\evil", "xl/../../evil"])
def test_names_that_lead_out_of_an_archive_are_refused(name):
    assert "cannot be read" in refused(added(GOOD, name))


def test_macros_and_links_to_other_files_are_refused_by_name():
    assert "macros" in refused(added(GOOD, "xl/vbaProject.bin"))
    assert "other files" in refused(added(GOOD, "xl/externalLinks/externalLink1.xml"))


def test_a_size_that_a_sheet_claims_is_not_believed():
    claimed = repacked(GOOD, SHEET, lambda text: text.replace(b"A1:C2", b"A1:XFD1048576"))
    assert len(guessed(claimed)[1].told) == 1


def test_a_lone_cell_at_the_far_end_is_told_and_takes_no_room():
    far = repacked(
        GOOD,
        SHEET,
        lambda text: text.replace(
            b"</sheetData>", b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
        ),
    )
    assert len(read_sheet(far).rows) == 2


def test_more_rows_than_a_kitchen_writes_are_refused():
    assert "more than 100000 rows" in refused(b"2026-03-04,Fryer 1,12\n" * 100_001)


def test_a_file_of_200_mb_is_refused_unread(tmp_path):
    path = tmp_path / "large.csv"
    with path.open("wb") as file:
        file.truncate(200_000_000)
    with pytest.raises(KitchenError, match="larger than 10 MB"):
        file_bytes(path)
    assert "larger than 10 MB" in refused(b"x" * (MOST_BYTES + 1))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is empty"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 500, "old kind"),
        (b"%PDF-1.7\n" + bytes(range(256)) * 20, "no table"),
        (b"PK\x03\x04" + b"\x00" * 100, "cannot be read"),
        (added(b"PK\x05\x06" + b"\x00" * 18, "note.txt"), "no workbook"),
        (GOOD[: len(GOOD) // 2], "cannot be read"),
    ],
)
def test_what_is_no_table_is_told_so(data, says):
    assert says in refused(data)


def test_text_in_a_wrong_encoding_is_read_and_told():
    sheet = read_sheet("Datum;Öltemperatur\n04.03.2026;170 °C\n".encode("cp1252"))
    assert "Windows-1252" in str(sheet.notes[0])
    assert sheet.rows[0].cells[1] == "Öltemperatur"
    for encoding in ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32"):
        sheet = read_sheet("Datum;Öltemperatur\n04.03.2026;170 °C\n".encode(encoding))
        assert (sheet.notes, sheet.rows[0].cells) == ((), ("Datum", "Öltemperatur"))


def test_a_quotation_mark_that_is_never_closed_swallows_one_row():
    _, told = guessed(
        b'Date,Fryer,TPM,Note\n2026-03-04 10:00,Fryer 1,12,"oops\n2026-03-05 10:00,Fryer 1,13,\n'
    )
    assert [each.line for each in told.told] == [3]
    assert [problem.line for problem in told.problems] == [2]


def test_what_looks_like_a_formula_in_text_stays_text():
    _, told = guessed(
        b"Date,Fryer,TPM,Note\n2026-03-04 10:00,Fryer 1,12,=1+1\n2026-03-04 11:00,Fryer 1,=1+1,\n"
    )
    assert told.told[0].note == "=1+1"
    assert [problem.line for problem in told.problems] == [3]


CELLS = st.one_of(
    st.text(max_size=20),
    st.sampled_from(
        ["Date", "Fryer 1", "TPM", "03/04/2026", "4. März 2026", "12,5", "25:00", "x", "", "-", "1e9"]
    ),
)


@given(
    st.lists(st.lists(CELLS, max_size=6), max_size=12),
    st.sampled_from(",;\t"),
    st.sampled_from(["utf-8", "utf-16", "cp1252"]),
)
@settings(deadline=None)
def test_any_text_is_read_or_refused_in_a_sentence(rows, delimiter, encoding):
    data = "\n".join(delimiter.join(row) for row in rows).encode(encoding, "replace")
    with suppress(ToldError):
        sheet = read_sheet(data)
        recipe = guess(sheet, PLACE).recipe
        assert recipe_of(plain_recipe(recipe)) == recipe
        applied(recipe, sheet, PLACE)


@given(st.binary(max_size=300), st.integers(0, len(GOOD) - 1))
@settings(deadline=None)
def test_any_bytes_and_any_broken_workbook_are_read_or_refused_in_a_sentence(junk, at):
    for data in (junk, GOOD[:at] + junk + GOOD[at + len(junk) :]):
        with suppress(TableError):
            guess(read_sheet(data), PLACE)


@given(
    st.text(max_size=200) | st.sampled_from(["[]", "{}", '{"columns": 1}', '{"columns": [], "header": "x"}'])
)
def test_any_text_is_a_recipe_or_is_refused_in_a_sentence(text):
    with pytest.raises(TableError, match="no recipe"):
        recipe_from(text)
