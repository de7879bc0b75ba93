"""The one rule: what to do with a bath, from the odds and from what was read."""

from kettlewell.core.belief.seen import Doubt
from kettlewell.core.decision.rule import decide
from kettlewell.core.decision.values import (
    REASONS,
    URGENCY,
    Decided,
    Evidence,
    LimitsInForce,
    Reason,
    VerdictKey,
    in_force,
)

__all__ = [
    "REASONS",
    "URGENCY",
    "Decided",
    "Doubt",
    "Evidence",
    "LimitsInForce",
    "Reason",
    "VerdictKey",
    "decide",
    "in_force",
]
