"""Oil does not age in the services of a time that a kitchen, or a fryer, is closed."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from kettlewell.book import Change, Closed, OutOfOrder
from kettlewell.core import answer, checkpoint
from kettlewell.core.belief.walk import walk_to

CLOSED_DAYS = 4


@pytest.fixture
def month(book):
    """Entries of some days of both fryers."""
    return [*book(8, 10, 12), *book(9, 11, 12, fryer="small")]


@pytest.fixture
def holiday(at):
    """Close the kitchen, or a fryer, from the third evening on."""

    def closed(fryer=None):
        return Closed(at=at(2, "22:00"), until=at(2 + CLOSED_DAYS, "22:00"), fryer=fryer)

    return closed


def tpc_pct(found):
    """Return what is told of the oil, by fryer."""
    return {told.fryer: told.tpc_mean_pct for told in found.assessments}


def first_service(found):
    """Return when each fryer fries next."""
    return {told.fryer: told.forecast[0].begins_at for told in found.assessments}


def test_a_closed_kitchen_is_one_whose_fryers_are_all_out_of_order(kitchen, month, holiday, at):
    closed = holiday()
    orders = [
        OutOfOrder(at=when, fryer=fryer.key, back=back)
        for fryer in kitchen.fryers
        for when, back in ((closed.at, False), (closed.until, True))
    ]
    now = at(8, "09:00")
    shut, out = (walk_to(kitchen, [*month, *of], now=now).up_to_date() for of in ([closed], orders))
    fried = walk_to(kitchen, month, now=now).up_to_date()
    np.testing.assert_allclose(shut.base, out.base, rtol=1e-12)
    assert (shut.base < fried.base - 0.1).any()


def test_what_fries_next_fries_once_it_is_open_again(kitchen, month, holiday, at):
    now = at(3, "09:00")
    found = answer(kitchen, [*month, holiday()], now=now)
    assert all(begins >= holiday().until for begins in first_service(found).values())
    usual = answer(kitchen, month, now=now)
    assert all(begins < holiday().until for begins in first_service(usual).values())


def test_a_closed_fryer_leaves_the_others_to_fry(kitchen, month, holiday, at):
    now = at(8, "09:00")
    usual, found = (tpc_pct(answer(kitchen, [*month, *of], now=now)) for of in ([], [holiday("small")]))
    assert found["small"] < usual["small"] - 0.1
    assert found["big"] == pytest.approx(usual["big"], abs=0.2)


@pytest.mark.parametrize("day", [1, 4, 7])
def test_a_closure_counts_from_a_checkpoint_too(kitchen, month, holiday, at, day):
    """Taken before it, amid it and after it."""
    book, now = [*month, holiday()], at(8, "09:00")
    since = checkpoint(kitchen, book, at=at(day, "12:30"))
    rest = [entry for entry in book if entry.at >= since.covers_to]
    assert answer(kitchen, rest, now=now, since=since) == answer(kitchen, book, now=now)


def test_a_later_closure_does_not_end_one_that_goes_on(kitchen, month, holiday, at):
    short = Closed(at=at(3, "09:00"), until=at(3, "10:00"), fryer="big")
    now = at(4, "09:00")
    once, twice = (first_service(answer(kitchen, [*month, *of, holiday()], now=now)) for of in ([], [short]))
    assert once == twice


def test_a_service_is_cold_that_lies_by_its_middle_in_the_closed_time(kitchen, book, at):
    """Closed two minutes before its end, it was fried in."""
    entries = book(8, 10)
    now = at(2, "09:00")
    lunch = next(told for told in kitchen.services if "big" in told.fryers or not told.fryers)
    ends = at(1, lunch.ends.strftime("%H:%M"))
    late = Closed(at=ends - timedelta(minutes=2), until=ends + timedelta(minutes=1))
    assert tpc_pct(answer(kitchen, [*entries, late], now=now)) == tpc_pct(answer(kitchen, entries, now=now))


def test_what_was_fried_before_a_cold_service_counts_at_the_next_reading(kitchen, read, at):
    """Small fries at lunch alone, and big was put out of order after it: nothing is hot at dinner."""
    entries = [
        Change(at=at(0, "08:00"), fryer="small"),
        OutOfOrder(at=at(0, "15:00"), fryer="big"),
        read(1, "09:00", 9.0, fryer="small"),
    ]
    lunch_only = replace(kitchen, services=tuple(each for each in kitchen.services if each.name == "Lunch"))
    now = at(1, "09:00")
    told, alone = (tpc_pct(answer(settings, entries, now=now)) for settings in (kitchen, lunch_only))
    assert told["small"] == pytest.approx(alone["small"], rel=1e-9)
