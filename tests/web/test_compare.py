"""Compare two meters: what their pairs say, and taking it over."""

import html
import re

import pytest
from addresses import READING

from kettlewell.bridge.meters import meters_standing
from kettlewell.records.ledger import setting_add
from kettlewell.records.models import Entry, Kitchen

HAND = {"meter": "hand", "against": "laboratory", "oil": "rapeseed"}


@pytest.fixture
def pairs(write):
    """Return a way to write so many pairs in which the meter reads 0.9 of the laboratory's value plus 2."""

    def written(number):
        for n in range(number):
            other = 8 + 3 * n
            write("reading", {**READING, "tpc_pct": f"{0.9 * other + 2:.1f}"}, ago=9 - n)
            write("laboratory", {"fryer": "F1", "tpc_pct": str(other)}, ago=9 - n)

    return written


def adopted():
    return Entry.objects.filter(kind="comparison").first()


def test_pairs_make_a_line_a_plot_and_a_table(cook, pairs, page):
    pairs(5)
    text = page(cook, "compare", **HAND)
    assert re.search(r"It reads 0\.9\d? times what the laboratory says, plus [12]\.\d points\.", text)
    assert "The difference is" in text
    assert 'class="mark mark-chart"' in text
    assert text.count("<tr>") == 6
    assert "more pair" not in text


def test_what_is_not_chosen_is_the_first_of_each(cook, pairs, page):
    pairs(5)
    assert page(cook, "compare").count("<tr>") == 6


@pytest.mark.parametrize(("number", "missing"), [(0, "5 more pairs"), (4, "One more pair")])
def test_too_few_pairs_say_how_many_are_missing_and_how_to_make_one(owner, pairs, page, number, missing):
    pairs(number)
    text = page(owner, "compare", **HAND)
    assert f"{missing} needed." in text
    assert "To make a pair" in text
    assert "Use this from now on" not in text


def test_an_owner_takes_it_over_and_the_belief_follows(marrowby, owner, hand, pairs, page, send):
    pairs(8)
    text = page(owner, "compare", **HAND)
    assert "replace what the program had learnt" in text
    assert "In this oil it probably shows" in text
    answer = html.unescape(send(owner, "adopt", HAND).content.decode())
    payload = adopted().payload
    assert (payload["meter"], payload["oil"], "against" in payload) == ("hand", "rapeseed", False)
    assert abs(float(payload["gain"]) - 0.9) < 0.05
    assert "compared with the laboratory in Rapeseed oil" in answer
    assert "Olive Owner" in answer
    assert oil_of(marrowby, hand).gain == pytest.approx(float(payload["gain"]), abs=0.015)


def oil_of(kitchen, hand):
    """Return what the meter's readings are worth in the kitchen's oil."""
    (report,) = meters_standing(Kitchen.objects.get(pk=kitchen.pk), hand.now).reports
    return report.oils[0]


def test_a_cook_sees_it_and_is_not_offered_to_take_it_over(cook, pairs, page):
    pairs(8)
    text = page(cook, "compare", **HAND)
    assert "times what the laboratory says" in text
    assert "Use this from now on" not in text


@pytest.mark.parametrize("data", [{}, HAND, {**HAND, "oil": "no-such"}, {**HAND, "against": "hand"}])
def test_what_cannot_be_taken_over_is_not_written(owner, pairs, send, data):
    pairs(3)
    assert "Nothing was taken over." in send(owner, "adopt", data).content.decode()
    assert adopted() is None


def test_two_meters_stand_side_by_side(marrowby, hand, cook, write, page):
    setting_add(marrowby, "meters", "spare", {"name": "Spare meter"}, hand=hand)
    for n in range(3):
        for meter, more in (("hand", 0), ("spare", 1)):
            tpc_pct = str(8 + 3 * n + more)
            write("reading", {**READING, "tpc_pct": tpc_pct, "meter": meter}, ago=6 - n)
    text = page(cook, "compare", meter="spare", against="hand", oil="rapeseed")
    assert "times what Hand meter says" in text
    assert text.count("<tr>") == 4


def test_a_line_that_is_not_sure_is_not_offered_and_it_says_what_would_make_it_so(owner, write, page, send):
    for n in range(5):
        write("reading", {**READING, "tpc_pct": f"{12 + n / 10:.1f}"}, ago=6 - n)
        write("laboratory", {"fryer": "F1", "tpc_pct": "12"}, ago=6 - n)
    text = page(owner, "compare", **HAND)
    assert "The comparison is not sure enough yet: spread the pairs" in text
    assert "Use this from now on" not in text
    assert "Nothing was taken over." in send(owner, "adopt", HAND).content.decode()
    assert adopted() is None


@pytest.fixture
def measured_by_all(marrowby, hand, write):
    """Eight times the laboratory, the first meter and a spare one measured the same oil."""
    setting_add(marrowby, "meters", "spare", {"name": "Spare meter"}, hand=hand)
    for n in range(8):
        tpc = 8 + 3 * n
        write("laboratory", {"fryer": "F1", "tpc_pct": str(tpc)}, ago=9 - n)
        for key, more in (("hand", 0), ("spare", 1)):
            write("reading", {**READING, "tpc_pct": str(tpc + more), "meter": key}, ago=9 - n)


@pytest.mark.usefixtures("measured_by_all")
@pytest.mark.parametrize(
    ("meter", "against"), [("spare", "laboratory"), ("hand", "spare"), ("spare", "hand")]
)
def test_any_meter_may_be_taken_over_beside_the_laboratory_or_another(owner, page, send, meter, against):
    asked = {**HAND, "meter": meter, "against": against}
    assert "Use this from now on" in page(owner, "compare", **asked)
    send(owner, "adopt", asked)
    payload = adopted().payload
    assert payload["meter"] == meter
    assert payload.get("against", "laboratory") == against


def test_a_meter_is_not_compared_with_itself(cook, page):
    text = page(cook, "compare", **{**HAND, "against": "hand"})
    assert "Choose another: this is the same meter." in text
    assert "Pairs" not in text
