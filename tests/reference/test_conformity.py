"""Conformity decisions against the worked figures of JCGM 106:2012 and its kin."""

import pytest
from scipy import stats

from kettlewell.book import Oil, OilKind
from kettlewell.core.limits import (
    acceptance_limit,
    conformity_probability,
    coverage_factor,
    passing_probability,
)
from kettlewell.core.limits.global_risk import global_risks
from kettlewell.core.limits.polymers import line_of


@pytest.mark.parametrize(
    ("confidence", "factor"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
)
def test_one_sided_coverage_factors(confidence: float, factor: float) -> None:
    """JCGM 106:2012, one-sided coverage factors as printed."""
    assert coverage_factor(1 - confidence) == pytest.approx(factor, abs=0.005)


def test_one_limit() -> None:
    """y -5.47, u 0.05, upper limit -5.40 conforms with 0.9192 (JCGM 106:2012; data from memory)."""
    assert 1 - passing_probability(-5.47, 0.05, -5.40) == pytest.approx(0.9192, abs=5e-5)


def test_two_limits() -> None:
    """y 13.6, u 1.8, limits 12.5 and 16.3 conforms with 0.6626 (JCGM 106:2012; data from memory)."""
    assert conformity_probability(13.6, 1.8, lower=12.5, upper=16.3) == pytest.approx(0.6626, abs=5e-5)


@pytest.mark.parametrize(
    ("acceptance", "consumer", "producer"),
    [((1499.82, 1500.18), 0.009878, 0.069027), ((1499.8, 1500.2), 0.018942, 0.037208)],
)
def test_global_risks(acceptance: tuple[float, float], consumer: float, producer: float) -> None:
    """Resistors N(1500, 0.12²) measured with u 0.04 against 1499.8-1500.2 (JCGM 106:2012, 9.5)."""
    risks = global_risks(1500, 0.12, u=0.04, tolerance=(1499.8, 1500.2), acceptance=acceptance)
    assert risks.consumer == pytest.approx(consumer, abs=5e-7)
    assert risks.producer == pytest.approx(producer, abs=5e-7)


def test_global_risks_of_one_sided_limits_are_bivariate_normal_probabilities() -> None:
    """SciPy's bivariate normal distribution gives the same two risks."""
    risks = global_risks(22, 2, u=1, tolerance=(float("-inf"), 25), acceptance=(float("-inf"), 23.4))
    joint = stats.multivariate_normal([22, 22], [[4, 4], [4, 5]]).cdf([25, 23.4])
    assert risks.consumer == pytest.approx(stats.norm(22, 5**0.5).cdf(23.4) - joint, abs=1e-5)
    assert risks.producer == pytest.approx(stats.norm(22, 2).cdf(25) - joint, abs=1e-5)


@pytest.mark.parametrize(
    ("tpc_pct", "conforms"),
    [(22, 0.9987), (23, 0.9772), (24, 0.8413), (24.5, 0.6915), (25, 0.5), (25.5, 0.3085)],
)
def test_polar_compounds_against_25_percent(tpc_pct: float, conforms: float) -> None:
    """Normal distribution with u 1 (JCGM 106:2012, 7.3; figures recomputed independently)."""
    assert 1 - passing_probability(tpc_pct, 1, 25) == pytest.approx(conforms, abs=5e-5)


@pytest.mark.parametrize(("u_pct", "accepted_pct"), [(0.5, 24.178), (1, 23.355), (2, 21.710)])
def test_acceptance_limit_below_25_percent(u_pct: float, accepted_pct: float) -> None:
    """25 - 1.645u, guarded acceptance at 5 % (JCGM 106:2012, 8.3.2)."""
    assert acceptance_limit(25, u_pct, 0.05) == pytest.approx(accepted_pct, abs=6e-4)


def test_few_degrees_of_freedom_widen_the_guard_band() -> None:
    """One-sided 1 % at 4 degrees of freedom needs 3.75u instead of 2.33u (Student's t)."""
    assert coverage_factor(0.01, dof=4) == pytest.approx(3.75, abs=0.005)
    assert acceptance_limit(25, 1, 0.01, dof=4) == pytest.approx(25 - 3.75, abs=0.005)


def test_sunflower_line_holds_a_second_study_within_two_standard_uncertainties() -> None:
    """Bastida & Sánchez-Muniz (JAOCS): 10 % oligomers at frying 15.0 and 25 % TPC at 22.5.

    With the square root their olive oil follows (19.7 % at 20, 25 % at 32.2) that is
    25 √(15.0/22.5) = 20.4 % TPC. Our line is the mean of this and of another paper
    (15 % at 25 % TPC, Forum Nutr. 56, 2003).
    """
    tpc_pct, u_pct = line_of(Oil(key="oil", name="Oil", kind=OilKind.SUNFLOWER)).tpc_pct(10)
    assert abs(tpc_pct - 25 * (15.0 / 22.5) ** 0.5) < 2 * u_pct
