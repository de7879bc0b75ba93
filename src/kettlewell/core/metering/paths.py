"""How a meter came from a good check to a failed one: a steady drift, or a sudden step.

Nobody saw it happen. Both are told, since they put the blame on different days.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from kettlewell.core.ageing.coefficients import PACKAGED

LEAST_U_PCT = 1e-6


class PathKind(StrEnum):
    """How the deviation went from one check to the next."""

    DRIFT = "drift"
    STEP = "step"


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What a check found: the deviation and its standard uncertainty, percentage points."""

    pct: float
    u_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """What a meter read too much between two checks, ``days`` apart.

    A drift is straight between the checks but for the wander that every meter has: a random walk
    tied at both ends, of ``walk_sd_pct`` in the square root of a day. A step came on one day, any as
    likely as another, and all was as at the first check before it and as at the last after it.
    """

    kind: PathKind
    first: Found
    last: Found
    days: float
    walk_sd_pct: float = PACKAGED.meter_walk.sd

    def below(self, deviation_pct: ArrayLike, share: float) -> NDArray[np.float64]:
        """Return the probability that the meter read no more than this too much.

        ``share`` says when: 0 at the first check, 1 at the last.
        """
        deviation = np.asarray(deviation_pct, dtype=np.float64)
        if self.kind is PathKind.STEP:
            before, after = (normal_below(deviation, found) for found in (self.first, self.last))
            return np.asarray((1 - share) * before + share * after)
        return normal_below(deviation, self.at(share))

    def at(self, share: float) -> Found:
        """Return mean and standard deviation of what the meter read too much."""
        first, last = self.first, self.last
        mean = (1 - share) * first.pct + share * last.pct
        if self.kind is PathKind.STEP:
            spread = share * (1 - share) * (last.pct - first.pct) ** 2
            var = (1 - share) * first.u_pct**2 + share * last.u_pct**2 + spread
        else:
            bridge = self.walk_sd_pct**2 * self.days * share * (1 - share)
            var = ((1 - share) * first.u_pct) ** 2 + (share * last.u_pct) ** 2 + bridge
        return Found(pct=mean, u_pct=float(np.sqrt(var)))


def normal_below(deviation_pct: NDArray[np.float64], found: Found) -> NDArray[np.float64]:
    """Return the probability that a deviation known so lies at most at ``deviation_pct``."""
    return np.asarray(ndtr((deviation_pct - found.pct) / max(found.u_pct, LEAST_U_PCT)))
