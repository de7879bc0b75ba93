"""What was seen of a bath, as the rule asks for it: occasions, doubts, what a meter found off had read."""

from dataclasses import replace

import numpy as np
import pytest

from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.seen import KEPT_READINGS, SECONDS_PER_H, Doubt, Of, nothing_seen, with_readings
from kettlewell.core.decision.seen import SECONDS_PER_DAY, evidence_of, lately, resting

NOW_S = 1e9
ROW_S = SECONDS_PER_H * PACKAGED.in_a_row_h.value
OCCASION_S = 60 * PACKAGED.occasion_min.value
HELD_PCT = PACKAGED.held_pct.value
FIT, WET, CHANGE, UNSOUND = Doubt.NONE, Doubt.WET, Doubt.UNLOGGED_CHANGE, Doubt.UNSOUND


def bath(*readings, filled_s=NOW_S - 9 * SECONDS_PER_DAY, kept=KEPT_READINGS, **fields):
    """Return what is seen of one bath: readings of (seconds ago, %, doubt[, changed]), the oldest first."""
    seen = replace(nothing_seen((1, 1), kept=kept), filled_s=np.full((1, 1), filled_s))
    for ago_s, pct, doubt, *changed in readings:
        row = np.zeros((1, 1, len(Of)))
        row[..., Of.AT_S], row[..., Of.PCT], row[..., Of.DOUBT] = NOW_S - ago_s, pct, doubt
        row[..., Of.CHANGED] = any(changed)
        ref = np.full((1, 1), "", dtype=object)
        seen = with_readings(seen, np.ones((1, 1), bool), row, refs=ref, lasts_s=OCCASION_S)
    return replace(seen, **{name: np.full((1, 1), value) for name, value in fields.items()})


def found(seen, now_s=NOW_S, **given):
    return evidence_of(seen, now_s, PACKAGED, **given)


def test_there_is_a_meter_unless_told_otherwise_and_no_bath_is_out_of_order():
    evidence = found(bath((60, 12.0, FIT)))
    assert (evidence.metered, evidence.out_of_order, evidence.meter_off) == (True, False, False)
    assert not evidence.could_fry_on


def test_the_last_occasion_counts_by_its_highest_and_the_row_by_the_mean_of_the_highest_two():
    evidence = found(bath((600 + OCCASION_S, 20.0, FIT), (120, 14.0, FIT), (60, 13.0, FIT)))
    assert evidence.highest_pct == 14.0
    assert evidence.mean_pct == min((20 + 14) / 2, 14 + HELD_PCT)
    assert evidence.readings == 3


@pytest.mark.parametrize("apart_pct", [HELD_PCT, 2 * HELD_PCT, 5 * HELD_PCT])
def test_of_two_readings_the_higher_counts_as_held_from_the_mean_at_most(apart_pct):
    evidence = found(bath((90, 10.0, FIT), (60, 10.0 + apart_pct, WET)))
    assert evidence.mean_pct == 10 + min(apart_pct / 2, HELD_PCT)


def test_readings_are_in_a_row_up_to_its_length_before_the_last_one():
    within, beyond = (found(bath((60 + ago_s, 18.0, FIT), (60, 12.0, FIT))) for ago_s in (ROW_S, ROW_S + 1))
    assert (within.readings, beyond.readings) == (2, 1)


def test_a_reading_not_taken_well_counts_nowhere_and_alone_is_doubted():
    evidence = found(bath((90, 12.0, FIT), (60, 25.0, UNSOUND)))
    assert (evidence.readings, evidence.highest_pct, evidence.doubt) == (1, 12.0, Doubt.NONE)
    alone = found(bath((60, 25.0, UNSOUND)))
    assert (alone.readings, alone.doubt, alone.highest_pct) == (0, UNSOUND, 25.0)


@pytest.mark.parametrize(
    ("doubts", "settled"),
    [
        ([FIT], FIT),
        ([WET], WET),
        ([CHANGE], CHANGE),
        ([FIT, WET], FIT),
        ([FIT, CHANGE], CHANGE),
        ([FIT, FIT, CHANGE], FIT),
        ([FIT, WET, CHANGE], FIT),
        ([WET, WET, CHANGE], WET),
        ([FIT, CHANGE, CHANGE], CHANGE),
        ([Doubt.CONTRADICTS, CHANGE], Doubt.CONTRADICTS),
        ([UNSOUND, WET], WET),
    ],
)
def test_an_occasion_is_settled_by_what_fits_unless_as_many_stand_too_low(doubts, settled):
    for order in (doubts, doubts[::-1]):
        readings = [(60 + 30 * n, 12.0, doubt) for n, doubt in enumerate(order)][::-1]
        assert found(bath(*readings)).doubt == settled


def test_a_change_concluded_stands_though_others_fit():
    readings = [(120, 5.0, CHANGE, True), (90, 5.0, FIT), (60, 5.0, FIT)]
    assert found(bath(*readings)).doubt == CHANGE


def test_a_bath_is_overdue_once_nothing_sound_was_read_for_too_long():
    longest_s = SECONDS_PER_DAY * PACKAGED.longest_unread_days.value
    seen = bath((0, 12.0, FIT), filled_s=np.nan)
    assert [bool(found(seen, NOW_S + late_s).overdue) for late_s in (0, longest_s, longest_s + 1)] == [
        False,
        False,
        True,
    ]
    assert found(bath(filled_s=np.nan)).overdue
    assert found(bath(filled_s=np.nan)).unknown
    fresh = found(bath(filled_s=NOW_S))
    assert (bool(fresh.overdue), bool(fresh.unread), bool(fresh.unknown)) == (False, True, False)


@pytest.mark.parametrize(
    ("surprise_pct", "after_s", "overrides", "doubt"),
    [
        (np.nan, -1, True, FIT),
        (np.nan, 0, True, FIT),
        (np.nan, 1, False, FIT),
        (3.0, 0, True, WET),
        (-3.0, 0, False, Doubt.CONTRADICTS),
    ],
)
def test_a_laboratorys_result_overrides_readings_before_it(surprise_pct, after_s, overrides, doubt):
    """Unless it lies far below the book; where it surprises it is doubted."""
    seen = bath(
        (60, 12.0, FIT),
        laboratory_s=NOW_S - 60 - after_s,
        laboratory_pct=15.0,
        laboratory_surprise_pct=surprise_pct,
    )
    evidence = found(seen)
    assert (bool(evidence.laboratory), evidence.doubt) == (overrides, doubt)
    assert evidence.mean_pct == evidence.highest_pct == (15.0 if overrides else 12.0)


def test_a_result_alone_is_no_reading_and_leaves_nothing_unknown():
    seen = bath(filled_s=np.nan, laboratory_s=NOW_S - 60, laboratory_pct=15.0)
    evidence = found(seen)
    assert not evidence.unread
    assert not evidence.unknown
    assert evidence.readings == 1


def test_no_more_readings_are_kept_than_have_something_to_say_beside_those_to_come():
    seen = bath((ROW_S + 1, 10.0, FIT), (ROW_S, 11.0, FIT), (60, 12.0, FIT))
    assert lately(seen, NOW_S, PACKAGED, to_come=1).readings.shape == (1, 1, 3, len(Of))
    assert lately(seen, NOW_S, PACKAGED, to_come=2).readings.shape == (1, 1, 4, len(Of))
    assert lately(bath(), NOW_S, PACKAGED, to_come=1).readings.shape == (1, 1, 2, len(Of))
    both = replace(
        seen,
        **{
            name: np.concatenate([getattr(bath((60, 9.0, FIT)), name), getattr(seen, name)], axis=1)
            for name in ("readings", "refs")
        },
    )
    kept = lately(both, NOW_S, PACKAGED, to_come=1)
    assert kept.readings.shape == (1, 2, 3, len(Of))
    assert kept.refs.shape == (1, 2, 3)


def test_a_belief_rests_on_what_a_meter_read_while_it_was_off_until_a_reading_that_can_be_relied_on():
    seen = bath((300, 10.0, FIT), (200, 11.0, FIT), (100, 12.0, FIT))

    def rests(begins_ago_s, ends_ago_s, of=seen):
        off_s = NOW_S - np.array([[[[begins_ago_s, ends_ago_s]]]])
        return resting(of, off_s)[0, 0, :3].tolist()  # the newest first

    assert rests(100, 50) == [True, False, False]
    assert rests(200, 50) == [True, True, False]
    assert rests(300, 100) == [False, False, False]
    assert rests(301, 99) == [True, True, True]
    doubted = bath((300, 10.0, FIT), (200, 11.0, FIT), (100, 12.0, WET))
    assert rests(200, 150, of=doubted) == [False, True, False]
    sampled = replace(seen, laboratory_s=np.full((1, 1), NOW_S - 150))
    assert rests(200, 50, of=sampled) == [True, False, False]
    assert found(seen, off_s=NOW_S - np.array([[[[100, 50]]]])).meter_off
