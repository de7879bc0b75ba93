"""What the line, the reading and the told verdict say of a meter found off, and of having none in use."""

import re

import pytest

from kettlewell.bridge import meters as bridge_meters
from kettlewell.core.outlook import meters as core_meters
from kettlewell.records.ledger import setting_add
from kettlewell.records.models import Entry

OFF = "Hand meter was found off at its last check: adjust it before you rely on it."
BY_SENSES = "No meter is in use: smell the oil and look at it."
NO_METER = "No meter in use"
SOUND = {"all_so": "yes", "tpc_pct": "12,5", "oil_temp_c": "170", "meter": "hand"}


@pytest.fixture
def filled(write):
    """Fresh oil in the first fryer since yesterday."""
    write("change", {"fryer": "F1"}, ago=1)


@pytest.fixture
def out_of_use(owner, bottle, send):
    """The one meter, taken out of use."""
    send(owner, "meter-order", {"meter": "hand", "back": "no"})


@pytest.fixture
def told(cook, filled, send):
    """Return a way to send a reading, and the page it leads to."""

    def text():
        return send(cook, "reading-at", SOUND, "F1").content.decode()

    return text


@pytest.mark.parametrize(("found", "said"), [("18", False), ("20", True), ("24", True)])
def test_a_meter_found_off_is_named_where_a_fryer_is_read_and_with_the_verdict(
    cook, checked, page, told, found, said
):
    checked(found)
    assert (OFF in page(cook, "reading-at", "F1")) is said
    assert (OFF in told()) is said


def test_a_meter_found_off_and_adjusted_is_spoken_of_no_more(cook, checked, page):
    checked("20", ago=0.1)
    checked("18", adjusted=True)
    assert OFF not in page(cook, "reading-at", "F1")


@pytest.mark.usefixtures("out_of_use")
def test_without_a_meter_in_use_no_number_is_asked_for_but_one_of_earlier_is_taken(cook, page, told):
    text = page(cook, "reading-at", "F1")
    assert BY_SENSES in text
    assert "/fryers/F1/acts/senses/" in text
    assert "tpc_pct" not in text
    assert BY_SENSES in told()
    assert Entry.objects.filter(kind="reading").count() == 1


def test_the_line_says_on_top_when_no_meter_is_in_use(cook, filled, page, request):
    assert NO_METER not in page(cook, "line")
    request.getfixturevalue("out_of_use")
    text = page(cook, "line")
    assert text.index(NO_METER) < text.index("<ol")


@pytest.mark.usefixtures("out_of_use")
def test_meters_in_use_are_offered_before_those_out_of_use(marrowby, hand, cook, page):
    setting_add(marrowby, "meters", "spare", {"name": "Spare meter"}, hand=hand)
    text = page(cook, "reading-at", "F1")
    assert re.findall(r'name="meter" value="(\w+)"', text) == ["spare", "hand", "unknown"]
    assert BY_SENSES not in text


def not_shown_here(*_args, **_more):
    raise AssertionError("this page shows nothing of it")


def test_reading_an_oil_and_being_told_its_verdict_compute_no_report_of_the_meters(
    cook, checked, page, told, monkeypatch
):
    checked("20")
    monkeypatch.setattr(bridge_meters, "meter_reports", not_shown_here)
    assert OFF in page(cook, "reading-at", "F1")
    assert OFF in told()


@pytest.mark.parametrize("where", ["line", "fryer"])
def test_the_line_and_a_fryer_do_not_work_out_what_readings_are_worth(
    cook, checked, filled, page, monkeypatch, where
):
    checked("18", ago=40)
    monkeypatch.setattr(core_meters, "worth_of", not_shown_here)
    assert "Hand meter" in page(cook, where, *(["F1"] if where == "fryer" else []))
