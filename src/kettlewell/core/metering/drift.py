"""How fast a meter drifts, learnt from its checks.

What it reads too much in reference oil is a random walk seen through check noise. Its
variance a day is weighed over a grid by the likelihood of the checks and a log-normal prior
about the coefficient ``meter_walk``.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from kettlewell.core.ageing.coefficients import PACKAGED, Coefficients
from kettlewell.core.arrays import Array, Mask

WALKS = np.exp(np.linspace(-2.5, 2.5, 41))  # multiples of the prior's walk that are weighed
UNKNOWN_VAR = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class Drifting:
    """What checks say of meters: arrays (..., G) over the G walks that are weighed.

    ``walk_vars`` (G,) are their variances a day, percentage points squared. ``mean_pct`` and ``var``
    are of what a meter reads too much, if it walks so; ``log_weight`` tells how plausible that is.
    """

    walk_vars: Array
    mean_pct: Array
    var: Array
    log_weight: Array

    @property
    def weights(self) -> Array:
        """The plausibility of each walk, adding up to 1."""
        weights = np.exp(self.log_weight - self.log_weight.max(axis=-1, keepdims=True))
        return np.asarray(weights / weights.sum(axis=-1, keepdims=True))

    @property
    def walk_var(self) -> Array:
        """The variance (...) it is taken to walk by in a day: the geometric mean of what is plausible."""
        return np.asarray(np.exp((self.weights * np.log(self.walk_vars)).sum(axis=-1)))

    def at(self, *index: int) -> "Drifting":
        """Return what is said of the meters at one place of the arrays."""
        return replace(
            self, mean_pct=self.mean_pct[index], var=self.var[index], log_weight=self.log_weight[index]
        )

    def of_meter(self, meter: int) -> "Drifting":
        """Return what is said of one meter (K, G) of several (K, M, G)."""
        return replace(
            self,
            mean_pct=self.mean_pct[:, meter],
            var=self.var[:, meter],
            log_weight=self.log_weight[:, meter],
        )

    def with_meter(self, meter: int, of_it: "Drifting") -> "Drifting":
        """Return the same of all meters (K, M, G) with other values of one (K, G)."""
        mean_pct, var, log_weight = self.mean_pct.copy(), self.var.copy(), self.log_weight.copy()
        mean_pct[:, meter], var[:, meter], log_weight[:, meter] = of_it.mean_pct, of_it.var, of_it.log_weight
        return replace(self, mean_pct=mean_pct, var=var, log_weight=log_weight)


def unchecked(shape: tuple[int, ...] = (), known: Coefficients = PACKAGED) -> Drifting:
    """Return what is believed of meters (...) that were never checked."""
    full = (*shape, len(WALKS))
    prior = -0.5 * (np.log(WALKS) / known.meter_walk_spread.value) ** 2
    return Drifting(
        walk_vars=(known.meter_walk.sd * WALKS) ** 2,
        mean_pct=np.zeros(full),
        var=np.full(full, UNKNOWN_VAR),
        log_weight=np.broadcast_to(prior, full).copy(),
    )


def checked(drifting: Drifting, days: ArrayLike, deviation_pct: ArrayLike, u_pct: ArrayLike) -> Drifting:
    """Return what is believed after a check, ``days`` after the last; all (...).

    ``deviation_pct`` is nan where there was none; ``u_pct`` is its standard uncertainty beside the
    reference value's own.
    """
    deviation = np.asarray(deviation_pct, dtype=np.float64)[..., None]
    u_var = np.asarray(u_pct, dtype=np.float64)[..., None] ** 2
    seen = ~np.isnan(deviation)
    predicted = drifting.var + drifting.walk_vars * np.asarray(days, dtype=np.float64)[..., None]
    spread = predicted + u_var
    innovation = np.where(seen, deviation - drifting.mean_pct, 0.0)
    return replace(
        drifting,
        mean_pct=drifting.mean_pct + predicted / spread * innovation,
        var=np.where(seen, predicted * u_var / spread, predicted),
        log_weight=drifting.log_weight - seen * 0.5 * (np.log(spread) + innovation**2 / spread),
    )


def begun_anew(drifting: Drifting, where: Mask | bool = True) -> Drifting:  # noqa: FBT001, FBT002 - a mask
    """Return what is believed where meters were adjusted, or came to another lot: their walk alone."""
    anew = np.asarray(where)[..., None]
    return replace(
        drifting,
        mean_pct=np.where(anew, 0.0, drifting.mean_pct),
        var=np.where(anew, UNKNOWN_VAR, drifting.var),
    )
