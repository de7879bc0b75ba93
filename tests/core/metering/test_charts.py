"""Control charts of a meter's checks."""

import math

import numpy as np
import pytest
from scipy import signal, stats

from kettlewell.core.metering.charts import (
    Direction,
    MeterChart,
    Signal,
    SignalKind,
    cusum,
    ewma,
    ewma_limits,
    individuals_limits,
    meter_chart,
    meter_signals,
)

RUNS = 500
REFERENCE_PCT = 10.0
MONTHLY_DRIFT_PCT = 1.5 * 28 / 60
THREE_READINGS_SD = math.sqrt(0.5**2 / 3 + 0.5**2 / 12)


def found(levels_pct, seed, repeatability_pct=0.5):
    """Deviations of checks of three readings each, shown in steps of half a point."""
    rng = np.random.default_rng(seed)
    shape = (RUNS, len(levels_pct), 3)
    exact = REFERENCE_PCT + np.asarray(levels_pct)[:, None] + rng.normal(0, repeatability_pct, shape)
    return (np.round(2 * exact) / 2).mean(axis=-1) - REFERENCE_PCT


def signalled(deviations_pct, first=0):
    chart = meter_chart(deviations_pct, THREE_READINGS_SD)
    runs = zip(
        chart.deviation_pct, chart.deviation_limit_pct, chart.ewma_pct, chart.ewma_limit_pct, strict=True
    )
    charts = (
        MeterChart(deviation_pct=a, deviation_limit_pct=b, ewma_pct=c, ewma_limit_pct=d)
        for a, b, c, d in runs
    )
    return np.mean([any(found.index >= first for found in meter_signals(one)) for one in charts])


@pytest.mark.parametrize("repeatability_pct", [0.3, 0.5])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_steady_meter_signals_in_at_most_one_run_of_twelve_checks_in_twenty(seed, repeatability_pct):
    assert signalled(found([0.0] * 12, seed, repeatability_pct)) <= 0.05


@pytest.mark.parametrize("sign", [-1, 1])
@pytest.mark.parametrize("steady_checks", [0, 1, 6, 12])
@pytest.mark.parametrize("repeatability_pct", [0.3, 0.5])
def test_a_drift_of_1_5_points_in_60_days_is_signalled_by_the_second_check(
    repeatability_pct, steady_checks, sign
):
    """It begins at a check; in nine runs of ten at least, whatever the history before."""
    drift = [sign * MONTHLY_DRIFT_PCT, 2 * sign * MONTHLY_DRIFT_PCT]
    deviations = found([0.0] * steady_checks + drift, 10 + steady_checks, repeatability_pct)
    assert signalled(deviations, first=steady_checks) >= 0.9


def test_a_first_check_far_off_signals_alone_and_together_with_its_size_and_direction():
    alone, together = meter_signals(meter_chart([-2.0], 0.3))
    assert alone == Signal(kind=SignalKind.INDIVIDUAL, index=0, size_pct=-2.0, direction=Direction.DOWN)
    assert together.kind is SignalKind.EWMA
    assert together.size_pct == pytest.approx(-0.8)


def test_small_deviations_that_last_signal_together_and_never_alone():
    signals = meter_signals(meter_chart([0.7] * 6, 0.3))
    assert {found.kind for found in signals} == {SignalKind.EWMA}
    assert {found.direction for found in signals} == {Direction.UP}


def test_the_first_limits_are_those_of_the_budget_alone():
    chart = meter_chart([5.0], 0.3)
    assert chart.deviation_limit_pct == pytest.approx([0.9])


def test_a_check_does_not_widen_its_own_limit_and_widens_the_next():
    calm, wild = meter_chart([0.1, 0.1, 0.1], 0.3), meter_chart([0.1, 3.0, 0.1], 0.3)
    assert wild.deviation_limit_pct[1] == calm.deviation_limit_pct[1]
    assert wild.deviation_limit_pct[2] > calm.deviation_limit_pct[2]


def test_with_a_long_history_the_budget_gives_way_to_the_scatter_seen():
    deviations = np.random.default_rng(4).normal(0, 0.6, 4000)
    assert meter_chart(deviations, 0.3).deviation_limit_pct[-1] == pytest.approx(3 * 0.6, rel=0.05)


def test_the_limit_is_three_times_the_inverse_chi_square_scale():
    """The posterior of the variance after two deviations is that of SciPy's inverse gamma."""
    third = meter_chart([0.2, -0.4, 0.0], 0.3, prior_dof=10).deviation_limit_pct[2]
    posterior = stats.invgamma(12 / 2, scale=(10 * 0.3**2 + 0.2**2 + 0.4**2) / 2)
    assert third == pytest.approx(3 * math.sqrt(posterior.mean() * (12 - 2) / 12))


def test_a_check_of_one_reading_has_a_wider_limit_than_one_of_three():
    chart = meter_chart([0.0, 0.0], [0.3, 0.5])
    assert chart.deviation_limit_pct[0] < chart.deviation_limit_pct[1]


def test_the_limit_of_the_weighted_mean_grows_to_that_of_a_long_chart():
    reach = meter_chart([0.0] * 30, 1.0, prior_dof=1e9).ewma_limit_pct
    assert np.all(np.diff(reach[:10]) > 0)
    assert reach[-1] == pytest.approx(ewma_limits(0.0, 1.0, weight=0.4).upper, rel=1e-6)


def test_many_meters_at_once_are_charted_as_one_by_one():
    deviations = found([0.0, 0.3, 0.9], 5)[:7]
    together = meter_chart(deviations, 0.3)
    for i, one in enumerate(deviations):
        alone = meter_chart(one, 0.3)
        assert together.ewma_pct[i] == pytest.approx(alone.ewma_pct)
        assert together.ewma_limit_pct[i] == pytest.approx(alone.ewma_limit_pct)


def test_the_weighted_mean_is_scipys_filter():
    values = np.random.default_rng(6).normal(size=20)
    filtered, _ = signal.lfilter([0.3], [1, -0.7], values, zi=[0.7 * 2.0])
    assert ewma(values, weight=0.3, start=2.0) == pytest.approx(filtered)


def test_the_sums_upwards_of_values_are_the_sums_downwards_of_their_mirror_image():
    values = np.random.default_rng(7).normal(size=50)
    upper, lower = cusum(values, target=0.1, slack=0.2)
    mirrored_upper, mirrored_lower = cusum(-values, target=-0.1, slack=0.2)
    assert upper == pytest.approx(mirrored_lower)
    assert lower == pytest.approx(mirrored_upper)
    assert np.all(upper >= 0)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: meter_chart([0.1], 0.0),
        lambda: meter_chart([0.1], float("nan")),
        lambda: meter_chart([0.1], 0.3, prior_dof=0),
        lambda: individuals_limits([1.0]),
        lambda: ewma([1.0], weight=0.0, start=0.0),
        lambda: ewma_limits(0.0, 1.0, weight=1.5),
    ],
)
def test_what_no_chart_can_be_made_of_is_refused(wrong):
    with pytest.raises(ValueError, match=r"must|needs"):
        wrong()
