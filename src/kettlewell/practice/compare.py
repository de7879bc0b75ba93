"""Rules compared on the same practice kitchens, on the same days."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from kettlewell.core.arrays import Array
from kettlewell.practice.kitchens import Practice, draw_practice
from kettlewell.practice.rules import Calendar, Clairvoyant, Ours, Threshold
from kettlewell.practice.run import Rule, run
from kettlewell.practice.score import Measures, Tally, bounds, measures, resamples, tally

RISKS = (0.01, 0.025, 0.05, 0.10, 0.20)
THRESHOLDS_PCT = (14.0, 16.0, 18.0, 20.0, 22.0, 24.0)
EVERY_DAYS = (4, 6, 8, 10, 12)


class RuleKind(StrEnum):
    """A family of rules."""

    CLAIRVOYANT = "clairvoyant"
    OURS = "ours"
    THRESHOLD = "threshold"
    CALENDAR = "calendar"


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleScore:
    """What a rule cost and risked; the kitchens, drawn again, bound it by ``low`` and ``high`` (95 %).

    ``setting`` is the risk α of our verdicts, the reading in % of a threshold, the days of
    a calendar rule, None for the clairvoyant.
    """

    rule: RuleKind
    setting: float | None
    measured: Measures
    low: Measures
    high: Measures


def compare_rules(
    rng: np.random.Generator, *, kitchens: int, fryers: int, days: int, risks: Sequence[float] = RISKS
) -> tuple[RuleScore, ...]:
    """Return how our verdicts and the usual rules do, on the fryers that ever reach the limit.

    Every rule runs the same ``kitchens`` × ``fryers`` over the same ``days``, which are drawn
    beforehand, and sees their log only. 50 kitchens of 4 fryers over 150 days take some seconds.
    Raises ValueError where no fryer reaches the limit.
    """
    practice = draw_practice(rng, kitchens=kitchens, fryers=fryers, days=days)
    best = run(practice, Clairvoyant(practice=practice))
    if not best.changed.any():
        raise ValueError(
            "No fryer reaches the limit: there is nothing to compare. Try more days or kitchens."
        )
    weights = resamples(rng, kitchens)
    clairvoyant = score(RuleKind.CLAIRVOYANT, None, tally(practice, best, best), weights)
    others = (
        score(kind, setting, tally(practice, run(practice, rule), best), weights)
        for kind, setting, rule in rules(practice, risks)
    )
    return clairvoyant, *others


def rules(practice: Practice, risks: Sequence[float] = RISKS) -> Iterator[tuple[RuleKind, float, Rule]]:
    """Yield every rule that is compared but the clairvoyant, with its setting."""
    for risk in risks:
        yield RuleKind.OURS, risk, Ours(practice=practice, risk=risk)
    for at_pct in THRESHOLDS_PCT:
        yield RuleKind.THRESHOLD, at_pct, Threshold(practice=practice, at_pct=at_pct)
    for days in EVERY_DAYS:
        yield RuleKind.CALENDAR, days, Calendar(practice=practice, every_days=days)


def score(rule: RuleKind, setting: float | None, sums: Tally, weights: Array) -> RuleScore:
    """Return a rule's measures with their bounds over the resampled kitchens."""
    low, high = bounds([measures(sums, weight) for weight in weights])
    return RuleScore(rule=rule, setting=setting, measured=measures(sums), low=low, high=high)
