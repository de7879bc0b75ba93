"""When to check a meter next."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.metering import drift
from kettlewell.core.metering.drift import checked, unchecked
from kettlewell.core.metering.intervals import drift_interval_days, pass_interval_days

EVERY_FOUR_WEEKS = np.arange(8) * 28.0


def wait_days(days, found_pct, u_pct, **wishes):
    """Return the wait after checks on some days, each as uncertain as the others."""
    drifting = unchecked()
    for gap, one in zip(np.diff(days, prepend=days[0]), found_pct, strict=True):
        drifting = checked(drifting, gap, one, u_pct)
    return drift_interval_days(drifting, checks=len(days), **wishes)


def test_an_interval_with_the_wanted_share_of_passes_stays():
    assert pass_interval_days([True] * 19 + [False], 28, reliability=0.95) == pytest.approx(28)


def test_one_pass_says_too_little_to_move_an_interval():
    assert pass_interval_days([True], 28, reliability=0.95) == pytest.approx(28)


def test_sixty_passes_of_sixty_count_by_how_seldom_they_would_come_at_the_wanted_share():
    """0.95^60 is 4.6 %, so the confidence is 90.8 %: 28·10^(0.908·0.05) = 31.1 days, by hand."""
    assert pass_interval_days([True] * 60, 28, reliability=0.95) == pytest.approx(31.1, abs=0.05)


def test_passes_lengthen_an_interval_and_failures_shorten_it():
    assert pass_interval_days([True] * 60, 28) > 28 > pass_interval_days([False, True] * 5, 28)


def test_a_short_history_moves_an_interval_less_than_a_long_one_of_the_same_share():
    short, long = ([True] * 3 + [False]), ([True] * 30 + [False] * 10)
    assert pass_interval_days(long, 28) < pass_interval_days(short, 28) < 28


@given(st.lists(st.booleans(), min_size=1, max_size=40))
def test_one_failure_more_never_lengthens_an_interval(passed):
    worse = [*passed[:-1], False]
    assert pass_interval_days(worse, 28) <= pass_interval_days([*passed[:-1], True], 28) + 1e-9


@pytest.mark.parametrize(
    ("passed", "days", "reliability"),
    [([], 28, 0.95), ([True], 0, 0.95), ([True], 28, 1.0), ([True], 28, 0.0)],
)
def test_an_interval_from_nothing_or_at_certainty_is_refused(passed, days, reliability):
    with pytest.raises(ValueError, match=r"interval|reliability"):
        pass_interval_days(passed, days, reliability=reliability)


@pytest.mark.parametrize("checks", [1, 2, 3])
def test_before_there_is_history_the_next_check_is_in_28_days(checks):
    assert wait_days(EVERY_FOUR_WEEKS[:checks], [0.0] * checks, 0.35) == 28


def test_a_meter_that_stayed_where_it_was_may_wait_longer_than_28_days():
    assert wait_days(EVERY_FOUR_WEEKS, [0.0] * 8, 0.35) > 56


def test_a_meter_that_wanders_is_checked_sooner_than_one_that_stays():
    wandering = wait_days(EVERY_FOUR_WEEKS, [0.0, 0.5, -0.4, 0.6, -0.5, 0.5, -0.4, 0.0], 0.2)
    steady = wait_days(EVERY_FOUR_WEEKS, [0.0] * 8, 0.2)
    assert wandering < steady


@pytest.mark.parametrize("checks", [1, 8])
def test_a_meter_that_may_well_be_off_already_cannot_wait_a_day(checks):
    assert wait_days(EVERY_FOUR_WEEKS[:checks], [0.9] * checks, 0.35) == 0


def test_no_meter_waits_longer_than_a_year():
    assert wait_days(EVERY_FOUR_WEEKS, [0.0] * 8, 0.1, permissible_pct=50) == 365


def test_too_high_and_too_low_are_waited_on_alike():
    found = np.array([0.1, -0.2, 0.3, 0.2, 0.4])
    days = EVERY_FOUR_WEEKS[:5]
    assert wait_days(days, found, 0.2) == wait_days(days, -found, 0.2)


@given(st.floats(0.5, 0.98), st.floats(0.5, 0.98), st.floats(0.5, 3), st.floats(0.5, 3))
def test_more_reliability_or_a_smaller_permissible_deviation_never_lengthens_the_wait(r1, r2, p1, p2):
    found, days = [0.1, -0.2, 0.3, 0.2], EVERY_FOUR_WEEKS[:4]
    strict = wait_days(days, found, 0.2, permissible_pct=min(p1, p2), reliability=max(r1, r2))
    loose = wait_days(days, found, 0.2, permissible_pct=max(p1, p2), reliability=min(r1, r2))
    assert strict <= loose


def test_with_the_walk_known_the_fit_is_a_gaussian_smoothers_and_the_wait_follows_from_it(monkeypatch):
    """The checks' joint normal distribution, solved at once, gives the same day."""
    monkeypatch.setattr(drift, "WALKS", np.array([1.0]))
    days, found, u = EVERY_FOUR_WEEKS[:5], np.array([0.1, -0.2, 0.3, 0.2, 0.1]), 0.25
    walk_var = PACKAGED.meter_walk.sd**2
    prior = 1e4 + walk_var * np.minimum.outer(days, days)
    gain = prior[-1] @ np.linalg.inv(prior + u**2 * np.eye(5))
    mean, var = gain @ found, prior[-1, -1] - gain @ prior[-1]
    ahead = np.arange(1, 366)
    sd = np.sqrt(var + walk_var * ahead)
    off = stats.norm.sf((1 - mean) / sd) + stats.norm.cdf((-1 - mean) / sd)
    assert wait_days(days, found, u) == np.sum(off <= 0.05)


def test_meters_are_within_the_permissible_deviation_at_the_end_of_their_wait_as_often_as_wanted():
    """Nine in ten of those that could wait, and not a whole year; their walks are as the prior has them."""
    rng = np.random.default_rng(9)
    within = [kept for kept in (still_within(rng) for _ in range(1000)) if kept is not None]
    assert len(within) > 400
    assert 0.87 <= np.mean(within) <= 0.93


def still_within(rng):
    """Whether a meter is still within a point after its wait; None for no wait and for a whole year."""
    walk_sd = PACKAGED.meter_walk.sd * np.exp(rng.normal(0, 0.8))
    levels = rng.normal(0, 0.2) + np.cumsum(rng.normal(0, walk_sd * np.sqrt(28), 8))
    found = levels + rng.normal(0, 0.25, 8)
    days = wait_days(EVERY_FOUR_WEEKS, found, 0.25, reliability=0.9)
    reached_end = 0 < days < 365
    return abs(levels[-1] + rng.normal(0, walk_sd * np.sqrt(days))) <= 1 if reached_end else None


@pytest.mark.parametrize("wrong", [{"permissible_pct": 0.0}, {"reliability": 1.0}])
def test_a_wish_that_cannot_be_met_is_refused(wrong):
    with pytest.raises(ValueError, match="must"):
        wait_days([0.0], [0.1], 0.2, **wrong)
