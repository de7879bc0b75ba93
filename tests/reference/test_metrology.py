"""Uncertainty, calibration lines and comparisons against published worked examples."""

import math

import numpy as np
import pytest

from kettlewell.core.metering.comparison import agreement, york
from kettlewell.core.metering.lines import least_squares
from kettlewell.core.metering.uncertainty import Component, combined

GAUGE_NM = 50_000_623
GAUGE = (  # JCGM 100:2008, H.1; degrees of freedom of the last two from memory
    Component(name="standard", u=25, dof=18),
    Component(name="difference", u=9.7, dof=25.6),
    Component(name="difference of expansion, 1/K", u=0.58e-6, sensitivity=GAUGE_NM * 0.1, dof=50),
    Component(name="difference of temperature, K", u=0.029, sensitivity=-GAUGE_NM * 11.5e-6, dof=2),
)
SECOND_ORDER = (  # products of two inputs of which one stands at 0, JCGM 100:2008, 5.1.2 note
    Component(name="difference of expansion by temperature, K", u=0.58e-6 * 0.41, sensitivity=GAUGE_NM),
    Component(name="expansion by difference of temperature", u=1.2e-6 * 0.029, sensitivity=GAUGE_NM),
)


def test_gauge_block():
    """JCGM 100:2008, H.1: u 32 nm (31.71 recomputed), 16 degrees of freedom, U99 93 nm."""
    found = combined(GAUGE)
    assert found.u == pytest.approx(31.71, abs=0.005)
    assert math.floor(found.dof) == 16
    assert found.expanded(0.99) == pytest.approx(93, abs=0.5)


def test_gauge_block_with_terms_of_second_order():
    """JCGM 100:2008, H.1.7: u 34 nm."""
    assert combined(GAUGE + SECOND_ORDER).u == pytest.approx(34, abs=0.5)


def test_welch_satterthwaite():
    """0.57 on 9 degrees of freedom with 0.25 on any number gives 12.8 (JCGM 100:2008, G.4; recomputed)."""
    found = combined([Component(name="readings", u=0.57, dof=9), Component(name="certificate", u=0.25)])
    assert found.dof == pytest.approx(12.8, abs=0.05)


def test_thermometer_calibration():
    """JCGM 100:2008, H.3, as printed (recomputed), temperatures counted from 20 °C."""
    t = "21.521 22.012 22.512 23.003 23.507 23.999 24.513 25.002 25.503 26.010 26.511"
    b = "-.171 -.169 -.166 -.159 -.164 -.165 -.156 -.157 -.159 -.161 -.160"
    fit = least_squares(numbers(t) - 20, numbers(b))
    covariance = fit.line.covariance
    intercept_u, slope_u = np.sqrt(np.diag(covariance))
    assert (fit.line.intercept, intercept_u) == pytest.approx((-0.1712, 0.0029), abs=5e-5)
    assert (fit.line.slope, slope_u) == pytest.approx((0.00218, 0.00067), abs=5e-6)
    assert covariance[0, 1] / (intercept_u * slope_u) == pytest.approx(-0.930, abs=5e-4)
    assert fit.residual_sd == pytest.approx(0.0035, abs=5e-5)
    assert fit.line.value(30 - 20) == pytest.approx(-0.1494, abs=5e-5)
    assert fit.line.value_u(30 - 20) == pytest.approx(0.0041, abs=5e-5)


def test_line_of_an_engineering_handbook():
    """Natrella, Experimental Statistics (NBS Handbook 91), 5-4.1; recomputed independently, s cut short."""
    x = [30, *range(100, 1600, 100)]
    y = "4642 4612 4565 4513 4476 4433 4389 4347 4303 4251 4201 4140 4100 4073 4024 3999"
    fit = least_squares(x, numbers(y))
    assert fit.line.slope == pytest.approx(-0.44985482, abs=5e-9)
    assert fit.line.intercept == pytest.approx(4654.9846, abs=5e-5)
    assert fit.residual_sd == pytest.approx(9.277617, abs=1e-6)
    assert fit.reading_u(750) ** 2 == pytest.approx(91.45, abs=0.005)


def test_certified_line():
    """NIST StRD, Norris: certified intercept, slope, their standard deviations and the residual one."""
    y = (
        "0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9"
        " 10.8 557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4"
        " 449.2 0.2"
    )
    x = (
        "0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5"
        " 11.6 556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1"
        " 448.9 0.5"
    )
    fit = least_squares(numbers(x), numbers(y))
    assert fit.line.intercept == pytest.approx(-0.262323073774029, rel=1e-11)
    assert fit.line.slope == pytest.approx(1.00211681802045, rel=1e-13)
    assert np.sqrt(np.diag(fit.line.covariance)) == pytest.approx(
        [0.232818234301152, 0.429796848199937e-3], rel=1e-11
    )
    assert fit.residual_sd == pytest.approx(0.884796396144373, rel=1e-11)


def test_line_through_pearsons_points_with_yorks_weights():
    """York et al. 2004, Am. J. Phys. 72:367, with their standard errors and goodness of fit (from memory)."""
    x, x_weight = "0 0.9 1.8 2.6 3.3 4.4 5.2 6.1 6.5 7.4", "1000 1000 500 800 200 80 60 20 1.8 1"
    y, y_weight = "5.9 5.4 4.4 4.6 3.5 3.7 2.8 2.8 2.4 1.5", "1 1.8 4 8 20 20 70 70 100 500"
    found = york(numbers(x), numbers(y), x_u=numbers(x_weight) ** -0.5, y_u=numbers(y_weight) ** -0.5)
    assert (found.line.slope, found.line.intercept) == pytest.approx((-0.4805, 5.4799), abs=5e-5)
    assert np.sqrt(np.diag(found.line.covariance)) == pytest.approx([0.295, 0.058], abs=5e-4)
    assert found.misfit**2 == pytest.approx(1.483, abs=5e-4)


def test_agreement_of_two_flow_meters():
    """Bland & Altman 1986, Lancet i:307: mean -2.1, standard error 9.4, sd 38.8 (from memory)."""
    large = "494 395 516 434 476 557 413 442 650 433 417 656 267 478 178 423 427"
    small = "512 430 520 428 500 600 364 380 658 445 432 626 260 477 259 350 451"
    found = agreement(numbers(small), numbers(large))
    assert (found.mean, found.sd, found.mean_u) == pytest.approx((-2.1, 38.8, 9.4), abs=0.05)


def test_limits_of_agreement():
    """Bland & Altman 1999: mean -16.29, sd 19.61, n 85 give -54.7 to 22.1 within 1.71·sd/√n (from memory).

    Only these three numbers matter, so that any 85 differences will do that have them.
    """
    differences = np.arange(85.0)
    differences = -16.29 + 19.61 * (differences - differences.mean()) / differences.std(ddof=1)
    found = agreement(np.zeros(85), differences)
    assert (found.lower, found.upper) == pytest.approx((-54.7, 22.1), abs=0.05)
    assert found.limit_u * math.sqrt(85) / 19.61 == pytest.approx(1.71, abs=0.01)


def numbers(text):
    return np.array(text.split(), dtype=float)
