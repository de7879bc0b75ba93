"""Limits: rules as data, which of them judge a fryer, and the decision with its guard band."""

from kettlewell.core.limits.decision import (
    acceptance_limit,
    accepted_risk,
    conformity_probability,
    coverage_factor,
    passing_probability,
)
from kettlewell.core.limits.judged import judge_limits
from kettlewell.core.limits.rules import jurisdictions, limits_in, limits_of, packaged_limits
from kettlewell.core.limits.values import FryerLimits, LimitNote, LimitStatus, NoteCode, OilLimit, Quantity

__all__ = [
    "FryerLimits",
    "LimitNote",
    "LimitStatus",
    "NoteCode",
    "OilLimit",
    "Quantity",
    "acceptance_limit",
    "accepted_risk",
    "conformity_probability",
    "coverage_factor",
    "judge_limits",
    "jurisdictions",
    "limits_in",
    "limits_of",
    "packaged_limits",
    "passing_probability",
]
