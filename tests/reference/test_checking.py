"""Charts and check intervals against the worked examples of handbooks."""

import numpy as np
import pytest

from kettlewell.core.metering.charts import cusum, ewma, ewma_limits, individuals_limits
from kettlewell.core.metering.intervals import pass_interval_days


def test_individuals_chart():
    """NIST/SEMATECH e-Handbook 6.3.2.2: mean 50.81, limits 55.8041 and 45.8159."""
    limits = individuals_limits([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    assert limits.centre == pytest.approx(50.81, abs=5e-3)
    assert (limits.upper, limits.lower) == pytest.approx((55.8041, 45.8159), abs=5e-5)


def test_ewma_chart():
    """NIST/SEMATECH e-Handbook 6.3.2.4: weight 0.3, target 50, s 2.0539, no signal."""
    values = [
        *(52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5),
        *(49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1),
    ]
    printed = [
        *(50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33),
        *(50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99),
    ]
    averages, limits = ewma(values, weight=0.3, start=50.0), ewma_limits(50.0, 2.0539, weight=0.3)
    assert averages == pytest.approx(printed, abs=5.1e-3)
    assert (limits.upper, limits.lower) == pytest.approx((52.5884, 47.4115), abs=1e-4)
    assert np.all((averages < limits.upper) & (averages > limits.lower))


def test_cusum():
    """NIST/SEMATECH e-Handbook 6.3.2.3: k 0.3175, h 4.1959; first signal at observation 14, sum 4.94."""
    values = [
        *(324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600),
        *(324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350),
    ]
    upper, lower = cusum(values, target=325.0, slack=0.3175)
    beyond = np.flatnonzero((upper > 4.1959) | (lower > 4.1959))
    assert beyond[0] + 1 == 14
    assert upper[13] == pytest.approx(4.94, abs=5e-3)


TWENTY = [1, 1, 0, 1, 0, 1, 1, 1, 1, 0, 1, 1, 1, 1, 1, 0, 1, 1, 1, 0]


@pytest.mark.parametrize(
    ("passed", "reliability", "days"), [(TWENTY, 0.95, 231), ([1] * 42 + [0] * 8, 0.9, 329)]
)
def test_interval_from_passes_and_failures(passed, reliability, days):
    """The two interval examples of the NCSLI, each with checks every 365 days."""
    results = [bool(result) for result in passed]
    assert round(pass_interval_days(results, 365, reliability=reliability)) == days
