import filterpy.kalman
import numpy as np
import pytest
import scoringrules

from kettlewell.practice.calibration import (
    HORIZONS,
    coverage,
    crps,
    decile_shares,
    life_pit,
    try_forecasts,
)
from kettlewell.practice.habits import DRIFTING
from kettlewell.practice.kitchens import draw_practice
from kettlewell.practice.rivals import LocalTrend, StraightLine, TrendNoise
from kettlewell.practice.rules import Threshold
from kettlewell.practice.watch import Upkeep

NOISE = TrendNoise(level_sd_pct=0.5, slope_sd_pct=0.02, reading_sd_pct=1.0)


@pytest.fixture(scope="module")
def trial():
    """Return forecasts of 200 kitchens that change at a reading of 22 %."""
    practice = draw_practice(np.random.default_rng(7), kitchens=200, fryers=2, days=100)
    shape = (200, 2)
    rivals = (StraightLine(shape=shape), LocalTrend(shape=shape, noise=NOISE))
    return try_forecasts(practice, Threshold(practice=practice, at_pct=22.0), rivals, every_services=9)


@pytest.mark.parametrize("horizon", HORIZONS)
def test_nine_intervals_in_ten_hold_the_truth(trial, horizon):
    """200 kitchens with a gain each leave a standard error of some 2 points; bench/README.md has more."""
    assert 0.86 < coverage(trial, horizon) < 0.97


def test_intervals_hold_with_oils_and_drift_and_checks_and_samples():
    """120 kitchens of two oils each leave a standard error of some 2 points."""
    practice = draw_practice(np.random.default_rng(9), kitchens=120, fryers=2, days=100, habits=DRIFTING)
    care = Upkeep(check_days=28, laboratory_days=91)
    rule = Threshold(practice=practice, at_pct=22.0)
    checked = try_forecasts(practice, rule, every_services=9, care=care)
    assert all(0.85 < coverage(checked, horizon) < 0.97 for horizon in HORIZONS)


def test_lives_fall_into_all_deciles_alike(trial):
    """The 200 gains leave a standard error of some 2 points in each decile."""
    shares = decile_shares(life_pit(np.random.default_rng(1), trial))
    assert shares.sum() == pytest.approx(1)
    assert (np.abs(shares - 0.1) < 0.07).all()


def test_forecasts_beat_a_straight_line_and_a_local_trend(trial):
    has_line = ~np.isnan(trial.rivals[0][0])
    forecasts = [(trial.ours.mean_pct, trial.ours.sd_pct), *trial.rivals]
    ours, line, trend = (crps(mean, sd, trial.truth.tpc_pct)[has_line].mean() for mean, sd in forecasts)
    assert ours < 0.5 * line
    assert ours < 0.9 * trend


def test_crps_of_a_normal_forecast_is_that_of_scoringrules():
    rng = np.random.default_rng(3)
    mean, sd, value = rng.normal(10, 5, 200), rng.uniform(0.1, 3, 200), rng.normal(10, 5, 200)
    assert crps(mean, sd, value) == pytest.approx(scoringrules.crps_normal(value, mean, sd), rel=1e-10)


def test_crps_without_spread_is_the_absolute_error():
    assert crps(np.array([3.0]), np.array([0.0]), np.array([5.0])) == [2.0]


def test_pit_of_a_life_lies_within_its_service(trial):
    """An honest forecaster that knows the life for sure would score 1 below and 0 above."""
    pit = life_pit(np.random.default_rng(1), trial)
    assert ((pit >= 0) & (pit <= 1)).all()
    assert pit.size == (trial.truth.now_pct < 24).sum()


def test_a_straight_line_goes_through_three_readings_of_one_fill():
    line = StraightLine(shape=(1, 1))
    for t, shown in [(0, 5.0), (2, 6.0), (4, 7.0)]:
        line.hear(t, np.array([[shown]]))
    mean, sd = line.forecast(4, 3)
    assert mean[:, 0, 0] == pytest.approx([7.5, 8.0, 8.5])
    assert (sd == 0).all()
    line.refill(np.array([[True]]))
    assert np.isnan(line.forecast(4, 1)[0]).all()


def test_the_local_trend_is_the_filter_of_filterpy():
    trend = LocalTrend(shape=(1, 1), noise=NOISE)
    peer = filterpy.kalman.KalmanFilter(dim_x=2, dim_z=1)
    peer.x, peer.P = trend.mean[:, 0, 0], trend.cov[:, :, 0, 0].copy()
    peer.F, peer.H = np.array([[1.0, 1.0], [0.0, 1.0]]), np.array([[1.0, 0.0]])
    peer.Q, peer.R = np.diag([0.5**2, 0.02**2]), np.array([[1.0]])
    for t, shown in enumerate([4.5, np.nan, 6.0, 6.5]):
        trend.hear(t, np.array([[shown]]))
        trend.serve(t, None)
        if not np.isnan(shown):
            peer.update(shown)
        peer.predict()
    assert trend.mean[:, 0, 0] == pytest.approx(peer.x, rel=1e-10)
    assert trend.cov[:, :, 0, 0] == pytest.approx(peer.P, rel=1e-10)
