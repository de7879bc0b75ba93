"""The mass balance and its rival at their edges."""

import numpy as np
import pytest

from kettlewell.core.ageing import advance, advance_power_law, hours_to_limit, steady_state

MODELS = [advance, advance_power_law]


@pytest.mark.parametrize("model", MODELS)
def test_an_idle_bath_does_not_age(model):
    assert model(11.0, 0.5, fresh_tpc_pct=4, hot_h=0, turnover=0, curvature=0.3) == pytest.approx(11)


@pytest.mark.parametrize("model", MODELS)
def test_fresh_oil_alone_dilutes_what_has_aged(model):
    """Oil added all the while, equal to the bath: exp(-1) of what was above fresh stays."""
    tpc_pct = model(14.0, 0.0, fresh_tpc_pct=4, hot_h=5, turnover=1.0)
    assert tpc_pct == pytest.approx(4 + 10 * np.exp(-1))


@pytest.mark.parametrize("model", MODELS)
def test_one_call_takes_a_whole_batch(model):
    rates = np.array([[0.2], [0.5]])
    hours = np.array([1.0, 2.0, 3.0])
    tpc_pct = model(4.0, rates, fresh_tpc_pct=4, hot_h=hours, turnover=0.01 * hours, curvature=-0.2)
    assert tpc_pct.shape == (2, 3)
    alone = model(4.0, 0.5, fresh_tpc_pct=4, hot_h=2.0, turnover=0.02, curvature=-0.2)
    assert tpc_pct[1, 1] == pytest.approx(alone)


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize(("curvature", "bends"), [(-0.4, "concave"), (0.0, "straight"), (0.4, "convex")])
def test_the_sign_of_the_curvature_says_how_the_course_bends(model, curvature, bends):
    course = model(6.0, 0.5, fresh_tpc_pct=4, hot_h=[0, 10, 20], turnover=0, curvature=curvature)
    first, second = np.diff(course)
    if bends == "straight":
        assert second == pytest.approx(first)
    else:
        assert (second < first) == (bends == "concave")


@pytest.mark.parametrize(("curvature", "exponent"), [(-1.0, 0.5), (0.0, 1.0), (1.0, 2.0)])
def test_the_rival_follows_a_power_of_the_work_with_exponent_two_to_the_curvature(curvature, exponent):
    """From fresh, 20 (t/τ)^n with τ = 40 h at 0.5 points an hour."""
    hours = np.array([5.0, 10.0, 40.0])
    tpc_pct = advance_power_law(4, 0.5, fresh_tpc_pct=4, hot_h=hours, turnover=0, curvature=curvature)
    np.testing.assert_allclose(tpc_pct, 4 + 20 * (hours / 40) ** exponent)


def test_the_rival_takes_oil_below_fresh_for_fresh():
    below, fresh = advance_power_law([3.0, 4.0], 0.5, fresh_tpc_pct=4, hot_h=3, turnover=0, curvature=0.2)
    assert below == fresh


def test_at_the_limit_no_hours_are_left():
    hours = hours_to_limit([23.9, 24, 30], 0.5, limit_pct=24, fresh_tpc_pct=4, turnover_per_h=0)
    np.testing.assert_allclose(hours, [0.2, 0, 0])


@pytest.mark.parametrize("rate_pct_per_h", [0.0, -0.1])
def test_oil_that_does_not_age_never_reaches_the_limit(rate_pct_per_h):
    assert hours_to_limit(5, rate_pct_per_h, limit_pct=24, fresh_tpc_pct=4, turnover_per_h=0.01) == np.inf


def test_strong_concavity_alone_can_hold_oil_below_the_limit():
    """k (1 - 2 (p - p0) / 20) is nought at p0 + 10."""
    at_rest = steady_state(0.5, fresh_tpc_pct=4, turnover_per_h=0, curvature=-2)
    assert at_rest == pytest.approx(14)
    hours = hours_to_limit(4, 0.5, limit_pct=[13.9, 14.1], fresh_tpc_pct=4, turnover_per_h=0, curvature=-2)
    assert np.isfinite(hours).tolist() == [True, False]


def test_without_turnover_straight_ageing_has_no_steady_state():
    assert steady_state(0.5, fresh_tpc_pct=4, turnover_per_h=0) == np.inf
