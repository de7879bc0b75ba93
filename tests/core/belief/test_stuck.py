"""A meter that shows one figure whatever the oil is not relied on, until it is seen to move."""

from dataclasses import replace

import numpy as np
import pytest

from kettlewell.core import assess
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.seen import nothing_seen
from kettlewell.core.belief.stuck import echoed, stuck
from kettlewell.core.belief.walk import walk_to

STEADY = (4, 6, 8, 10)
NEW = (4, 5, 5.5, 6.5)
NOW_S, HOUR_S = 1e9, 3600.0
OCCASION_S = 60 * PACKAGED.occasion_min.value
ROUND_S = HOUR_S * PACKAGED.one_round_h.value
RISE_PCT = PACKAGED.expected_rise.value
ASKED = int(PACKAGED.same_figures.value)


@pytest.fixture
def round_of(book, read):
    """Give a steady book of both fryers, and a round on the fifth morning that shows these figures."""

    def entries(big_pct, small_pct):
        before = [*book(*STEADY), *book(*NEW, fryer="small")]
        return [*before, read(4, "09:00", big_pct), read(4, "09:02", small_pct, fryer="small")]

    return entries


def doubts(assessment):
    """Return what is asked about readings."""
    return [flag.kind for flag in assessment.flags]


def test_two_baths_that_show_one_figure_where_one_should_not_make_the_meter_doubtful(
    told, round_of, read, at
):
    """Whatever it shows next moves nothing, and it is to be measured again."""
    entries, now = round_of(12, 12), at(5, "09:30")
    shown = [told([*entries, read(5, "09:00", pct)], now) for pct in (8, 12, 13.5, 19)]
    assert {one.verdict.key for one in shown} == {"measure_again"}
    assert all("same_figure" in doubts(one) for one in shown)
    assert np.ptp([one.tpc_mean_pct for one in shown]) < 1e-3


def test_two_baths_that_show_one_figure_as_expected_say_nothing_of_the_meter(told, book, read, at):
    entries = [*book(*STEADY), *book(*STEADY, fryer="small"), read(4, "09:00", 12)]
    assert "same_figure" not in doubts(told(entries, at(4, "09:30")))


def test_a_round_that_shows_two_figures_ends_the_doubt(told, round_of, read, at):
    moves = [read(5, "09:00", 13.5), read(5, "09:02", 8.5, fryer="small")]
    entries = [*round_of(12, 12), *moves, read(6, "09:00", 15)]
    assert "same_figure" not in doubts(told(entries, at(6, "09:30")))


def test_a_check_in_reference_oil_ends_the_doubt(checking, round_of, read, checked, at):
    entries, now = [*round_of(12, 12), read(5, "09:00", 13.5)], at(5, "09:30")
    found = [assess(checking, [*entries, *of], now=now, of=["big"]) for of in ([], [checked(5, 0.0)])]
    assert ["same_figure" in doubts(one) for (one,) in found] == [True, False]


def test_the_card_tells_the_same_of_a_doubtful_meter(told, round_of, read, at):
    entries, now = round_of(12, 12), at(5, "09:30")
    lines = told(entries, now).card.lines
    for pct in (0.0, 8.0, 12.0, 13.5, 19.0, 30.0):
        line = next(each for each in lines if each.to_pct is None or pct < each.to_pct)
        after = told([*entries, read(5, "09:30", pct)], now)
        assert after.verdict.key == line.key, pct


def test_a_figure_that_another_bath_just_showed_tells_of_no_change(kitchen, book, read, at):
    """Twice as low as fresh oil: else it would have been changed, and nobody wrote it down."""
    low = [read(6, "09:10", 5), read(6, "09:14", 5)]
    before = [*book(4, 7, 10, 13, 16, 19), *book(4, 4.5, fryer="small")]

    def filled(*entries):
        seen = walk_to(kitchen, [*before, *entries], now=at(6, "09:30")).state.seen
        return seen.count[0, 0] == len(low)

    assert filled(*low)
    assert not filled(read(6, "09:08", 5, fryer="small"), *low)
    assert filled(read(6, "09:08", 5.5, fryer="small"), *low)


def seen_of(*baths):
    """Return what is seen of baths: readings (seconds ago, %, meter, innovation), the newest first."""
    seen = nothing_seen((1, len(baths)))
    rows = seen.readings.copy()
    for i, readings in enumerate(baths):
        for n, (ago_s, pct, meter, innovation) in enumerate(readings):
            rows[0, i, n] = NOW_S - ago_s, pct, np.nan, meter, innovation, 0, 0
    return replace(seen, readings=rows)


def is_stuck(*baths, checked_s=(-np.inf, -np.inf), meter=0):
    meters = np.full((1, len(baths)), meter, np.intp)
    return stuck(seen_of(*baths), meters, np.array([checked_s]), PACKAGED)[0].tolist()


def same(number, *, apart_s=2 * OCCASION_S, rise_pct=1.5 * RISE_PCT, pct=9.0, meter=0):
    return [(n * apart_s, pct, meter, -rise_pct / number) for n in range(number)]


def test_so_many_same_figures_are_a_stuck_meter_that_the_next_would_be_as_many_as_are_asked_about():
    assert is_stuck(same(ASKED - 1)) == [True]
    assert is_stuck(same(ASKED - 2)) == [False]
    assert is_stuck(same(ASKED), meter=1) == [False]
    assert is_stuck([*same(1, pct=9.5), *same(ASKED)[1:]]) == [False]
    assert is_stuck([*same(ASKED - 2), *same(ASKED, pct=9.5)[ASKED - 2 :]]) == [False]


def test_only_oil_that_should_have_risen_makes_the_same_figure_odd():
    assert is_stuck(same(ASKED - 1, rise_pct=RISE_PCT * 1.01)) == [True]
    assert is_stuck(same(ASKED - 1, rise_pct=RISE_PCT * 0.99)) == [False]
    assert is_stuck(same(ASKED - 1, rise_pct=-3 * RISE_PCT)) == [False]


def test_readings_of_one_occasion_count_once():
    assert is_stuck(same(ASKED - 1, apart_s=OCCASION_S)) == [True]
    assert is_stuck(same(ASKED - 1, apart_s=OCCASION_S - 1)) == [False]


def test_readings_before_and_at_the_last_check_say_nothing():
    readings = same(ASKED - 1)
    oldest_s = NOW_S - readings[-1][0]
    assert is_stuck(readings, checked_s=(oldest_s - 1, -np.inf)) == [True]
    assert is_stuck(readings, checked_s=(oldest_s, -np.inf)) == [False]
    assert is_stuck(readings, checked_s=(-np.inf, NOW_S)) == [True]


def test_a_round_that_shows_one_figure_far_from_one_bath_is_a_stuck_meter_for_every_bath():
    far, near = [(0, 9.0, 0, 1.01 * RISE_PCT)], [(ROUND_S - 1, 9.0, 0, 0.0)]
    assert is_stuck(far, near) == [True, True]
    assert is_stuck(far, near, meter=1) == [False, False]
    assert is_stuck([(0, 9.0, 0, -1.01 * RISE_PCT)], near) == [True, True]
    assert is_stuck([(0, 9.0, 0, RISE_PCT)], near) == [False, False]
    assert is_stuck(far, [(ROUND_S, 9.0, 0, 0.0)]) == [False, False]
    assert is_stuck(far, [(ROUND_S - 1, 9.5, 0, 0.0)]) == [False, False]
    assert is_stuck(far, [(ROUND_S - 1, 9.0, 1, 0.0)]) == [False, False]
    assert is_stuck(far) == [False]
    other_meter = [(0, 20.0, 1, 2 * RISE_PCT)]
    assert is_stuck([(0, 9.0, 0, RISE_PCT)], near, other_meter) == [False] * 3
    third = [(ROUND_S - 2, 9.5, 0, 0.0)]
    assert is_stuck(far, near, third) == [False] * 3
    assert is_stuck(far, near, [(ROUND_S, 9.5, 0, 0.0)]) == [True] * 3


def test_a_round_before_a_check_says_nothing():
    far, near = [(0, 9.0, 0, 2 * RISE_PCT)], [(600, 9.0, 0, 0.0)]
    assert is_stuck(far, near, checked_s=(NOW_S - 601, -np.inf)) == [True, True]
    assert is_stuck(far, near, checked_s=(NOW_S - 600, -np.inf)) == [False, False]


def test_a_figure_is_echoed_within_a_round_by_the_same_meter_in_another_bath():
    def is_echoed(ago_s=60.0, pct=9.0, meter=0.0, *, own=False):
        shown = np.array([[pct], [NOW_S - ago_s], [meter]])
        return bool(echoed(np.array([9.0, NOW_S, 0.0]), shown, np.array([own]), PACKAGED))

    assert is_echoed()
    assert is_echoed(ago_s=0.0)
    assert is_echoed(ago_s=ROUND_S - 1)
    assert not is_echoed(ago_s=ROUND_S)
    assert not is_echoed(ago_s=-1.0)
    assert not is_echoed(pct=9.5)
    assert not is_echoed(meter=1.0)
    assert not is_echoed(own=True)
