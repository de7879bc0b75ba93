"""What must hold of ageing for any bath, and what general-purpose solvers say of it."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from kettlewell.core.ageing import advance, advance_power_law, hours_to_limit, steady_state

MODELS = [advance, advance_power_law]
FRESH_PCT = 4.0

tpc = st.floats(FRESH_PCT + 0.5, 40)
rate = st.floats(0.05, 2)
hours = st.floats(0.1, 30)
turnover = st.floats(0, 0.1)
curvature = st.floats(-0.8, 0.8)


def balance_slope(p, k, turnover_per_h, bend):
    return k * (1 + bend * (p - FRESH_PCT) / 20) - turnover_per_h * (p - FRESH_PCT)


def power_law_slope(p, k, turnover_per_h, bend):
    n = 2**bend
    return n * k * ((p - FRESH_PCT) / 20) ** (1 - 1 / n) - turnover_per_h * (p - FRESH_PCT)


@pytest.mark.parametrize("rivals", [(advance, balance_slope), (advance_power_law, power_law_slope)])
@given(p=tpc, k=rate, h=hours, f=turnover, bend=curvature)
@settings(max_examples=60)
def test_a_general_solver_of_the_same_equation_agrees(rivals, p, k, h, f, bend):
    model, slope = rivals
    solved = solve_ivp(
        lambda _, y: slope(y, k, f, bend), (0, h), [p], method="DOP853", rtol=1e-10, atol=1e-10
    )
    exact = model(p, k, fresh_tpc_pct=FRESH_PCT, hot_h=h, turnover=f * h, curvature=bend)
    assert exact == pytest.approx(solved.y[0, -1], rel=1e-6)


@pytest.mark.parametrize("model", MODELS)
@given(p=tpc, k=rate, h=hours, f=turnover, bend=curvature)
def test_two_half_stretches_are_one(model, p, k, h, f, bend):
    def stretch(start, part):
        work = {"hot_h": part * h, "turnover": part * f * h}
        return model(start, k, fresh_tpc_pct=FRESH_PCT, curvature=bend, **work)

    assert stretch(stretch(p, 0.5), 0.5) == pytest.approx(stretch(p, 1.0), rel=1e-9)


@given(p=tpc, k=rate, h=hours, f=turnover)
def test_without_curvature_the_rivals_are_one(p, k, h, f):
    ours, rival = (model(p, k, fresh_tpc_pct=FRESH_PCT, hot_h=h, turnover=f * h) for model in MODELS)
    assert rival == pytest.approx(ours, rel=1e-12)


@pytest.mark.parametrize("model", MODELS)
@given(p=tpc, h=hours, f=turnover, bend=curvature)
def test_older_oil_stays_older(model, p, h, f, bend):
    work = {"fresh_tpc_pct": FRESH_PCT, "hot_h": h, "turnover": f * h, "curvature": bend}
    assert model(p + 0.1, 0.5, **work) > model(p, 0.5, **work)


@pytest.mark.parametrize("model", MODELS)
@given(p=tpc, k=rate, h=hours, f=turnover, bend=curvature)
def test_faster_oil_ages_more(model, p, k, h, f, bend):
    assume(1 + bend * (p - FRESH_PCT) / 20 > 0)  # past that the mass balance ages backwards
    work = {"fresh_tpc_pct": FRESH_PCT, "hot_h": h, "turnover": f * h, "curvature": bend}
    assert model(p, k * 1.1, **work) > model(p, k, **work)


@pytest.mark.parametrize("model", MODELS)
@given(p=tpc, k=rate, h=hours, f=turnover, bend=curvature)
def test_more_fresh_oil_leaves_less_tpc(model, p, k, h, f, bend):
    def with_turnover(share):
        return model(p, k, fresh_tpc_pct=FRESH_PCT, hot_h=h, turnover=share * h, curvature=bend)

    assert with_turnover(f + 0.01) < with_turnover(f)


@given(p=tpc, k=rate, h=st.floats(0.1, 2000), f=st.floats(0.001, 0.1), bend=st.floats(-0.8, 0))
def test_oil_nears_the_steady_state_and_never_crosses_it(p, k, h, f, bend):
    at_rest = steady_state(k, fresh_tpc_pct=FRESH_PCT, turnover_per_h=f, curvature=bend)
    after = advance(p, k, fresh_tpc_pct=FRESH_PCT, hot_h=h, turnover=f * h, curvature=bend)
    low, high = sorted((p, float(at_rest)))
    assert low * (1 - 1e-12) <= after <= high * (1 + 1e-12)
    assert abs(at_rest - after) <= abs(at_rest - p)


@given(p=tpc, k=rate, f=turnover, bend=curvature, above=st.floats(0.01, 20))
def test_the_hours_to_a_limit_lead_to_the_limit(p, k, f, bend, above):
    limit = p + above
    left = hours_to_limit(p, k, limit_pct=limit, fresh_tpc_pct=FRESH_PCT, turnover_per_h=f, curvature=bend)
    assume(left < 1e4)
    there = advance(p, k, fresh_tpc_pct=FRESH_PCT, hot_h=left, turnover=f * left, curvature=bend)
    assert there == pytest.approx(limit, rel=1e-6)


@given(p=tpc, k=rate, f=turnover, bend=curvature, above=st.floats(0.01, 20))
def test_a_limit_is_never_reached_just_where_the_steady_state_lies_at_or_below_it(p, k, f, bend, above):
    at_rest = steady_state(k, fresh_tpc_pct=FRESH_PCT, turnover_per_h=f, curvature=bend)
    assume(abs(at_rest - p - above) > 1e-6)
    left = hours_to_limit(
        p, k, limit_pct=p + above, fresh_tpc_pct=FRESH_PCT, turnover_per_h=f, curvature=bend
    )
    assert np.isinf(left) == (at_rest < p + above)
