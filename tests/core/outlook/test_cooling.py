"""A bath drained by hand cools before it is drained, counted from when it was switched off."""

from dataclasses import replace
from datetime import timedelta

import pytest

from kettlewell.book import Change, Draining, OutOfOrder, Store
from kettlewell.core import assess, checkpoint

PAST = (4, 10, 16, 22, 28)


@pytest.fixture
def cooling(told, book, at, kitchen):
    """Say how ``big`` cools after more was written, when it is past its limit."""

    def of(*more, draining=Draining.HAND, now=None):
        big, small = kitchen.fryers
        place = replace(kitchen, fryers=(replace(big, draining=draining), small))
        return told([*book(*PAST), *more], now or at(4, "16:00"), place=place).cooling

    return of


def test_until_it_is_taken_out_of_use_nobody_knows_when_it_was_switched_off(cooling):
    found = cooling()
    assert (found.low_h, found.high_h) == (6, 7)
    assert found.off_at is found.drain_from is found.drain_by is None


def test_the_time_runs_from_when_it_was_taken_out_of_use_whenever_it_is_looked_at(cooling, at):
    out = OutOfOrder(at=at(4, "09:20"), fryer="big")
    found = {cooling(out, now=at(4, clock)) for clock in ("09:30", "12:00", "16:00")}
    assert len(found) == 1
    (once,) = found
    assert once.off_at == out.at
    assert once.drain_from == out.at + timedelta(hours=6)
    assert once.drain_by == out.at + timedelta(hours=7)


def test_what_is_pumped_or_was_emptied_or_filled_since_need_not_cool(cooling, at):
    out = OutOfOrder(at=at(4, "09:20"), fryer="big")
    assert cooling(draining=Draining.PUMP) is None
    assert cooling(Store(at=at(4, "15:30"), fryer="big")) is None
    assert cooling(out, Change(at=at(4, "15:30"), fryer="big")) is None
    assert cooling(Change(at=at(4, "15:30"), fryer="big")) is None


def test_from_a_checkpoint_on_it_is_still_known_when_it_was_switched_off(book, at, kitchen):
    entries = [*book(*PAST), OutOfOrder(at=at(4, "09:20"), fryer="big")]
    since = checkpoint(kitchen, entries, at=at(6, "12:00"))
    later = [entry for entry in entries if entry.at >= since.covers_to]
    whole, from_there = (
        {one.fryer: one.cooling for one in assess(kitchen, known, now=at(6, "12:00"), since=state)}
        for known, state in ((entries, None), (later, since))
    )
    assert from_there == whole
    assert whole["big"].off_at == at(4, "09:20")
