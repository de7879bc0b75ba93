"""A lot of oil is recalled: which fryers held it, on which days, and what cannot wait."""

import re

import pytest

from kettlewell.records.ledger import setting_add
from kettlewell.records.models import Entry

SOUND = {"no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}
READ = {"fryer": "F1", "tpc_pct": "9", "oil_temp_c": "170", "meter": "hand", **SOUND}
WAITS = "Recalled oil: Fries (F1)"


@pytest.fixture
def recall(cook, send):
    """Return a way to write as a cook that a lot is recalled, and the page it leads to."""
    return lambda lot, **more: send(cook, "recall", {"delivery": lot, **more})


def test_the_day_book_leads_to_it_and_the_form_knows_the_lots_that_were_named(cook, write, page):
    write("change", {"fryer": "F1", "delivery": "L 4711"}, ago=3)
    assert "Recalled oil" in page(cook, "book")
    assert '<option value="L 4711">' in page(cook, "recall")


def test_oil_of_the_lot_in_a_bath_cannot_wait_until_it_is_changed(recall, cook, inspector, write, page):
    write("change", {"fryer": "F1", "delivery": "L 4711"}, ago=3)
    write("change", {"fryer": "F2", "delivery": "L 4712"}, ago=3)
    assert WAITS not in page(cook, "line")
    shown = recall("l4711", note="Letter of the supplier").content.decode()
    assert "The oil lot l4711 was recalled." in shown
    assert "Letter of the supplier" in shown
    assert "Fry nothing in it" in shown
    assert WAITS in page(cook, "line")
    assert "This oil was recalled" in page(cook, "fryer", "F1")
    assert "This oil was recalled" not in page(cook, "fryer", "F2")
    assert "still in the fryer" in page(inspector, "recalls")
    write("change", {"fryer": "F1", "delivery": "L 4712"})
    assert WAITS not in page(cook, "line")
    after = page(inspector, "recalls")
    assert "Fries (F1)" in after
    assert "still in the fryer" not in after
    assert "Fry nothing in it" not in after


def test_oil_that_was_taken_out_and_is_kept_cannot_wait_either(recall, cook, write, page):
    write("change", {"fryer": "F1", "delivery": "L 4711"}, ago=3)
    write("store", {"fryer": "F1"}, ago=2)
    recall("L 4711")
    assert "Recalled oil: Fries (F1), kept" in page(cook, "line")
    assert "still kept apart" in page(cook, "recalls")


def test_a_recall_that_was_undone_asks_nothing(recall, cook, write, undo, page):
    write("change", {"fryer": "F1", "delivery": "L 4711"}, ago=3)
    recall("L 4711")
    undo(Entry.objects.get(kind="recall"))
    assert WAITS not in page(cook, "line")
    assert "L 4711" not in page(cook, "recalls").partition("<h1>")[2]


def test_top_ups_that_name_no_lot_are_named_as_perhaps(recall, write):
    write("change", {"fryer": "F1", "delivery": "L 4711"}, ago=3)
    write("top_up", {"fryer": "F2", "unit": "mark"}, ago=2)
    shown = recall("L 4711").content.decode()
    assert "No lot was written down with this oil; it may be of it:" in shown
    assert "Fish (F2)" in shown


def test_of_a_lot_nobody_named_the_page_says_that_it_cannot_tell(recall, write):
    write("change", {"fryer": "F1"}, ago=3)
    shown = recall("L 9").content.decode()
    assert "No change of the last year names this lot." in shown
    assert "Fries (F1)" not in shown.partition("No change of the last year")[2]


def test_a_fryer_that_is_no_longer_in_the_kitchen_is_told_too(recall, marrowby, hand, write, page, cook):
    write("change", {"fryer": "F1", "delivery": "L 4711"}, ago=3)
    write("change", {"fryer": "F1"}, ago=2)
    setting_add(marrowby, "fryers", "F1", None, hand=hand)
    assert "Fries (F1)" in recall("L 4711").content.decode()


@pytest.mark.parametrize("lot", ["", "   ", "x" * 101])
def test_a_recall_names_a_lot(recall, lot):
    assert list(recall(lot).context["form"].errors) == ["delivery"]


def test_no_page_says_to_fry_on_in_recalled_oil(recall, cook, write, page):
    """The recall itself is answered by a verdict, which stands where a verdict is told."""
    write("change", {"fryer": "F1", "delivery": "L 4711"}, ago=3)
    write("reading", READ)
    write("order", {"fryer": "F2"})
    assert "Fry on" in page(cook, "line")
    recall("L 4711")
    assert Entry.objects.filter(kind="verdict", fryer="F1").last().payload["verdict"] == "change_before"
    for name, args in (("line", ()), ("fryer", ("F1",)), ("card", ())):
        shown = page(cook, name, *args)
        verdicts = re.findall('class="verdict">([^<]*)|<dd>([^<]*)', shown)
        assert verdicts
        assert not any("ry on" in said for found in verdicts for said in found)
        assert re.search("(Do not fry|Stop frying): recalled oil|this oil was recalled", shown, re.IGNORECASE)
    write("reading", {**READ, "tpc_pct": "8"})
    assert Entry.objects.filter(kind="verdict", fryer="F1").last().payload["verdict"] == "change_before"
