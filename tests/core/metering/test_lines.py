"""A line through measured points and what it is worth."""

import math

import GTC
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from kettlewell.core.metering.lines import least_squares

REFERENCE = [3.0, 8.0, 14.0, 19.5, 24.0, 31.0]
READ = [3.5, 8.0, 15.0, 20.0, 25.5, 32.0]
points = st.lists(st.tuples(st.integers(-100, 100), st.integers(-100, 100)), min_size=3, max_size=12).filter(
    lambda pairs: len({x for x, _ in pairs}) > 1
)
shifts, factors = st.integers(-50, 50), st.sampled_from([-4, -1, -0.5, 0.25, 2, 10])


def test_scipy_finds_the_same_line():
    theirs = stats.linregress(REFERENCE, READ)
    line = least_squares(REFERENCE, READ).line
    assert (line.slope, line.intercept) == pytest.approx((theirs.slope, theirs.intercept), rel=1e-12)
    assert line.slope_u == pytest.approx(theirs.stderr, rel=1e-12)
    assert math.sqrt(line.covariance[0, 0]) == pytest.approx(theirs.intercept_stderr, rel=1e-12)


def test_gtc_finds_the_same_line_covariance_and_uncertainty_along_it():
    fit = least_squares(REFERENCE, READ)
    intercept, slope = GTC.type_a.line_fit(REFERENCE, READ).a_b
    assert fit.line.covariance[0, 1] == pytest.approx(GTC.get_covariance(intercept, slope), rel=1e-12)
    assert fit.line.value(25.0) == pytest.approx(GTC.value(intercept + 25 * slope), rel=1e-12)
    assert fit.line.value_u(25.0) == pytest.approx(GTC.uncertainty(intercept + 25 * slope), rel=1e-12)
    assert fit.dof == GTC.dof(slope)


def test_one_more_reading_is_less_certain_than_the_line_itself():
    fit = least_squares(REFERENCE, READ)
    assert np.all(fit.reading_u([0, 15, 40]) > fit.line.value_u([0, 15, 40]))
    assert fit.reading_u(15) ** 2 == pytest.approx(fit.line.value_u(15) ** 2 + fit.residual_sd**2)


def test_a_line_is_known_best_in_the_middle_of_its_points():
    line = least_squares(REFERENCE, READ).line
    away = line.value_u(line.x0 + np.array([0, 1, 10, 100]))
    assert np.all(np.diff(away) > 0)
    assert line.value_u(line.x0 - 10) == pytest.approx(away[2])


def test_points_on_a_line_leave_no_doubt():
    fit = least_squares([0, 1, 2, 4], [1, 3, 5, 9])
    assert (fit.line.intercept, fit.line.slope) == pytest.approx((1, 2))
    assert fit.reading_u([0, 10]) == pytest.approx([0, 0], abs=1e-12)


@given(points, st.randoms())
def test_the_order_of_the_points_does_not_matter(pairs, random):
    ours = least_squares(*zip(*pairs, strict=True))
    theirs = least_squares(*zip(*random.sample(pairs, len(pairs)), strict=True))
    assert theirs.line.value([-100, 0, 100]) == pytest.approx(ours.line.value([-100, 0, 100]), abs=1e-9)
    assert theirs.reading_u([-100, 0, 100]) == pytest.approx(ours.reading_u([-100, 0, 100]), abs=1e-9)


@given(points, shifts, factors, shifts, factors)
def test_other_units_move_the_line_with_its_points(pairs, x_shift, x_factor, y_shift, y_factor):
    x, y = np.array(pairs, dtype=float).T
    ours = least_squares(x, y)
    moved = least_squares(x_shift + x_factor * x, y_shift + y_factor * y)
    at = np.array([-100, 0, 100])
    assert moved.line.value(x_shift + x_factor * at) == pytest.approx(
        y_shift + y_factor * ours.line.value(at), rel=1e-9, abs=1e-6
    )
    assert moved.reading_u(x_shift + x_factor * at) == pytest.approx(
        abs(y_factor) * ours.reading_u(at), rel=1e-9, abs=1e-6
    )


@pytest.mark.parametrize(
    ("x", "y", "sentence"),
    [
        ([1, 2], [1, 2], "at least 3 points are needed, not 2"),
        ([], [], "at least 3 points are needed, not 0"),
        ([1, 2, 3], [1, 2], "differ in length"),
        ([1, 2, 3], [1, math.nan, 3], "known and finite"),
        ([1, 2, math.inf], [1, 2, 3], "known and finite"),
        ([0.1, 0.1, 0.1], [1, 2, 3], "all points lie at one x"),
    ],
)
def test_points_that_give_no_line_are_refused_with_a_sentence(x, y, sentence):
    with pytest.raises(ValueError, match=sentence):
        least_squares(x, y)
