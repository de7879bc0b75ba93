"""Practice kitchens: the whole chain tried where the truth is known, beside other rules."""

from kettlewell.core.practice.compare import RuleKind, RuleScore, compare_rules
from kettlewell.core.practice.score import Measures

__all__ = ["Measures", "RuleKind", "RuleScore", "compare_rules"]
