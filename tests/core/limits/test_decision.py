"""Properties of the decision against an uncertain value."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.book import Force, Judges, Limit
from kettlewell.core.limits import (
    acceptance_limit,
    accepted_risk,
    conformity_probability,
    coverage_factor,
    passing_probability,
)
from kettlewell.core.limits.global_risk import global_risks

tpc = st.floats(0, 40)
u = st.floats(0.01, 5)
risk = st.floats(0.001, 0.5)


@given(tpc, st.floats(0, 10), u, tpc)
def test_passing_probability_never_falls_as_the_mean_rises(
    mean: float, step: float, sd: float, limit: float
) -> None:
    assert passing_probability(mean + step, sd, limit) >= passing_probability(mean, sd, limit)


@given(st.floats(0.01, 10), u, st.floats(1, 5))
def test_more_doubt_raises_the_probability_below_the_limit_and_lowers_it_above(
    distance: float, sd: float, factor: float
) -> None:
    below, above = 24 - distance, 24 + distance
    assert passing_probability(below, sd * factor, 24) >= passing_probability(below, sd, 24)
    assert passing_probability(above, sd * factor, 24) <= passing_probability(above, sd, 24)


@given(tpc, u, risk)
def test_a_value_at_the_acceptance_limit_passes_the_limit_with_just_the_accepted_risk(
    limit: float, sd: float, alpha: float
) -> None:
    at = acceptance_limit(limit, sd, alpha)
    assert passing_probability(at, sd, limit) == pytest.approx(alpha, rel=1e-6)


@given(tpc, u, tpc)
def test_conforming_and_passing_share_out_the_whole(mean: float, sd: float, limit: float) -> None:
    whole = conformity_probability(mean, sd, upper=limit) + passing_probability(mean, sd, limit)
    assert whole == pytest.approx(1)


@given(tpc, u, u)
def test_doubt_about_the_limit_counts_as_doubt_about_the_value(
    mean: float, sd: float, limit_u: float
) -> None:
    shared = passing_probability(mean, sd, 24, limit_u=limit_u)
    assert shared == pytest.approx(float(passing_probability(mean, np.hypot(sd, limit_u), 24)))


def test_without_uncertainty_the_answer_is_certain_except_at_the_limit_itself() -> None:
    assert passing_probability([23, 24, 25], 0, 24).tolist() == [0, 0.5, 1]


def test_arguments_broadcast() -> None:
    assert passing_probability(np.full((3, 1), 22.0), np.ones((1, 4)), 24).shape == (3, 4)


@given(st.floats(1, 100), st.floats(0.001, 0.4))
def test_few_degrees_of_freedom_never_narrow_the_guard_band(dof: float, alpha: float) -> None:
    assert coverage_factor(alpha, dof=dof) >= coverage_factor(alpha) - 1e-9


@given(st.floats(20, 26), st.floats(0.05, 3), st.floats(0.01, 3), st.floats(0, 3))
def test_a_guard_band_trades_consumer_risk_for_producer_risk(
    mean: float, sd: float, measured_u: float, guard: float
) -> None:
    wide = global_risks(mean, sd, u=measured_u, tolerance=(0, 25), acceptance=(0, 25))
    guarded = global_risks(mean, sd, u=measured_u, tolerance=(0, 25), acceptance=(0, 25 - guard))
    assert guarded.consumer <= wide.consumer + 1e-8
    assert guarded.producer >= wide.producer - 1e-8


def test_a_process_that_never_conforms_has_only_consumer_risk() -> None:
    risks = global_risks(100, 1, u=1, tolerance=(0, 25), acceptance=(0, 110))
    assert risks.consumer == pytest.approx(1)
    assert risks.producer == 0


@pytest.mark.parametrize("force", [Force.BINDING, Force.GUIDANCE])
def test_simple_acceptance_is_not_to_be_had_outside_house_limits(force: Force) -> None:
    limit = _limit(force)
    assert accepted_risk(limit, 0.5) == 0.05
    assert accepted_risk(limit, 0.01) == 0.01


def test_a_house_limit_takes_the_kitchens_own_risk() -> None:
    assert accepted_risk(_limit(Force.HOUSE), 0.3) == 0.3


@pytest.mark.parametrize(
    ("ask", "complaint"),
    [
        (lambda: passing_probability(22, -1, 24), "negative"),
        (lambda: passing_probability(22, 1, 24, limit_u=-1), "negative"),
        (lambda: conformity_probability(22, -1, upper=24), "negative"),
        (lambda: acceptance_limit(24, -1, 0.05), "negative"),
        (lambda: coverage_factor(0), "risk"),
        (lambda: coverage_factor(0.05, dof=0), "degrees of freedom"),
        (lambda: global_risks(22, 0, u=1, tolerance=(0, 25), acceptance=(0, 25)), "above 0"),
    ],
)
def test_impossible_arguments_are_refused(ask: Callable[[], object], complaint: str) -> None:
    with pytest.raises(ValueError, match=complaint):
        ask()


def _limit(force: Force) -> Limit:
    return Limit(
        jurisdiction="XX",
        judges=Judges.OIL,
        quantity="total polar compounds",
        unfit_when=">",
        value=24,
        unit="% m/m",
        force=force,
    )
