"""How fast a meter drifts, learnt from its checks.

What it reads too much in reference oil is a random walk seen through check noise. Its
variance a day is weighed over a grid by the likelihood of the checks and a log-normal prior
about the coefficient ``meter_walk``.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from kettlewell.core.ageing.coefficients import coefficients

WALKS = np.exp(np.linspace(-2.5, 2.5, 41))  # multiples of the prior's walk that are weighed
LOG_WALK_SD = 0.8  # spread of the prior over them, in log units: from memory
UNKNOWN_VAR = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class Drifting:
    """What checks say of a meter: arrays (..., G) over the G walks that are weighed.

    ``mean_pct`` and ``var`` are of what it reads too much, if it walks so; ``log_weight``
    tells how plausible that walk is.
    """

    mean_pct: NDArray[np.float64]
    var: NDArray[np.float64]
    log_weight: NDArray[np.float64]

    @property
    def weights(self) -> NDArray[np.float64]:
        """The plausibility of each walk, adding up to 1."""
        weights = np.exp(self.log_weight - self.log_weight.max(axis=-1, keepdims=True))
        return np.asarray(weights / weights.sum(axis=-1, keepdims=True))

    @property
    def walk_var(self) -> NDArray[np.float64]:
        """The variance (...) it is taken to walk by in a day: the geometric mean of what is plausible."""
        return np.asarray(np.exp((self.weights * np.log(walk_vars())).sum(axis=-1)))


def walk_vars() -> NDArray[np.float64]:
    """Return the variances a day (G,) that are weighed, percentage points squared."""
    return (coefficients()["meter_walk"].sd * WALKS) ** 2


def unchecked(shape: tuple[int, ...] = ()) -> Drifting:
    """Return what is believed of meters (...) that were never checked."""
    full = (*shape, len(WALKS))
    prior = -0.5 * (np.log(WALKS) / LOG_WALK_SD) ** 2
    return Drifting(
        mean_pct=np.zeros(full), var=np.full(full, UNKNOWN_VAR), log_weight=np.broadcast_to(prior, full)
    )


def checked(drifting: Drifting, days: ArrayLike, deviation_pct: ArrayLike, u_pct: ArrayLike) -> Drifting:
    """Return what is believed after a check, ``days`` after the last; all (...).

    ``deviation_pct`` is nan where there was none; ``u_pct`` is its standard uncertainty beside the
    reference value's own.
    """
    deviation = np.asarray(deviation_pct, dtype=np.float64)[..., None]
    u_var = np.asarray(u_pct, dtype=np.float64)[..., None] ** 2
    seen = ~np.isnan(deviation)
    predicted = drifting.var + walk_vars() * np.asarray(days, dtype=np.float64)[..., None]
    spread = predicted + u_var
    surprise = np.where(seen, deviation - drifting.mean_pct, 0.0)
    return Drifting(
        mean_pct=drifting.mean_pct + predicted / spread * surprise,
        var=np.where(seen, predicted * u_var / spread, predicted),
        log_weight=drifting.log_weight - seen * 0.5 * (np.log(spread) + surprise**2 / spread),
    )


def begun_anew(drifting: Drifting) -> Drifting:
    """Return what is believed once it was adjusted, or is held against another lot: its walk alone."""
    return replace(
        drifting, mean_pct=np.zeros_like(drifting.mean_pct), var=np.full_like(drifting.var, UNKNOWN_VAR)
    )
