"""Two instruments compared on the same oils."""

import math

import GTC
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from kettlewell.core.metering.comparison import agreement, deming, york

LABORATORY = np.array([4.1, 9.6, 13.2, 18.8, 21.5, 24.9, 29.3])
METER = np.array([5.5, 9.0, 14.5, 20.0, 21.5, 27.0, 30.5])
LABORATORY_U = np.array([0.3, 0.4, 0.4, 0.6, 0.6, 0.8, 1.0])
METER_U = np.array([0.9, 0.7, 0.7, 0.6, 0.7, 0.8, 1.2])
PAIRS = (LABORATORY, METER)
US = {"x_u": LABORATORY_U, "y_u": METER_U}
AT = np.array([0.0, 15.0, 25.0])
shifts, factors = st.integers(-50, 50), st.sampled_from([-4, -1, -0.5, 0.25, 2, 10])


def test_yorks_line_is_the_one_from_which_the_pairs_lie_least_far():
    """SciPy minimises the same sum over intercept and slope."""

    def distance(line):
        miss = METER - line[0] - line[1] * LABORATORY
        return np.sum(miss**2 / (METER_U**2 + line[1] ** 2 * LABORATORY_U**2))

    best = optimize.minimize(distance, [0, 1], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12})
    ours = york(*PAIRS, **US)
    assert (ours.line.intercept, ours.line.slope) == pytest.approx(best.x, rel=1e-6)
    assert ours.misfit**2 * ours.dof == pytest.approx(best.fun, rel=1e-9)


def test_gtc_finds_yorks_line_and_nearly_its_uncertainty():
    """Its total least squares (Krystek & Anton 2011) take the covariance at the readings themselves."""
    line = york(*PAIRS, **US).line
    intercept, slope = GTC.type_a.line_fit_wtls(*PAIRS, LABORATORY_U, METER_U).a_b
    assert (line.intercept, line.slope) == pytest.approx((GTC.value(intercept), GTC.value(slope)), rel=1e-5)
    assert line.slope_u == pytest.approx(GTC.uncertainty(slope), rel=0.03)
    assert math.sqrt(line.covariance[0, 0]) == pytest.approx(GTC.uncertainty(intercept), rel=0.03)


def test_with_a_nearly_certain_x_york_weighs_as_gtc_does_for_a_known_one():
    line = york(*PAIRS, x_u=np.full(7, 1e-9), y_u=METER_U).line
    intercept, slope = GTC.type_a.line_fit_wls(LABORATORY, METER, METER_U).a_b
    assert (line.intercept, line.slope) == pytest.approx((GTC.value(intercept), GTC.value(slope)), rel=1e-9)
    assert line.slope_u == pytest.approx(GTC.uncertainty(slope), rel=1e-9)
    assert line.covariance[0, 1] == pytest.approx(GTC.get_covariance(intercept, slope), rel=1e-9)


@pytest.mark.parametrize("variance_ratio", [0.04, 1.0, 25.0])
def test_demings_line_is_orthogonal_regression_in_units_of_the_errors(variance_ratio):
    """The direction of most spread by singular value decomposition, y counted in units that err as x does."""
    unit = math.sqrt(variance_ratio)
    centred = np.column_stack([LABORATORY - LABORATORY.mean(), (METER - METER.mean()) / unit])
    along = np.linalg.svd(centred)[2][0]
    line = deming(*PAIRS, variance_ratio=variance_ratio).line
    assert line.slope == pytest.approx(unit * along[1] / along[0], rel=1e-12)
    assert line.value(LABORATORY.mean()) == pytest.approx(METER.mean())


def test_deming_is_york_with_errors_as_large_as_the_scatter_shows():
    ours = deming(*PAIRS, variance_ratio=4)
    theirs = york(*PAIRS, x_u=np.full(7, ours.misfit), y_u=np.full(7, 2 * ours.misfit))
    assert theirs.misfit == pytest.approx(1)
    assert theirs.line.value(AT) == pytest.approx(ours.line.value(AT), rel=1e-9)
    assert theirs.line.value_u(AT) == pytest.approx(ours.line.value_u(AT), rel=1e-9)


def test_either_instrument_may_come_first():
    """Swapped, the same line is read the other way; least squares would give another one."""
    there, back = york(*PAIRS, **US), york(METER, LABORATORY, x_u=METER_U, y_u=LABORATORY_U)
    assert back.line.value(there.line.value(AT)) == pytest.approx(AT, abs=1e-9)
    assert back.misfit == pytest.approx(there.misfit)
    there, back = deming(*PAIRS, variance_ratio=4), deming(METER, LABORATORY, variance_ratio=1 / 4)
    assert back.line.value(there.line.value(AT)) == pytest.approx(AT, abs=1e-9)


@given(st.permutations(range(7)))
def test_the_order_of_the_pairs_does_not_matter(order):
    ours, theirs = (
        york(*PAIRS, **US),
        york(*(a[order] for a in PAIRS), **{k: u[order] for k, u in US.items()}),
    )
    assert theirs.line.value(AT) == pytest.approx(ours.line.value(AT), rel=1e-9)
    assert theirs.line.value_u(AT) == pytest.approx(ours.line.value_u(AT), rel=1e-9)
    ours, theirs = agreement(*PAIRS), agreement(*(a[order] for a in PAIRS))
    assert (theirs.lower, theirs.upper) == pytest.approx((ours.lower, ours.upper))


@given(shifts, factors, shifts, factors)
def test_other_units_move_the_line_with_its_pairs(x_shift, x_factor, y_shift, y_factor):
    x, y = x_shift + x_factor * LABORATORY, y_shift + y_factor * METER
    moved_u = {"x_u": abs(x_factor) * LABORATORY_U, "y_u": abs(y_factor) * METER_U}
    ratio = (y_factor / x_factor) ** 2
    for ours, moved in [
        (york(*PAIRS, **US), york(x, y, **moved_u)),
        (deming(*PAIRS, variance_ratio=1), deming(x, y, variance_ratio=ratio)),
    ]:
        there = x_shift + x_factor * AT
        assert moved.line.value(there) == pytest.approx(y_shift + y_factor * ours.line.value(AT), abs=1e-8)
        assert moved.line.value_u(there) == pytest.approx(abs(y_factor) * ours.line.value_u(AT), rel=1e-8)


def simulated(rng):
    """Return a York and a Deming line through 20 oils whose meter reads 1 + 0.9 times the truth."""
    true = rng.uniform(3, 30, 20)
    x, y = true + rng.normal(0, 0.6, 20), 1 + 0.9 * true + rng.normal(0, 0.9, 20)
    return york(x, y, x_u=np.full(20, 0.6), y_u=np.full(20, 0.9)), deming(x, y, variance_ratio=2.25)


def test_lines_miss_the_truth_by_as_much_as_they_say():
    """In 400 seeded comparisons, in the middle and at both ends, without leaning to one side."""
    rng = np.random.default_rng(4)
    lines = [[one.line for one in simulated(rng)] for _ in range(400)]
    at = np.array([3.0, 16.0, 30.0])
    for kind in zip(*lines, strict=True):
        z = np.array([(line.value(at) - (1 + 0.9 * at)) / line.value_u(at) for line in kind])
        assert np.abs(z.mean(axis=0)).max() < 0.15
        assert z.std(axis=0) == pytest.approx([1, 1, 1], abs=0.12)


def test_misfit_tells_stated_uncertainties_that_are_too_small():
    modest, boastful = york(*PAIRS, **US), york(*PAIRS, x_u=LABORATORY_U / 5, y_u=METER_U / 5)
    assert boastful.misfit == pytest.approx(5 * modest.misfit)
    assert boastful.line.value(AT) == pytest.approx(modest.line.value(AT), rel=1e-9)


def test_a_line_is_found_however_far_from_zero_its_pairs_lie():
    """At 10⁸ their digits end at 10⁻⁸, and no slope could be had closer than that."""
    there = york(LABORATORY + 1e8, METER + 1e8, **US)
    assert there.line.slope == pytest.approx(york(*PAIRS, **US).line.slope, rel=1e-7)


def test_a_meter_that_reads_the_same_in_every_oil_has_a_slope_of_zero():
    stuck = np.full(7, 12.5)
    assert york(LABORATORY, stuck, **US).line.slope == pytest.approx(0, abs=1e-12)
    assert deming(LABORATORY, stuck, variance_ratio=1).line.slope == pytest.approx(0, abs=1e-12)


def test_differences_are_those_of_the_second_instrument_from_the_first():
    found = agreement([10, 20, 30], [11, 22, 33])
    assert (found.mean, found.sd) == pytest.approx((2, 1))
    assert (found.lower, found.upper) == pytest.approx((2 - 1.96, 2 + 1.96))
    assert found.mean_u == pytest.approx(1 / math.sqrt(3))


def test_limits_of_agreement_scatter_by_as_much_as_they_say():
    """In 2000 seeded comparisons of 20 oils."""
    rng = np.random.default_rng(4)
    found = [agreement(np.zeros(20), rng.normal(0, 1, 20)) for _ in range(2000)]
    stated = np.mean([one.limit_u for one in found])
    assert np.std([one.upper for one in found]) == pytest.approx(stated, rel=0.05)
    assert np.std([one.lower for one in found]) == pytest.approx(stated, rel=0.05)


@pytest.mark.parametrize(
    "compare",
    [
        lambda x, y: york(x, y, x_u=np.ones(len(x)), y_u=np.ones(len(x))),
        lambda x, y: deming(x, y, variance_ratio=1),
        agreement,
    ],
)
def test_two_pairs_are_too_few(compare):
    with pytest.raises(ValueError, match="at least 3 points are needed, not 2"):
        compare([1, 2], [1, 2])


@pytest.mark.parametrize(
    ("x", "y", "sentence"),
    [
        ([0.1, 0.1, 0.1], [1, 2, 3], "all points lie at one x"),
        ([0, 1, 0, 1], [0, 0, 1, 1], "do not lie along one line"),
        ([1, 2, 3], [1, 2, math.nan], "known and finite"),
        ([1, 2, 3], [1, 2], "differ in length"),
    ],
)
def test_pairs_that_give_no_line_are_refused_with_a_sentence(x, y, sentence):
    with pytest.raises(ValueError, match=sentence):
        deming(x, y, variance_ratio=1)
    with pytest.raises(ValueError, match=sentence):
        york(x, y, x_u=np.ones(len(x)), y_u=np.ones(len(x)))


def test_an_instrument_without_error_is_refused():
    with pytest.raises(ValueError, match="standard uncertainties must be above 0"):
        york(*PAIRS, x_u=np.zeros(7), y_u=METER_U)


@pytest.mark.parametrize("variance_ratio", [0, -1, math.inf, math.nan])
def test_a_ratio_of_variances_that_is_none_is_refused(variance_ratio):
    with pytest.raises(ValueError, match="ratio of the error variances must be above 0"):
        deming(*PAIRS, variance_ratio=variance_ratio)
