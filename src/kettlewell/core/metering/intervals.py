"""When to check a meter next, from its own history at a stated reliability.

Reliability is the wanted probability that a meter is still within its permissible
deviation when the next check finds it (ILAC-G24/OIML D 10 names the methods).
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import binom

from kettlewell.core.ageing.coefficients import coefficients
from kettlewell.core.limits.decision import conformity_probability

FIRST_INTERVAL_DAYS = 28  # common practice, no source
LONGEST_INTERVAL_DAYS = 365  # chosen, no source
CHECKS_FOR_A_FIT = 4  # fewer say next to nothing of a drift: chosen, no source
RELIABILITY = 0.95  # chosen, no source
WALKS = np.exp(np.linspace(-2.5, 2.5, 41))  # multiples of the prior's walk that are weighed
LOG_WALK_SD = 0.8  # spread of the prior over them, in log units: from memory


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
    below, above = binom.cdf(passes, checks, reliability), binom.sf(passes - 1, checks, reliability)
    confidence = max(0.0, 1 - 2 * min(float(below), float(above)))
    return float(interval_days * 10 ** (confidence * (passes / checks - reliability)))


def drift_interval_days(
    days: ArrayLike,
    deviations_pct: ArrayLike,
    us_pct: ArrayLike,
    *,
    permissible_pct: float = 1.0,
    reliability: float = RELIABILITY,
) -> int:
    """Return whole days from the last check until a meter may have drifted too far.

    Parameters
    ----------
    days : when each check since the last adjustment was, in days from any start, oldest
        first, shape (checks,)
    deviations_pct : deviations found, percentage points, shape (checks,)
    us_pct : their standard uncertainties, percentage points, shape (checks,) or one for all
    permissible_pct : permissible deviation either way; 1 is common practice, no source
    reliability : the interval ends where P(|deviation| > permissible) passes 1 - reliability

    The deviation is a random walk seen through check noise. Its variance a day is weighed
    over a grid by the likelihood of the checks and a log-normal prior about the coefficient
    ``meter_walk``; the probability is the mean over what remains plausible. With fewer than
    four checks it is 28 days, a cautious default, and shorter where even the prior says so;
    never more than 365. 0 means: the meter cannot be relied on now.

    Raises ValueError for no checks, days that do not increase, an uncertainty or a permissible
    deviation that is not above 0, or a reliability outside 0 to 1.
    """
    days, deviations = np.asarray(days, dtype=np.float64), np.asarray(deviations_pct, dtype=np.float64)
    us = np.broadcast_to(np.asarray(us_pct, dtype=np.float64), deviations.shape)
    _check_history(days, deviations, us)
    _check_share(reliability)
    if not permissible_pct > 0:
        raise ValueError("the permissible deviation must be above 0")
    walk_vars = (coefficients()["meter_walk"].sd * WALKS) ** 2
    means, variances, weights = _fit(days, deviations, us, walk_vars)
    longest = FIRST_INTERVAL_DAYS if len(days) < CHECKS_FOR_A_FIT else LONGEST_INTERVAL_DAYS
    ahead = np.arange(1, longest + 1)[:, np.newaxis]
    within = conformity_probability(
        means, np.sqrt(variances + walk_vars * ahead), lower=-permissible_pct, upper=permissible_pct
    )
    return int(np.sum(np.minimum.accumulate(within @ weights) >= reliability))


def _fit(
    days: NDArray[np.float64],
    deviations: NDArray[np.float64],
    us: NDArray[np.float64],
    walk_vars: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return the deviation's mean and variance at the last check and the weight, for each walk.

    The filter begins at the first check, of which nothing was known before.
    """
    means = np.full_like(walk_vars, deviations[0])
    variances = np.full_like(walk_vars, us[0] ** 2)
    log_weights = -0.5 * (np.log(WALKS) / LOG_WALK_SD) ** 2
    for gap, deviation, u in zip(np.diff(days), deviations[1:], us[1:], strict=True):
        predicted = variances + walk_vars * gap
        spread = predicted + u**2
        surprise = deviation - means
        log_weights -= 0.5 * (np.log(spread) + surprise**2 / spread)
        means = means + predicted / spread * surprise
        variances = predicted * u**2 / spread
    weights = np.exp(log_weights - log_weights.max())
    return means, variances, weights / weights.sum()


def _check_history(
    days: NDArray[np.float64], deviations: NDArray[np.float64], us: NDArray[np.float64]
) -> None:
    if days.ndim != 1 or days.shape != deviations.shape or not days.size:
        raise ValueError("need at least one check, and one day for each deviation")
    if np.any(np.diff(days) <= 0):
        raise ValueError("the days of checks must increase")
    if not np.all(us > 0):
        raise ValueError("the uncertainty of a deviation must be above 0")


def _check_share(reliability: float) -> None:
    if not 0 < reliability < 1:
        raise ValueError("reliability must lie between 0 and 1")
