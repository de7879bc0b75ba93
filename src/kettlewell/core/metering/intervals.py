"""When to check a meter next, from its own history at a stated reliability.

Reliability is the wanted probability that a meter is still within its permissible
deviation when the next check finds it (ILAC-G24/OIML D 10 names the methods).
"""

from collections.abc import Sequence

import numpy as np
from scipy.special import bdtr

from kettlewell.core.limits.decision import conformity_probability
from kettlewell.core.metering.drift import Drifting

FIRST_INTERVAL_DAYS = 28  # common practice, no source
LONGEST_INTERVAL_DAYS = 365  # chosen, no source
CHECKS_FOR_A_FIT = 4  # fewer say next to nothing of a drift: chosen, no source
RELIABILITY = 0.95  # chosen, no source


def pass_interval_days(
    passed: Sequence[bool], interval_days: float, *, reliability: float = RELIABILITY
) -> float:
    """Return the next interval in days, from which checks at ``interval_days`` were passed.

    interval·10^(c·(share passed - reliability)), where c = 1 - 2·P is the confidence that
    the share differs from ``reliability``, with P the binomial probability of a share at
    least so far off on its side. The interval test of the NCSLI; the formula is from
    memory and gives both of its published examples to the day.

    Raises ValueError for no checks, an interval not above 0, or a reliability outside 0 to 1.
    """
    _check_share(reliability)
    if not passed or not interval_days > 0:
        raise ValueError("an interval needs at least one check and must be above 0 days")
    checks, passes = len(passed), sum(passed)
    below = bdtr(passes, checks, reliability)
    above = 1 - bdtr(passes - 1, checks, reliability) if passes else 1.0
    confidence = max(0.0, 1 - 2 * min(float(below), float(above)))
    return float(interval_days * 10 ** (confidence * (passes / checks - reliability)))


def drift_interval_days(
    drifting: Drifting, *, checks: int, permissible_pct: float = 1.0, reliability: float = RELIABILITY
) -> int:
    """Return whole days from the last check until a meter may have drifted too far.

    Parameters
    ----------
    drifting : what the checks say of one meter, arrays (G,)
    checks : how many of them there were since it was last adjusted
    permissible_pct : permissible deviation either way; 1 is common practice, no source
    reliability : the interval ends where P(|deviation| > permissible) passes 1 - reliability

    The probability is the mean over the walks that remain plausible. With fewer than four
    checks it is 28 days, a cautious default, and shorter where even the prior says so; never
    more than 365. 0 means: the meter cannot be relied on now.

    Raises ValueError for a permissible deviation that is not above 0, or a reliability
    outside 0 to 1.
    """
    _check_share(reliability)
    if not permissible_pct > 0:
        raise ValueError("the permissible deviation must be above 0")
    longest = FIRST_INTERVAL_DAYS if checks < CHECKS_FOR_A_FIT else LONGEST_INTERVAL_DAYS
    ahead = np.arange(1, longest + 1)[:, np.newaxis]
    spread = np.sqrt(drifting.var + drifting.walk_vars * ahead)
    within = conformity_probability(drifting.mean_pct, spread, lower=-permissible_pct, upper=permissible_pct)
    return int(np.sum(np.minimum.accumulate(within @ drifting.weights) >= reliability))


def _check_share(reliability: float) -> None:
    if not 0 < reliability < 1:
        raise ValueError("reliability must lie between 0 and 1")
