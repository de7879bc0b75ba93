"""Practice kitchens: the whole chain tried where the truth is known, beside other rules."""

from kettlewell.practice.compare import RuleKind, RuleScore, compare_rules
from kettlewell.practice.score import Measures

__all__ = ["Measures", "RuleKind", "RuleScore", "compare_rules"]
