"""Combining the components of an error budget."""

import math
from dataclasses import replace

import GTC
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from kettlewell.core.metering.uncertainty import Component, combined

CHECK = (
    Component(name="repeatability of three readings", u=0.3 / math.sqrt(3), dof=2),
    Component(name="resolution", u=0.5 / math.sqrt(12)),
    Component(name="reference value", u=0.5 / 2, sensitivity=-1.0, dof=50),
    Component(name="oil temperature, K", u=2.0, sensitivity=0.05, dof=8),
)
components = st.lists(
    st.builds(
        Component,
        name=st.just("any"),
        u=st.floats(0.01, 10),
        sensitivity=st.floats(0.01, 10) | st.floats(-10, -0.01),
        dof=st.floats(1, 1000) | st.just(math.inf),
    ),
    min_size=1,
    max_size=6,
)


def meter_check(value_of):
    """Return mean reading - reference value + temperature effect, with each input made by ``value_of``."""
    readings, resolution, reference, temp_k = (value_of(component) for component in CHECK)
    return readings + resolution - reference + 0.05 * temp_k


def test_gtc_agrees_with_the_budget_of_a_meter_check():
    result = meter_check(lambda one: GTC.ureal(0, one.u, one.dof))
    ours = combined(CHECK)
    assert ours.u == pytest.approx(GTC.uncertainty(result), rel=1e-12)
    assert ours.dof == pytest.approx(GTC.dof(result), rel=1e-9)
    assert ours.expanded(0.95) == pytest.approx(GTC.rp.k_factor(math.floor(ours.dof)) * ours.u, rel=1e-6)


def test_the_uncertainties_package_agrees_with_the_budget_of_a_meter_check():
    result = meter_check(lambda one: ufloat(0, one.u))
    assert combined(CHECK).u == pytest.approx(result.std_dev, rel=1e-12)


def test_without_doubt_about_the_components_there_is_none_about_the_result():
    known = [replace(one, dof=math.inf) for one in CHECK]
    assert combined(known).dof == math.inf
    assert combined(known).expanded(0.95) == pytest.approx(1.959964 * combined(known).u, rel=1e-6)


def test_a_single_component_keeps_its_own_degrees_of_freedom():
    alone = combined([Component(name="readings", u=0.1, dof=4)])
    assert (alone.u, alone.dof) == pytest.approx((0.1, 4))
    assert alone.expanded(0.95) == pytest.approx(0.1 * 2.776445, rel=1e-6)


def test_certain_components_add_nothing():
    certain = Component(name="a count", u=0.0, dof=1)
    assert combined([*CHECK, certain]) == combined(CHECK)
    assert combined([certain]).expanded(0.95) == 0


@given(components, st.randoms())
def test_the_order_of_the_components_does_not_matter(given_components, random):
    shuffled = random.sample(given_components, len(given_components))
    ours, theirs = combined(given_components), combined(shuffled)
    assert (ours.u, ours.dof) == pytest.approx((theirs.u, theirs.dof))


@given(components, st.floats(0.01, 100))
def test_another_unit_of_the_result_scales_its_uncertainty_alone(given_components, factor):
    scaled = combined([replace(one, sensitivity=factor * one.sensitivity) for one in given_components])
    ours = combined(given_components)
    assert (scaled.u, scaled.dof) == pytest.approx((factor * ours.u, ours.dof))


@given(components)
def test_degrees_of_freedom_lie_between_the_fewest_and_their_sum(given_components):
    dofs = [one.dof for one in given_components]
    assert min(dofs) * (1 - 1e-9) <= combined(given_components).dof <= sum(dofs) * (1 + 1e-9)


@pytest.mark.parametrize("wrong", [{"u": -0.1}, {"u": math.nan}, {"u": math.inf}, {"sensitivity": math.nan}])
def test_an_uncertainty_that_is_none_is_refused_by_name(wrong):
    with pytest.raises(ValueError, match="resolution: the uncertainty must be 0 or more"):
        Component(**{"name": "resolution", "u": 0.1} | wrong)


@pytest.mark.parametrize("dof", [0, 0.5, math.nan])
def test_fewer_than_one_degree_of_freedom_is_refused(dof):
    with pytest.raises(ValueError, match="at least 1 degree of freedom"):
        Component(name="readings", u=0.1, dof=dof)


def test_an_empty_budget_is_refused():
    with pytest.raises(ValueError, match="at least one component"):
        combined([])


@pytest.mark.parametrize("coverage", [0, 1, 1.2])
def test_a_coverage_must_be_a_probability_between_none_and_all(coverage):
    with pytest.raises(ValueError, match="coverage must lie between 0 and 1"):
        combined(CHECK).expanded(coverage)
