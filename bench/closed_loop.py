"""The closed loop: what following the verdicts discards and risks, beside thresholds and the calendar.

python bench/closed_loop.py [KITCHENS] [SEED]    about 8 minutes for 3000 kitchens of 4 fryers
"""

import sys
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import chain

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.practice.bath import chosen, filled, serve
from kettlewell.practice.compare import RISKS, rules
from kettlewell.practice.kitchens import LIMIT_PCT, Practice, draw_practice
from kettlewell.practice.rules import Clairvoyant, Ours
from kettlewell.practice.run import Rule, run
from kettlewell.practice.score import Measures, at_past_share, bounds, measures, resamples, tally
from kettlewell.practice.watch import Upkeep

FRYERS, DAYS = 4, 150
PAST_SHARE = 0.002
GAINS_TAKEN = (0.89, 0.90, 0.91, 0.92)
RISKS_METER_KNOWN = (*RISKS, 0.25, 0.30)
HEADER = """\
| rule | setting | oil discarded, × clairvoyant | hot hours past the limit, % | services > 1 point past, % |
|---|---|---|---|---|"""


@dataclass(slots=True, kw_only=True)
class AllButGain(Clairvoyant):
    """Know the future and all of the meter but its gain, taken for ``gain``: a bound for any rule."""

    gain: float

    def before(self, t: int, _reading_pct: Array, /) -> Mask:
        """Return the baths that would pass the limit in service ``t`` were the gain as taken."""
        shown = self.practice.gain * serve(self.practice, t, self.bath).highest_pct
        change = np.asarray(shown > self.gain * LIMIT_PCT)
        self.bath = serve(self.practice, t, chosen(change, filled(self.practice, t), self.bath)).bath
        return change


def with_true_meter(practice: Practice) -> Practice:
    """Return the same kitchens with a meter of gain 1 and offset 0."""
    return replace(practice, gain=np.ones_like(practice.gain), offset_pct=np.zeros_like(practice.offset_pct))


def line(rule: str, setting: str, best: Measures, low: Measures, high: Measures) -> str:
    """Return a row of the table."""

    def cell(name: str, unit: float, digits: int) -> str:
        value, least, most = (unit * getattr(one, name) for one in (best, low, high))
        if np.isnan(value):
            return "not reached"
        return f"{value:.{digits}f} ({least:.{digits}f}-{most:.{digits}f})"

    return (
        f"| {rule} | {setting} | {cell('discard_ratio', 1, 3)} | {cell('past_share', 100, 3)} "
        f"| {cell('far_past_share', 100, 3)} |"
    )


def table(practice: Practice, contest: Iterable[tuple[str, float, Rule]], weights: np.ndarray) -> None:
    """Print the scores of all rules, and each family of them at 0.20 % of hours."""
    best = run(practice, Clairvoyant(practice=practice))
    reaching = best.changed.any(axis=0)
    print(f"\n{reaching.sum()} of {reaching.size} fryers reach the limit.\n\n{HEADER}")
    families = defaultdict(list)
    for family, setting, rule in contest:
        sums = tally(practice, run(practice, rule), best)
        families[family].append(sums)
        drawn = [measures(sums, weight) for weight in weights]
        print(line(family, f"{setting:g}", measures(sums), *bounds(drawn)), flush=True)
    for family, frontier in families.items():
        there = at_past_share(frontier, PAST_SHARE)
        drawn = [at_past_share(frontier, PAST_SHARE, weight) for weight in weights]
        print(line(f"**{family}**", "at 0.20 % of hours", there, *bounds(drawn)), flush=True)


def main(kitchens: int = 3000, seed: int = 2) -> None:
    """Print both tables: a meter as practice kitchens have it, and one that is known."""
    rng = np.random.default_rng(seed)
    practice = draw_practice(rng, kitchens=kitchens, fryers=FRYERS, days=DAYS)
    weights = resamples(rng, kitchens)
    print(f"{kitchens} kitchens of {FRYERS} fryers, {DAYS} days, seed {seed}; in brackets 95 % (bootstrap).")
    print("\nA meter as it comes:")
    bound = (("all but the gain", gain, AllButGain(practice=practice, gain=gain)) for gain in GAINS_TAKEN)
    table(practice, chain(rules(practice), bound), weights)
    print("\nGain 1 and offset 0, and the program knows:")
    known = with_true_meter(practice)
    ours = (
        (risk, Ours(practice=known, risk=risk, care=Upkeep(meter_known=True))) for risk in RISKS_METER_KNOWN
    )
    table(known, (("ours", risk, rule) for risk, rule in ours), weights)


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
