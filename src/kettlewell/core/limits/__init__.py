"""Limits: rules as data, which of them judge a fryer, and the decision with its guard band."""

from kettlewell.core.limits.decision import (
    acceptance_limit,
    accepted_risk,
    conformity_probability,
    coverage_factor,
    passing_probability,
)
from kettlewell.core.limits.judged import judge_limits, nothing_judged
from kettlewell.core.limits.rules import jurisdictions, limits_in, limits_of, packaged_limits
from kettlewell.core.limits.values import JudgedLimit, LimitStatus, Quantity

__all__ = [
    "JudgedLimit",
    "LimitStatus",
    "Quantity",
    "acceptance_limit",
    "accepted_risk",
    "conformity_probability",
    "coverage_factor",
    "judge_limits",
    "jurisdictions",
    "limits_in",
    "limits_of",
    "nothing_judged",
    "packaged_limits",
    "passing_probability",
]
