"""Many worlds: what the verdicts discard and risk in many kinds of kitchens, and if intervals hold.

python bench/worlds.py [KITCHENS] [WORLD …]    about a minute a world for 150 kitchens on one core
"""

import sys
from collections.abc import Sequence

import numpy as np

from kettlewell.practice.alike import said_of, unlike
from kettlewell.practice.heights import Heights, try_heights
from kettlewell.practice.kitchens import Practice, draw_practice
from kettlewell.practice.rules import Clairvoyant, Ours
from kettlewell.practice.run import run
from kettlewell.practice.score import Tally, at_past_share, measures, tally
from kettlewell.practice.worlds import DAYS, SEEDS, WORLDS, World

RISKS = (0.01, 0.05, 0.10, 0.25, 0.45)
PAST_SHARE = 0.002
EVERY_SERVICES = 5
ASSESSED, ASSESSED_EVERY, ASSESSED_RISK = 2, 37, 0.10
HEADER = f"""
| world | use | at 0.20 % of hours, × | α = 5 %: × | hours past, % | α = 10 %: × | hours past, % \
| interval holds, % (above it): all | heavy turnover | above 19 % | verdicts `assess` tells otherwise |
{"|---" * 11}|"""


def drawn(world: World, kitchens: int) -> tuple[np.random.Generator, Practice]:
    """Return kitchens of a world, and what goes on drawing."""
    rng = np.random.default_rng(SEEDS[world.use])
    return rng, draw_practice(rng, kitchens=kitchens, fryers=world.fryers, days=DAYS, habits=world.habits)


def loop_of(world: World, practice: Practice) -> dict[float, Tally]:
    """Return the sums at each risk."""
    best = run(practice, Clairvoyant(practice=practice))
    return {
        risk: tally(practice, run(practice, Ours(practice=practice, risk=risk, care=world.care)), best)
        for risk in RISKS
    }


def loop_cells(sums: dict[float, Tally]) -> list[str]:
    """Return the oil at 0.20 % of hours, and oil and hours past at α = 5 and 10 %."""
    there = at_past_share(list(sums.values()), PAST_SHARE).discard_ratio
    cells = ["not reached" if np.isnan(there) else f"{there:.3f}"]
    for risk in (0.05, 0.10):
        scored = measures(sums[risk])
        cells += [f"{scored.discard_ratio:.3f}", f"{100 * scored.past_share:.3f}"]
    return cells


def height_cells(heights: Heights) -> list[str]:
    """Return by stratum how often the interval of the highest TPC held, and how often it was too low."""
    strata = (heights.everywhere, heights.of_heavy, heights.near_the_limit)
    return [
        f"{100 * heights.held(where):.1f} ({100 * heights.above(where):.1f})" if where.any() else "none"
        for where in strata
    ]


def assessed_cell(world: World, kitchens: int) -> str:
    """Return how many verdicts of a few kitchens `assess` tells otherwise than the rule that ran them.

    Samples that are not bottled are no part of these books, so that they are left aside; so is a meter known
    by heart.
    """
    if world.care.meter_known:
        return "not asked"
    _, practice = drawn(world, min(ASSESSED, kitchens))
    times = range(2, practice.services, ASSESSED_EVERY)
    said = list(said_of(practice, risk=ASSESSED_RISK, care=world.care, times=times))
    differ, apart = unlike(said)
    return f"{differ} of {len(said)} (odds apart by {apart:.0e})"


def row(name: str, world: World, kitchens: int) -> str:
    """Return the row of a world."""
    rng, practice = drawn(world, kitchens)
    heights = try_heights(rng, practice, care=world.care, every_services=EVERY_SERVICES)
    cells = [*loop_cells(loop_of(world, practice)), *height_cells(heights), assessed_cell(world, kitchens)]
    broken = ", broken" if world.broken else ""
    return f"| {name} | {world.use.value}{broken} | {' | '.join(cells)} |"


def main(kitchens: int = 150, names: Sequence[str] = ()) -> None:
    """Print the table, one row a world."""
    seeds = ", ".join(f"{seed} to {use.value}" for use, seed in SEEDS.items())
    print(f"{kitchens} kitchens of each world over {DAYS} days; seeds {seeds}.\n{HEADER}")
    for name in names or WORLDS:
        print(row(name, WORLDS[name], kitchens), flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 150, sys.argv[2:])
