"""How a meter came from a good check to a failed one."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.core.metering.paths import Found, Path, PathKind

GOOD, FAILED = Found(pct=0.1, u_pct=0.3), Found(pct=-1.9, u_pct=0.2)


def path(kind, **changes):
    return Path(**{"kind": kind, "first": GOOD, "last": FAILED, "days": 28} | changes)


@pytest.mark.parametrize("kind", PathKind)
def test_each_path_begins_and_ends_as_the_checks_found(kind):
    for share, found in ((0.0, GOOD), (1.0, FAILED)):
        there = path(kind).at(share)
        assert (there.pct, there.u_pct) == pytest.approx((found.pct, found.u_pct))
        assert path(kind).below(found.pct, share) == pytest.approx(0.5)


def test_a_steady_drift_is_half_way_in_the_middle_and_surer_there_than_either_check():
    middle = path(PathKind.DRIFT).at(0.5)
    assert middle.pct == pytest.approx(-0.9)
    assert middle.u_pct < 0.2


def test_the_wander_of_a_meter_counts_most_half_way_between_the_checks():
    """A Brownian bridge of 0.03² a day adds 0.03²·28/4 in the middle and nothing at the ends."""
    wandering = path(PathKind.DRIFT)
    assert wandering.at(0.5).u_pct ** 2 == pytest.approx((0.3**2 + 0.2**2) / 4 + 0.03**2 * 7)
    assert wandering.at(1.0).u_pct == pytest.approx(0.2)


def test_a_step_has_happened_by_a_day_with_the_share_of_days_gone_by():
    """Far from both checks' doubt the probability of having fallen is the share itself."""
    assert path(PathKind.STEP).below(-0.9, 0.25) == pytest.approx(0.25, abs=1e-3)


@pytest.mark.parametrize("kind", PathKind)
def test_mean_and_spread_are_those_of_the_probabilities(kind):
    """The moments of the distribution, summed numerically."""
    one = path(kind)
    edges = np.arange(-6, 6, 0.001)
    weights, centres = np.diff(one.below(edges, 0.3)), edges[1:] - 0.0005
    mean = weights @ centres
    assert one.at(0.3).pct == pytest.approx(mean, abs=1e-3)
    assert one.at(0.3).u_pct == pytest.approx(np.sqrt(weights @ (centres - mean) ** 2), abs=1e-3)


@given(st.floats(0, 1), st.floats(0, 1), st.sampled_from(PathKind))
def test_a_meter_that_fell_has_never_less_probably_fallen_later(one, two, kind):
    early, late = sorted((one, two))
    still = path(kind, first=Found(pct=0.0, u_pct=0.2), last=Found(pct=-2.0, u_pct=0.2))
    assert still.below(-1.0, early) <= still.below(-1.0, late) + 1e-9


def test_checks_without_any_doubt_still_give_probabilities():
    certain = path(PathKind.STEP, first=Found(pct=0.0, u_pct=0.0), last=Found(pct=1.0, u_pct=0.0))
    assert certain.below(0.5, 0.4) == pytest.approx(0.6)
