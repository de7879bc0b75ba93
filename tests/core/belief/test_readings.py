"""Doubted readings: what bears them out, and what ends the doubt."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from kettlewell.book import Change, LabResult
from kettlewell.core.belief.seen import Of
from kettlewell.core.belief.walk import walk_to

STEADY = (4, 6, 8, 10)


def test_a_change_ends_the_doubt_of_the_fill_before_it(told, book, at, read):
    """A wet reading, a change, and another wet reading as far above fresh oil: nothing bears that one out."""
    wet = read(4, "09:00", 20)
    entries = [*book(*STEADY), wet, Change(at=at(4, "09:10"), fryer="big"), read(4, "09:20", 12.5)]
    after = told(entries, at(4, "09:30"))
    surprises = [told(entries, at(4, clock)).tpc_mean_pct for clock in ("08:59", "09:15")]
    assert 20 - surprises[0] == pytest.approx(12.5 - surprises[1], abs=1.5)  # else it would prove nothing
    assert after.verdict.key == "measure_again"
    assert after.tpc_mean_pct < 8


def test_two_readings_that_surprise_alike_are_believed(told, book, at, read):
    entries = [*book(*STEADY), read(4, "09:00", 20), read(4, "09:10", 20.5)]
    assert told(entries, at(4, "09:30")).tpc_mean_pct > 17


@pytest.mark.parametrize(
    "badly", [{"sound": False}, {"oil_temp_c": 20.0}, {"oil_temp_c": 39.0}], ids=["unsound", "cold", "cool"]
)
def test_a_reading_that_says_little_itself_bears_out_no_doubted_one(told, book, at, read, badly):
    """Its own uncertainty is points, so that it would agree with anything."""
    entries = [*book(*STEADY), read(4, "09:00", 20)]
    once = told(entries, at(4, "09:30")).tpc_mean_pct
    twice = told([*entries, read(4, "09:10", 20.5, **badly)], at(4, "09:30")).tpc_mean_pct
    assert once < 15
    assert twice == pytest.approx(once, abs=1.5)


@pytest.mark.parametrize(("hours", "teaches"), [(0.0, True), (24.0, True), (24.5, False)])
def test_a_reading_beside_a_laboratory_result_teaches_how_the_meter_reads_the_oil(
    kitchen, book, read, at, hours, teaches
):
    sample = LabResult(at=at(3, "10:00"), fryer="big", tpc_pct=10.0)
    when = at(3, "10:00") + timedelta(hours=hours)
    reading = replace(read(3, "10:00", 11.0), at=when)
    without, after = (
        walk_to(kitchen, [*book(*STEADY), sample, *of], now=when).state.belief for of in ([], [reading])
    )
    gains = without.layout.gains
    moved = np.abs(after.shared[:, gains] - without.shared[:, gains]).max()
    assert bool(moved > 1e-6) is teaches


def test_a_doubted_reading_is_no_sound_one_and_one_of_another_bath_says_nothing(kitchen, book, read, at):
    wet, other = read(4, "09:00", 30), read(4, "09:30", 4.5, fryer="small")
    before = [*book(*STEADY), *book(4, fryer="small"), read(4, "08:00", 3.0, sound=False)]
    for entry in (read(4, "09:00", 5), other):
        seen = walk_to(kitchen, [*before, entry], now=at(4, "10:00")).state.seen
        assert seen.sound_s[0, 0] == at(3, "09:00").timestamp()
    seen = walk_to(kitchen, [*before, wet], now=at(4, "10:00")).state.seen
    assert seen.sound_s[0, 0] == at(4, "09:00").timestamp()


def test_a_doubted_reading_takes_no_weight_from_one_of_another_bath(kitchen, book, read, at):
    """Read in one round."""
    before = [*book(*STEADY), *book(*STEADY, fryer="small"), read(4, "09:00", 12)]

    def sd(*entries):
        return float(
            walk_to(kitchen, [*before, *entries], now=at(4, "09:05")).state.belief.own_cov[0, 0, 0, 0]
        )

    alone, beside = sd(), sd(read(4, "09:02", 25, fryer="small"))
    assert beside == pytest.approx(alone, rel=0.02)


def test_a_reading_too_high_to_be_believed_is_remembered_until_the_next(kitchen, book, read, at):
    high, again = read(4, "09:00", 22), read(4, "09:08", 22)

    def pending(*entries):
        return walk_to(kitchen, [*book(*STEADY), *entries], now=at(4, "09:30")).state.belief.pending[0, 0]

    assert pending(high) > 5
    assert np.isnan(pending(high, again))
    assert np.isnan(pending(read(4, "09:00", 12)))


@pytest.mark.parametrize(
    ("low_pct", "changed"),
    [
        ((5, 5), True),
        ((5, 5, 7), True),
        ((5,), False),
        ((5, 9), False),
        ((5, 5, 9), False),
        ((5, 5, 12), False),
    ],
)
def test_a_change_is_concluded_where_every_low_reading_of_an_occasion_agrees(
    kitchen, book, read, at, low_pct, changed
):
    """One that stands elsewhere leaves it open, however many agree, in any order."""
    for order in (low_pct, low_pct[::-1]):
        lows = [read(6, f"09:{10 + 2 * n}", pct) for n, pct in enumerate(order)]
        seen = walk_to(kitchen, [*book(4, 7, 10, 13, 16, 19), *lows], now=at(6, "09:30")).state.seen
        assert (seen.readings[0, 0, : len(order), Of.CHANGED] == 1).any() == changed
