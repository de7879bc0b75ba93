"""Days of which nothing at all was written: they are asked about, and teach nothing of the oil."""

import numpy as np
import pytest

from kettlewell.book import Care, Closed
from kettlewell.core import checkpoint
from kettlewell.core.belief.baths import baths_of, prior_of
from kettlewell.core.belief.filter import refill
from kettlewell.core.belief.joint import BEND, RATE
from kettlewell.core.belief.level import level_of
from kettlewell.core.belief.priors import initial_belief
from kettlewell.core.belief.walk import walk_to
from kettlewell.core.outlook.values import FlagKind

READ = (4, 6, 8, 10, 12)
LAST_DAY = len(READ) - 1


@pytest.fixture
def asked(told, book, at):
    """Return after how many days the program asks whether they fried, if anything more was written."""

    def days(clock, *more, day):
        flags = told([*book(*READ), *more], at(day, clock)).flags
        return [flag.days for flag in flags if flag.kind is FlagKind.SILENT]

    return days


@pytest.mark.parametrize(("day", "clock"), [(LAST_DAY, "23:00"), (LAST_DAY + 1, "12:00")])
def test_a_day_of_which_nothing_was_written_is_not_asked_about(asked, day, clock):
    """The last reading was taken in the morning before its services."""
    assert asked(clock, day=day) == []


def test_did_you_fry_is_asked_after_two_days(asked):
    assert asked("22:00", day=LAST_DAY + 1) == [2]
    assert asked("12:00", day=LAST_DAY + 2) == [2]
    assert asked("22:00", day=LAST_DAY + 6) == [7]


def test_it_is_answered_by_any_entry(asked, at):
    skimmed = Care(at=at(LAST_DAY + 3, "11:30"), fryer="small", kind="skim")
    assert asked("12:00", day=LAST_DAY + 3) == [3]
    assert asked("12:00", skimmed, day=LAST_DAY + 3) == []


def test_it_is_answered_by_saying_that_it_was_closed(asked, at):
    closed = Closed(at=at(LAST_DAY, "10:00"), until=at(LAST_DAY + 6, "06:00"))
    assert asked("10:00", closed, day=LAST_DAY + 6) == []
    assert asked("22:00", closed, day=LAST_DAY + 7) == [2]


@pytest.fixture
def away(book, at, read):
    """Give the days read, and one reading after a fortnight of which nothing was written."""
    return [*book(*READ), read(LAST_DAY + 14, "09:00", 13)]


def test_what_is_read_after_a_gap_teaches_neither_rate_nor_bend(kitchen, book, away, at):
    """It had been predicted far higher: the oil rested, and nobody wrote that down."""
    before = walk_to(kitchen, book(*READ), now=at(LAST_DAY + 14, "08:59")).up_to_date()
    after = walk_to(kitchen, away, now=at(LAST_DAY + 14, "09:00")).up_to_date()
    assert before.own_mean()[0, 0, 0] > 20
    for part in (RATE, BEND):
        sd = np.sqrt(before.own_cov[0, 0, part, part])
        assert abs(after.own_mean()[0, 0, part] - before.own_mean()[0, 0, part]) < 0.4 * sd


def test_silent_days_leave_the_oil_less_certain_than_days_written_of(kitchen, book, at):
    """As they end: of a day that still runs something may yet be written."""
    care = [Care(at=at(LAST_DAY + day, "12:00"), fryer="big", kind="skim") for day in range(4)]
    silent, written = (
        level_of(checkpoint(kitchen, [*book(*READ), *more], at=at(LAST_DAY + 4, "12:00")).belief)
        for more in ([], care)
    )
    assert silent.level[0, 0] == pytest.approx(written.level[0, 0], abs=0.2)
    assert silent.level_var[0, 0] > 1.1 * written.level_var[0, 0]


@pytest.mark.parametrize("day", range(LAST_DAY, LAST_DAY + 6))
def test_a_checkpoint_amid_silent_days_equals_a_replay(told, away, at, kitchen, day):
    since, now = checkpoint(kitchen, away, at=at(day, "12:00")), at(LAST_DAY + 14, "12:00")
    rest = [entry for entry in away if entry.at >= since.covers_to]
    assert told(rest, now, since=since) == told(away, now)


def test_a_closure_announced_ahead_changes_what_is_to_come(told, book, at):
    now = at(LAST_DAY, "09:30")
    ahead = Closed(at=now, begins=at(LAST_DAY + 1, "00:00"), until=at(LAST_DAY + 8, "00:00"))
    usual, announced = (told([*book(*READ), *more], now) for more in ([], [ahead]))
    assert [service.begins_at for service in announced.forecast[:3]] == [
        at(LAST_DAY, "11:00"),
        at(LAST_DAY, "17:00"),
        at(LAST_DAY + 8, "11:00"),
    ]
    assert announced.forecast[:2] == usual.forecast[:2]
    assert announced.tpc_mean_pct == usual.tpc_mean_pct


def test_what_was_announced_ahead_is_as_if_it_was_said_when_it_began(told, book, at):
    begins, until = at(LAST_DAY + 1, "00:00"), at(LAST_DAY + 4, "00:00")
    ahead = Closed(at=at(LAST_DAY - 1, "09:30"), begins=begins, until=until)
    then = Closed(at=begins, until=until)
    one, other = (told([*book(*READ), entry], at(LAST_DAY + 4, "09:00")) for entry in (ahead, then))
    assert one.forecast == other.forecast


def test_a_closure_must_end_after_it_begins(at):
    with pytest.raises(ValueError, match="must end after it begins"):
        Closed(at=at(0, "09:00"), begins=at(3, "09:00"), until=at(2, "09:00"))


def test_a_bend_learnt_in_one_fill_is_believed_less_firmly_in_the_next(kitchen):
    belief = initial_belief(prior_of(baths_of(kitchen)))
    belief.own_cov[..., BEND, :] /= 10
    belief.own_cov[..., :, BEND] /= 10
    filled = refill(belief, np.array([[True, False]]), lot_sd=0.3)
    assert filled.own_cov[0, 0, BEND, BEND] > 2 * belief.own_cov[0, 0, BEND, BEND]
    assert filled.own_cov[0, 1, BEND, BEND] == belief.own_cov[0, 1, BEND, BEND]
