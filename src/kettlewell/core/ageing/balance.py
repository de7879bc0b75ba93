"""The mass balance of a bath that is topped up with fresh oil.

    dp/dt = k (1 + γ (p - p0) / 20) - (f / M) (p - p0)

p and p0 in % m/m TPC (bath, fresh oil), k in percentage points per hot hour,
f in kg/h of fresh oil that replaces what the food carries out, M in kg. γ is the
curvature: 0 straight, below 0 concave, above 0 convex. The oil that leaves in
the food has the TPC of the bath (Food Chem. 237:98-105, 2017). Ageing without
turnover is of zero order at 170-190 °C (Mba et al., JAOCS 93:1243-1253, 2016);
concave (Bastida & Sánchez-Muniz, 2001) and convex courses are published too.
"""

import numpy as np
from numpy.typing import ArrayLike

from kettlewell.core.arrays import Array

CURVATURE_SPAN_PCT = 20.0
TINY = np.finfo(float).tiny


def advance(
    tpc_pct: ArrayLike,
    rate_pct_per_h: ArrayLike,
    *,
    fresh_tpc_pct: ArrayLike,
    hot_h: ArrayLike,
    turnover: ArrayLike,
    curvature: ArrayLike = 0.0,
) -> Array:
    """Return the TPC after ``hot_h`` hours, the exact solution of the mass balance.

    ``turnover`` is the fresh oil added over the stretch as a share of the bath,
    f·hot_h/M. All arguments broadcast. Any curvature and turnover at or above 0
    is taken; a negative rate is not refused, since a belief may reach there.
    """
    fresh = np.asarray(fresh_tpc_pct, dtype=float)
    ageing = np.multiply(rate_pct_per_h, hot_h, dtype=float)
    pull = _pull(ageing, turnover, curvature)
    aged: Array = np.subtract(tpc_pct, fresh) * np.exp(-pull) + ageing * mean_decay(pull)
    return fresh + aged


def mean_decay(pull: ArrayLike) -> Array:
    """Return (1 - exp(-x)) / x, the mean of exp(-x t) over 0 ≤ t ≤ 1; 1 at x = 0."""
    x = np.asarray(pull, dtype=float)
    x = np.where(x == 0, TINY, x)
    return np.asarray(-np.expm1(-x) / x)


def steady_state(
    rate_pct_per_h: ArrayLike,
    *,
    fresh_tpc_pct: ArrayLike,
    turnover_per_h: ArrayLike,
    curvature: ArrayLike = 0.0,
) -> Array:
    """Return the TPC at which ageing and turnover balance, % m/m; inf where they never do."""
    rate = np.asarray(rate_pct_per_h, dtype=float)
    pull = _pull(rate, turnover_per_h, curvature)
    with np.errstate(over="ignore"):
        above = rate / np.where(pull > 0, pull, 1.0)
    return np.where(pull > 0, np.add(fresh_tpc_pct, above), np.inf)


def hours_to_limit(
    tpc_pct: ArrayLike,
    rate_pct_per_h: ArrayLike,
    *,
    limit_pct: ArrayLike,
    fresh_tpc_pct: ArrayLike,
    turnover_per_h: ArrayLike,
    curvature: ArrayLike = 0.0,
) -> Array:
    """Return the hot hours until the limit; 0 at or past it, inf where it is never reached.

    At the present speed v = k - r (p - p0), with r = f/M - k γ/20, the way L - p takes
    (L - p)/v hours; its end is reached at v - r (L - p), which stretches them by
    -ln(1 - x)/x with x = r (L - p)/v.
    """
    rate = np.asarray(rate_pct_per_h, dtype=float)
    way = np.subtract(limit_pct, tpc_pct, dtype=float)
    pull = _pull(rate, turnover_per_h, curvature)
    speed = rate - pull * np.subtract(tpc_pct, fresh_tpc_pct)
    moves = np.where(speed > 0, speed, np.nan)
    slowed = pull * way / moves
    reached = (way > 0) & (slowed < 1)
    hours = way / moves * _stretch(np.where(reached, slowed, 0.0))
    return np.where(reached, hours, np.where(way > 0, np.inf, 0.0))


def _stretch(slowed: Array) -> Array:
    """Return -ln(1 - x) / x for x below 1; 1 at x = 0."""
    small = np.abs(slowed) < 1e-8
    safe = np.where(small, 0.5, slowed)
    return np.where(small, 1.0 + slowed / 2, -np.log1p(-safe) / safe)


def _pull(ageing: Array, turnover: ArrayLike, curvature: ArrayLike) -> Array:
    """Return how strongly the bath is drawn to its steady state, per hour or over a stretch."""
    pull: Array = np.asarray(turnover, dtype=float) - np.multiply(ageing, curvature) / CURVATURE_SPAN_PCT
    return pull
