"""What stood on a sheet of paper first says so: in the day book, in its tables, in the inspector's book."""

import pytest
from django.core.exceptions import ValidationError

from kettlewell.records.models import Entry
from kettlewell.records.tables import tables_of
from kettlewell.web.entry import paper

READING = {"tpc_pct": "14", "oil_temp_c": "170", "all_so": "yes"}


@pytest.fixture
def typed_in(signed_in, cook, marrowby):
    """Return a way to write down a reading at a fryer."""

    def type_in(**more):
        answer = signed_in(cook).post(f"/k/{marrowby.slug}/fryers/F1/read/", {**READING, **more})
        assert answer.status_code == 302
        return Entry.objects.filter(kind="reading").latest("seq")

    return type_in


def test_what_is_ticked_to_be_from_paper_is_marked_and_what_is_not_is_not(typed_in, cook, page):
    assert "source" not in typed_in().payload
    assert "from paper" not in page(cook, "book")
    assert typed_in(source="on").payload["source"] == "paper"
    assert page(cook, "book").count(">from paper<") == 1


def test_a_correction_keeps_the_mark_unless_it_is_taken_off(typed_in, cook, page):
    entry = typed_in(source="on")
    assert 'name="source" value="paper"' in page(cook, "correct", entry.pk)
    assert "checked" in page(cook, "correct", entry.pk).split('name="source"')[1].split(">")[0]


def test_the_mark_is_a_column_of_the_table_of_its_kind(typed_in, marrowby):
    typed_in(source="on")
    table = tables_of(marrowby)["reading"]
    assert table.rows[-1][table.columns.index("source")] == "paper"


def test_the_inspectors_book_lists_it_among_what_was_written_late(
    typed_in, signed_in, cook, marrowby, monkeypatch
):
    found = []
    monkeypatch.setattr(paper, "typeset", lambda sheet: found.append(sheet) or b"%PDF-")
    typed_in()
    typed_in(source="on")
    signed_in(cook).get(f"/k/{marrowby.slug}/inspection/book/?parts=corrections")
    told = [cell for block in found[0].blocks for row in getattr(block, "rows", ()) for cell in row]
    assert sum("From a sheet of paper." in cell for cell in told) == 1


def test_another_source_than_the_day_book_knows_is_refused(write):
    with pytest.raises(ValidationError, match="source"):
        write("reading", {"fryer": "F1", "tpc_pct": "9", "oil_temp_c": "170", "source": "hearsay"})
