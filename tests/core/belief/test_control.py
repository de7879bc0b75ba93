"""A control oil of the house ties the gain at the limit."""

from dataclasses import replace

import numpy as np
import pytest

from kettlewell.book import MeterCheck, ReferenceLot, history_of
from kettlewell.core import assess, checkpoint
from kettlewell.core.belief.response import response_of
from kettlewell.core.belief.walk import walk_to
from kettlewell.core.metering.checks import DecisionKey, RemarkKey, decide_check

CONTROL = ReferenceLot(key="C1", name="House oil", tpc_pct=22.0, expanded_u_pct=1.6, oil="rape")


@pytest.fixture
def place(checking):
    """The kitchen with two bottles of reference oil and one of control oil."""
    second = replace(CONTROL, key="C2", name="Next house oil", tpc_pct=21.0)
    return replace(checking, reference_lots=(*checking.reference_lots, CONTROL, second))


@pytest.fixture
def controlled(at):
    """Read the control oil by three readings on a day."""

    def check(day, shows, lot="C1", **rest):
        given = {"meter": "hand", "oil_temp_c": 150.0, **rest}
        return MeterCheck(at=at(day, "08:00"), lot=lot, readings_pct=(shows,) * 3, **given)

    return check


@pytest.fixture
def at_limit(place, at):
    """Tell what the meter is believed to show of oil at 22 %, and how surely."""

    def of(entries, day):
        belief = walk_to(place, entries, now=at(day, "09:00")).state.belief
        response = response_of(belief, 0, 0).of_kitchen(0)
        by = response.at(22.0)
        shows = response.offset_pct + 22.0 * response.gain
        return float(shows), float(np.sqrt(by @ belief.shared_cov[0] @ by)), belief

    return of


def test_a_check_in_control_oil_teaches_what_the_meter_shows_at_the_limit(at_limit, controlled, checked):
    """Which no check in reference oil does, however many."""
    before, by_reference = at_limit([], 1)[:2], at_limit([checked(day, 0.0) for day in range(3)], 3)[:2]
    shows, sd, belief = at_limit([controlled(0, 19.5)], 1)
    assert by_reference[1] > 0.8 * before[1]
    assert sd < 0.7 * before[1]
    assert 19.5 < shows < before[0] - 0.5
    assert belief.shared[0, belief.layout.gains.start] < 0.95


def test_the_error_of_its_value_stays_in_every_check(at_limit, controlled):
    """However often it is read: the value is off by so much in all of them."""
    one, many = (at_limit([controlled(day, 20.5) for day in range(n)], n)[1] for n in (1, 12))
    assert 0.9 * one < many <= one or many > 0.55


def test_another_control_oil_brings_an_error_of_its_own(at_limit, controlled):
    """What the laboratory's results have in common stays."""
    same = at_limit([*(controlled(day, 20.5) for day in range(6)), controlled(6, 20.5)], 7)[1]
    other = at_limit([*(controlled(day, 20.5) for day in range(6)), controlled(6, 19.5, lot="C2")], 7)[1]
    assert other < same


def test_it_holds_the_gain_month_after_month(at_limit, controlled):
    """The meter drifts between checks; each one ties it again."""
    months = [controlled(28 * n, 20.5) for n in range(6)]
    assert at_limit(months, 28 * 5 + 1)[1] < at_limit(months[:1], 28 * 5 + 1)[1]


@pytest.mark.parametrize(
    ("shows", "key"), [(22.0, DecisionKey.FIT), (19.5, DecisionKey.FIT), (15.0, DecisionKey.OUT)]
)
def test_a_meter_is_not_adjusted_for_how_it_takes_used_oil(place, controlled, shows, key):
    assert decide_check(controlled(0, shows), place).key is key


def test_it_is_to_be_read_hot(place, controlled):
    remarks = decide_check(controlled(0, 21.0, oil_temp_c=50.0), place).remarks
    assert [(remark.key, remark.read_at_c) for remark in remarks] == [(RemarkKey.TOO_COLD, 150.0)]


def test_a_good_check_in_it_does_not_put_a_meter_right_that_reference_oil_found_off(
    place, told, book, checked, controlled, at
):
    off = [checked(0, 0.0), *book(4.0, 6.0, 8.0), checked(3, 3.0)]
    assert told([*off, controlled(4, 22.0)], at(4, "12:00"), place=place).verdict.reason.code == "meter_off"


def test_going_on_from_a_checkpoint_says_the_same(place, book, checked, controlled, at):
    entries = [
        checked(0, 0.2),
        controlled(0, 20.0),
        *book(4, 8, 12, 16),
        controlled(3, 20.5),
        checked(3, 0.3),
    ]
    since = checkpoint(place, entries, at=at(2, "12:00"))
    rest = [entry for entry in entries if entry.at >= since.covers_to]
    now = at(4, "10:00")
    assert assess(place, rest, now=now, since=since) == assess(place, entries, now=now)


def test_a_control_oil_that_comes_later_changes_nothing_of_what_is_believed(checking, place, book, at):
    entries, now = book(4, 8, 12), at(2, "10:00")
    came = history_of(checking).then(place, at(1, "15:00"))
    assert [bath.tpc_mean_pct for bath in assess(came, entries, now=now)] == pytest.approx(
        [bath.tpc_mean_pct for bath in assess(checking, entries, now=now)], rel=1e-9
    )
