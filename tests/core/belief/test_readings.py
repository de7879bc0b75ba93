"""Doubted readings: what bears them out, and what ends the doubt."""

import pytest

from kettlewell.book import Change

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
