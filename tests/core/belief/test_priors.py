"""What is believed before the book begins, held against draws of what it stands for."""

import numpy as np
import pytest

from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.layout import Layout
from kettlewell.core.belief.priors import Prior, shared_prior

DRAWS = 200_000
GAIN, GAIN_SD, OIL_GAIN_SD = 0.9, 0.2, 0.15
FRESH_PCT, FRESH_SD_PCT = np.array([4.0, 7.0]), np.array([0.8, 0.5])


def prior():
    """One meter and two oils, with spreads wide enough that every term counts."""
    return Prior(
        known=PACKAGED,
        layout=Layout(oils=2),
        fresh_pct=FRESH_PCT[None],
        fresh_sd_pct=FRESH_SD_PCT[None],
        lot_sd_pct=np.full((1, 2), 0.3),
        rate_unit=np.array([[0.5]]),
        bend_sd=np.zeros((1, 1)),
        oil=np.array([[0]]),
        gain=(GAIN, GAIN_SD),
        offset_sd_pct=np.full((1, 1), 0.8),
        oil_gain_sd=OIL_GAIN_SD,
        oil_offset_sd_pct=0.5,
    )


def test_responses_and_fresh_values_are_spread_as_their_product_is():
    """Of an independent response and fresh TPC, drawn apart; two of the three are common to both oils."""
    rng = np.random.default_rng(8)
    gain = GAIN + GAIN_SD * rng.standard_normal((DRAWS, 1)) + OIL_GAIN_SD * rng.standard_normal((DRAWS, 2))
    fresh_pct = gain * (FRESH_PCT + FRESH_SD_PCT * rng.standard_normal((DRAWS, 2)))
    mean, cov = shared_prior(prior())
    layout = prior().layout
    at = np.r_[layout.gains, layout.fresh]
    drawn = np.hstack([gain, fresh_pct])
    assert mean[0, at] == pytest.approx(drawn.mean(axis=0), rel=0.01)
    assert cov[0][np.ix_(at, at)] == pytest.approx(np.cov(drawn.T), rel=0.03)
