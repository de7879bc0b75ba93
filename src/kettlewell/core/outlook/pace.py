"""How fast the oil of a kitchen's fryers ages, and where that ends."""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.ageing.balance import steady_state
from kettlewell.core.arrays import Array, Mask
from kettlewell.core.belief.filter import least_rate
from kettlewell.core.belief.joint import BEND, RATE, dot
from kettlewell.core.belief.level import WHOLE_PCT
from kettlewell.core.outlook.here import Here

ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """How the oil in F fryers ages, each (F,).

    Mean and standard deviation of the true rate in percentage points a hot hour, as a fryer is set, with
    the usual load and its heating-up; the share of the bath that fresh oil replaces in a usual service;
    the TPC at which both balance, nan where they never do; that of fresh oil; and whether the rate
    is ``least``: no lower one is believed.
    """

    rate_pct_per_h: Array
    rate_sd_pct_per_h: Array
    turnover: Array
    steady_tpc_pct: Array
    fresh_tpc_pct: Array
    least: Mask

    def steady(self, i: int) -> float | None:
        """Return the TPC at which ageing and turnover of fryer ``i`` balance; None where they never do."""
        steady_pct = float(self.steady_tpc_pct[i])
        return None if np.isnan(steady_pct) else steady_pct


def pace_of(here: Here) -> Pace:
    """Return how the oil in the fryers of a kitchen ages."""
    belief, baths = here.belief, here.place.baths
    fryers = slice(len(baths.fryers))
    own, gain, fresh = (
        mean[0, fryers] for mean in (belief.own_mean(), belief.gain_mean(), belief.fresh_mean())
    )
    rate, bend = own[:, RATE], own[:, BEND]
    by_gain = belief.sensitivity[0, fryers, RATE] - (rate / gain)[:, None] * belief.gain[0, fryers]
    var = belief.own_cov[0, fryers, RATE, RATE] + dot(by_gain @ belief.shared_cov[0], by_gain)
    working_h, turnover = baths.usual_working_h()[0], here.state.pattern.turnover()[0]
    hot_hour = working_h / baths.usual_h[0]
    level = steady_state(rate, fresh_tpc_pct=fresh, turnover_per_h=turnover / working_h - bend)
    balances = (rate > 0) & (level <= WHOLE_PCT * gain)
    return Pace(
        rate_pct_per_h=rate / gain * hot_hour,
        rate_sd_pct_per_h=np.sqrt(var) / gain * hot_hour,
        turnover=turnover,
        steady_tpc_pct=np.where(balances, level, np.nan) / gain,
        fresh_tpc_pct=fresh / gain,
        least=rate <= least_rate(belief)[0, fryers] * (1 + ROUNDING),
    )
