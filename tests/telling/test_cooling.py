"""When a bath may be drained by hand, counted from when it was switched off."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from kettlewell.core.outlook.values import Caution
from kettlewell.telling.cooling import AT_ONCE, at_once, cools

OFF = datetime(2026, 11, 15, 16, 44, tzinfo=UTC)
SINCE = (
    "Switched off Sun 16:44, it may be cool enough to drain from about Sun 22:44 to Sun 23:44: "
    "check that it is at 40 °C or below."
)


def test_while_nobody_knows_when_it_was_switched_off_no_time_is_told(change_before, reader):
    assert cools(change_before, reader) == (
        "Drain it only at 40 °C or below: that takes 6 to 7 hours from when it was switched off."
    )


def test_the_time_counts_from_when_it_was_switched_off_and_not_from_each_look(change_before, reader):
    later = replace(reader, now=reader.now + timedelta(hours=1))
    assert cools(change_before, reader, off_at=OFF) == cools(change_before, later, off_at=OFF) == SINCE
    by_book = replace(change_before, cooling=replace(change_before.cooling, off_at=OFF))
    assert cools(by_book, reader, off_at=OFF + timedelta(hours=1)) == SINCE


def test_of_a_bath_that_need_not_cool_nothing_is_said(fry_on, reader):
    assert cools(fry_on, reader, off_at=OFF) == ""
    assert at_once(fry_on, reader) == ""


@pytest.mark.parametrize("caution", AT_ONCE)
def test_the_caution_of_an_act_stands_right_under_its_verdict(change_before, reader, caution):
    told = at_once(replace(change_before, cautions=(Caution.REFILL, caution, Caution.FIRE)), reader)
    assert told.startswith("Hot oil burns.")
