"""Which fryers stand cold in a service: by the order or the closure that holds at its middle."""

from dataclasses import replace
from datetime import timedelta

import pytest

from kettlewell.book import Closed, OutOfOrder
from kettlewell.core import checkpoint
from kettlewell.core.belief.orders import cold_in, ordered
from kettlewell.core.belief.settle import place_of
from kettlewell.core.belief.week import slots_from

SECOND = timedelta(seconds=1)


@pytest.fixture
def state(kitchen, read, at):
    return checkpoint(kitchen, [read(0, "09:00", 7.0)], at=at(0, "10:00"))


@pytest.fixture
def lunch(kitchen, at):
    return next(slots_from(kitchen, at(1, "00:00")))


def test_an_order_counts_in_a_service_whose_middle_comes_after_it(state, lunch, at):
    middle = at(1, "12:30")
    for when, cold in ((middle - SECOND, {"big"}), (middle, set()), (middle + SECOND, set())):
        assert cold_in(place_of(state), [OutOfOrder(at=when, fryer="big")])(lunch) == cold


def test_the_last_order_before_the_middle_holds(state, lunch, at):
    out, back = (
        OutOfOrder(at=at(1, clock), fryer="big", back=back)
        for clock, back in (("08:00", False), ("09:00", True))
    )
    assert cold_in(place_of(state), [out, back])(lunch) == set()
    assert cold_in(place_of(state), [out, replace(back, at=at(1, "13:00"))])(lunch) == {"big"}
    stands = place_of(ordered(state, [out]))
    assert cold_in(stands, [])(lunch) == {"big"}
    assert cold_in(stands, [back])(lunch) == set()
    assert place_of(ordered(state, [out, back])).out_of_order == set()


def test_a_closure_holds_from_its_beginning_up_to_its_end(state, lunch, at):
    middle = at(1, "12:30")
    for begins, until, cold in (
        (middle, middle + SECOND, {"small"}),
        (middle - SECOND, middle, set()),
        (middle + SECOND, at(2, "08:00"), set()),
    ):
        closed = Closed(at=at(0, "09:00"), begins=begins, until=until, fryer="small")
        assert cold_in(place_of(state), [closed])(lunch) == cold
        assert cold_in(place_of(ordered(state, [closed])), [])(lunch) == cold
    everything = Closed(at=at(0, "09:00"), until=at(2, "08:00"))
    assert cold_in(place_of(state), [everything])(lunch) == {"big", "small"}


def test_a_closure_that_is_over_when_another_is_written_is_forgotten(state, at):
    first = Closed(at=at(1, "08:00"), until=at(2, "08:00"))
    at_its_end, before = (Closed(at=at(2, clock), until=at(9, "08:00")) for clock in ("08:00", "07:59"))
    assert place_of(ordered(state, [first, at_its_end])).closed == (at_its_end,)
    assert place_of(ordered(state, [first, before])).closed == (first, before)
