"""The rival model: ageing along a power law of the work done.

Without fresh oil TPC rises as p = p0 + 20 (t/τ)^n; n < 1 is concave, as the fits of
Bastida & Sánchez-Muniz (JAOCS, polar content against oligomers) found. As a rate
of the present TPC, with u = (p - p0)/20 and k the mean rate from fresh to p0 + 20:

    dp/dt = n k u^(1 - 1/n) - (f / M) (p - p0)
"""

import numpy as np
from numpy.typing import ArrayLike

from kettlewell.core.ageing.balance import CURVATURE_SPAN_PCT, advance
from kettlewell.core.arrays import Array


def advance_power_law(
    tpc_pct: ArrayLike,
    rate_pct_per_h: ArrayLike,
    *,
    fresh_tpc_pct: ArrayLike,
    hot_h: ArrayLike,
    turnover: ArrayLike,
    curvature: ArrayLike = 0.0,
) -> Array:
    """Return the TPC after ``hot_h`` hours; the arguments are those of the mass balance.

    The exponent is n = 2^curvature, so that 0 is straight, below 0 concave and above
    0 convex. In v = u^(1/n) the law with turnover is linear, dv/dt = k/20 - (f/M) v/n,
    and so solved exactly. TPC below fresh counts as fresh.
    """
    exponent = np.exp2(np.asarray(curvature, dtype=float))
    fresh = np.asarray(fresh_tpc_pct, dtype=float)
    aged = np.maximum((np.asarray(tpc_pct, dtype=float) - fresh) / CURVATURE_SPAN_PCT, 0.0)
    work = advance(
        aged ** (1 / exponent),
        np.asarray(rate_pct_per_h, dtype=float) / CURVATURE_SPAN_PCT,
        fresh_tpc_pct=0.0,
        hot_h=hot_h,
        turnover=np.divide(turnover, exponent),
    )
    return np.asarray(fresh + CURVATURE_SPAN_PCT * np.maximum(work, 0.0) ** exponent)
