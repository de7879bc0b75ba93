"""The form of a check: which bottle it offers and chooses, and what it asks about a reading."""

import re

import pytest
from addresses import BOTTLE

from kettlewell.records.ledger import setting_add
from kettlewell.records.models import Entry

CHECK = {"meter": "hand", "lot": "bottle", "reading_1": "18", "oil_temp_c": "50"}


@pytest.fixture
def bottles(marrowby, hand):
    """Return a way to have another bottle of reference oil."""

    def add(key, **values):
        setting_add(marrowby, "reference_lots", key, {**BOTTLE, **values}, hand=hand)

    return add


def chosen(text):
    return re.findall(r'name="lot" value="(\w+)"[^>]* checked', text)


def test_each_bottle_is_named_with_its_value_and_until_when_it_is_good_also_the_only_one(cook, bottles, page):
    bottles("r18", name="Lot R18", best_before="2999-12-31")
    assert "Lot R18, 18 %, best before 31 Dec 2999" in page(cook, "meter-check")
    bottles("r25", name="Lot R25", tpc_pct="25.5")
    assert "<span>Lot R25, 25.5 %</span>" in page(cook, "meter-check")


def test_a_bottle_no_longer_good_is_not_chosen_beforehand_where_another_is(cook, bottles, page):
    bottles("old", name="Old", opened="2026-02-01", best_before="2026-03-01")
    assert chosen(page(cook, "meter-check")) == ["old"]
    bottles("fresh", name="Fresh", opened="2026-01-01")
    assert chosen(page(cook, "meter-check")) == ["fresh"]


def test_a_check_that_is_corrected_keeps_its_bottle(cook, bottles, bottle, checked, page):
    bottles("bottle", best_before="2026-03-01")
    check = checked("18")
    bottles("fresh", name="Fresh")
    assert chosen(page(cook, "correct", check.pk)) == ["bottle"]


@pytest.mark.parametrize(
    ("typed", "asked"),
    [("175", "175? Did you mean 17.5?"), ("100", "100? Did you mean 10?"), ("1750", "At most 100.")],
)
def test_a_reading_whose_point_was_left_out_is_asked_about(cook, bottle, send, typed, asked):
    answer = send(cook, "meter-check", {**CHECK, "reading_1": typed})
    assert answer.context["form"].errors["reading_1"] == [asked]
    assert f'value="{typed}"' in answer.content.decode()
    assert not Entry.objects.filter(kind="meter_check").exists()
