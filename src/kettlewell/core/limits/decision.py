"""Deciding against a limit with an uncertain value, after JCGM 106:2012.

A limit "above L" and one "at or above L" are the same here: a continuous
quantity stands exactly at L with probability 0. Clause numbers are from memory.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri, stdtrit

from kettlewell.book import Force, Limit

HIGHEST_RISK = 0.05  # 95 % one-sided: common practice, no source


def passing_probability(
    mean: ArrayLike, sd: ArrayLike, limit: ArrayLike, *, limit_u: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Return the probability that a normal value lies above an upper limit.

    Φ((mean - limit)/√(sd² + limit_u²)), JCGM 106:2012, 7.3; all arguments in one
    unit and broadcast together. ``limit_u`` is the standard uncertainty of where
    the limit stands, for one mapped from another quantity. With no uncertainty
    at all the answer is 0 or 1, and 0.5 at the limit itself.

    Raises ValueError for a negative standard uncertainty.
    """
    distance = np.subtract(mean, limit, dtype=np.float64)
    return _share_below(distance, np.hypot(_not_negative(sd), _not_negative(limit_u)))


def conformity_probability(
    mean: ArrayLike, sd: ArrayLike, *, lower: ArrayLike = -np.inf, upper: ArrayLike = np.inf
) -> NDArray[np.float64]:
    """Return the probability that a normal value lies between its limits.

    Φ((upper - mean)/sd) - Φ((lower - mean)/sd), JCGM 106:2012, 7.2-7.4; all
    arguments in one unit and broadcast together; a limit left out is infinite.

    Raises ValueError for a negative standard uncertainty.
    """
    sd = _not_negative(sd)
    below_upper = _share_below(np.subtract(upper, mean, dtype=np.float64), sd)
    return below_upper - _share_below(np.subtract(lower, mean, dtype=np.float64), sd)


def coverage_factor(risk: ArrayLike, *, dof: ArrayLike = np.inf) -> NDArray[np.float64]:
    """Return the one-sided coverage factor: the quantile of 1 - ``risk``.

    Student's t with ``dof`` degrees of freedom (JCGM 100, G.3), by default the
    normal distribution. Raises ValueError unless 0 < risk < 1 and dof > 0.
    """
    risk, dof = np.asarray(risk, dtype=np.float64), np.asarray(dof, dtype=np.float64)
    if not np.all((risk > 0) & (risk < 1)):
        raise ValueError("risk must lie between 0 and 1")
    if not np.all(dof > 0):
        raise ValueError("degrees of freedom must be above 0")
    factor = np.where(np.isinf(dof), -ndtri(risk), -stdtrit(dof, risk))
    return np.asarray(factor, dtype=np.float64)


def acceptance_limit(
    limit: ArrayLike, u: ArrayLike, risk: ArrayLike, *, dof: ArrayLike = np.inf
) -> NDArray[np.float64]:
    """Return the highest value that may be accepted under an upper limit (guarded acceptance).

    limit - k·u with k the one-sided ``coverage_factor``, JCGM 106:2012, 8.3.2; a
    value there lies past the limit with probability ``risk``. Raises ValueError
    for a negative standard uncertainty or a risk outside 0 to 1.
    """
    return np.asarray(limit, dtype=np.float64) - coverage_factor(risk, dof=dof) * _not_negative(u)


def accepted_risk(limit: Limit, kitchen_risk: float) -> float:
    """Return the probability α of passing ``limit`` that is accepted.

    Binding limits and guidance are never judged at more than 5 %, whatever the
    kitchen chose, so that simple acceptance (50 %) is not to be had for them; a
    house limit is judged at the kitchen's own risk.
    """
    return kitchen_risk if limit.force is Force.HOUSE else min(kitchen_risk, HIGHEST_RISK)


def _share_below(distance: NDArray[np.float64], sd: NDArray[np.float64]) -> NDArray[np.float64]:
    certain = (np.sign(distance) + 1) / 2
    spread = np.where(sd > 0, sd, 1.0)
    return np.asarray(np.where(sd > 0, ndtr(distance / spread), certain), dtype=np.float64)


def _not_negative(sd: ArrayLike) -> NDArray[np.float64]:
    sd = np.asarray(sd, dtype=np.float64)
    if np.any(sd < 0):
        raise ValueError("a standard uncertainty cannot be negative")
    return sd
