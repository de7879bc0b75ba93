"""A meter that shows one figure whatever the oil is not relied on, until it is seen to move."""

import numpy as np
import pytest

from kettlewell.core import assess
from kettlewell.core.belief.walk import walk_to

STEADY = (4, 6, 8, 10)
NEW = (4, 5, 5.5, 6.5)


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
