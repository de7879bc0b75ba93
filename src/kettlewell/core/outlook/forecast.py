"""What the oil is expected to be at the end of each coming service."""

from collections.abc import Sequence

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.core.belief.filter import Work, one_after_another
from kettlewell.core.belief.joint import Belief
from kettlewell.core.belief.level import Level, levels_after
from kettlewell.core.limits import passing_probability


def forecast(belief: Belief, works: Sequence[Work]) -> Level:
    """Return level and gain after each of H services without a reading, arrays (H, K, F)."""
    return levels_after(belief, one_after_another(works))


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
