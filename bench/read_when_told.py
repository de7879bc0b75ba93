"""Reading every morning against reading only when told, at the same share of hours past the limit.

python bench/read_when_told.py [KITCHENS] [SEED]    about 2 minutes for 1000 kitchens of 4 fryers
"""

import sys

import numpy as np

from kettlewell.practice.kitchens import draw_practice
from kettlewell.practice.rules import Clairvoyant, Ours
from kettlewell.practice.run import run
from kettlewell.practice.score import at_past_share, measures, tally

FRYERS, DAYS = 4, 150
PAST_SHARE = 0.002
RISKS = (0.05, 0.10, 0.15, 0.20, 0.30)
HEADER = """
| reading | α | oil, × clairvoyant | hours past, % | services > 1 point past, % | readings a day |
|---|---|---|---|---|---|"""


def main(kitchens: int = 1000, seed: int = 2) -> None:
    """Print both frontiers and how they compare at 0.20 % of hours."""
    practice = draw_practice(np.random.default_rng(seed), kitchens=kitchens, fryers=FRYERS, days=DAYS)
    best = run(practice, Clairvoyant(practice=practice))
    print(f"{kitchens} kitchens of {FRYERS} fryers over {DAYS} days, seed {seed}.", HEADER)
    there = {}
    for name, when_told in (("every morning", False), ("when told", True)):
        sums = [
            tally(practice, run(practice, Ours(practice=practice, risk=risk, when_told=when_told)), best)
            for risk in RISKS
        ]
        there[name] = at_past_share(sums, PAST_SHARE)
        for risk, one in [
            *zip(map(str, RISKS), map(measures, sums), strict=True),
            ("at 0.20 %", there[name]),
        ]:
            print(
                f"| {name} | {risk} | {one.discard_ratio:.3f} | {100 * one.past_share:.3f} "
                f"| {100 * one.far_past_share:.3f} | {2 * one.readings_share:.3f} |",
                flush=True,
            )
    daily, told = there.values()
    print(f"\nreadings when told: {told.readings_share / daily.readings_share:.1%} of those every morning")
    print(f"more oil discarded: {100 * (told.discard_ratio - daily.discard_ratio):.1f} points")


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
