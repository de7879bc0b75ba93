"""What the oil is expected to be at the end of each coming service."""

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.core.belief.level import Level
from kettlewell.core.limits import passing_probability


def passing(level: Level, limit_pct: Array | float, limit_u_pct: Array | float = 0.0) -> Array:
    """Return the probability that the true TPC lies past a limit."""
    mean, sd = level.excess(limit_pct, limit_u_pct)
    return passing_probability(mean, sd, 0.0)


def first_passage(passing_by: Array) -> Array:
    """Return the distribution of the service in which the limit is passed (H, ...), from ``passing_by``.

    Oil does not grow younger by frying, so the probability of lying past the limit at the
    end of a service is taken as that of having passed it by then, kept from falling.
    """
    return np.maximum.accumulate(passing_by, axis=0)


def change_now(passing_this: Array, passing_next: Array, risk: Array | float) -> tuple[Mask, Mask]:
    """Return where to change before the coming service, and where after it.

    ``passing_this`` and ``passing_next`` are the probabilities of having passed the limit
    by the end of the coming service and of the one after; ``risk`` is α.
    """
    before = passing_this > risk
    return before, ~before & (passing_next > risk)
