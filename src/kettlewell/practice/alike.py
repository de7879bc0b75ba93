"""Whether `assess` says of a practice kitchen's book what the rule made of its log."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from kettlewell.core import assess
from kettlewell.core.arrays import Array, Index
from kettlewell.core.decision import URGENCY, VerdictKey
from kettlewell.practice.books import control_lots, entries_of, kitchen_of, read_at
from kettlewell.practice.kitchens import Practice
from kettlewell.practice.rules import Ours
from kettlewell.practice.run import run
from kettlewell.practice.watch import Upkeep


@dataclass(slots=True, kw_only=True)
class Kept(Ours):
    """Ours, keeping the verdicts and odds before services ``times``, once the first readings are in."""

    times: Collection[int]
    kept: dict[int, tuple[Index, Array]] = field(default_factory=dict)

    def read(self, t: int, reading_pct: Array, again: int, /) -> None:
        """Do what ours does, and keep the verdicts."""
        Ours.read(self, t, reading_pct, again)
        if t in self.times and not again:
            self.kept[t] = self.verdicts(t)


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What the rule and `assess` said of one fryer before one service: verdicts and odds of passing."""

    rule: VerdictKey
    assessed: VerdictKey
    rule_passing: float
    assessed_passing: float


def said_of(practice: Practice, *, risk: float, care: Upkeep, times: Collection[int]) -> Iterator[Said]:
    """Yield what both said of every fryer before services ``times`` of open kitchens.

    Samples are no part of a book but as control oil, so that without it none is taken.
    """
    care = care if care.control else replace(care, laboratory_days=None)
    rule, checked = Kept(practice=practice, risk=risk, times=times, care=care), care.check_days is not None
    run(practice, rule)
    for k in range(len(practice.draw)):
        log = rule.watch.log
        kitchen = kitchen_of(practice, k, checked=checked, risk=risk, controls=control_lots(k, log))
        entries = entries_of(practice, k, log)
        for t, (verdicts, passed) in rule.kept.items():
            if practice.closed[t, k, 0]:
                continue
            for assessment in assess(kitchen, entries, now=read_at(practice.rota, t)):
                i = int(assessment.fryer.removeprefix("F"))
                yield Said(
                    rule=URGENCY[verdicts[k, i]],
                    assessed=assessment.verdict.key,
                    rule_passing=float(passed[0, k, i]),
                    assessed_passing=assessment.verdict.passing_probability,
                )


def unlike(said: Collection[Said]) -> tuple[int, float]:
    """Return in how many cases the verdicts differ, and by how much the odds do at most."""
    apart = [abs(each.rule_passing - each.assessed_passing) for each in said]
    return sum(each.rule is not each.assessed for each in said), float(np.max(apart))
