"""Whether a look-back tells honestly which verdicts no longer stand, on practice kitchens.

python bench/look_back.py [KITCHENS]    about a quarter of an hour for 100 kitchens
"""

import sys
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from kettlewell.core.metering.paths import PathKind
from kettlewell.core.outlook.lookback import IN_DOUBT
from kettlewell.practice.failed_checks import Looked, WentOff, look_back_in_practice

CASES = (
    (WentOff.DRIFT, 0.25),
    (WentOff.WANDER, 0.25),
    (WentOff.STEP, 0.25),
    (WentOff.DRIFT, 0.5),
    (WentOff.WANDER, 0.5),
    (WentOff.STEP, 0.5),
)
SEEDS = {"in view": 1, "kept back": 20261126}
EMPTY = 20  # fewer verdicts in a bin say nothing of it


def look(case: tuple[int, WentOff, float, int]) -> Looked:
    """Return how looking back did in one case."""
    seed, how, u_pct, kitchens = case
    return look_back_in_practice(np.random.default_rng(seed), how, kitchens=kitchens, u_pct=u_pct)


def miscalibration(found: Looked) -> tuple[float, int]:
    """Return the widest gap between probability and truth over ten bins, and how many bins counted."""
    bins = np.minimum((found.not_stand * 10).astype(int), 9)
    full = [bins == n for n in range(10) if (bins == n).sum() >= EMPTY]
    gaps = [abs(found.not_stand[one].mean() - found.fell[one].mean()) for one in full]
    return max(gaps), len(gaps)


def row(seed: str, how: WentOff, u_pct: float, found: Looked) -> str:
    """Return one line of the table."""
    kind = PathKind.STEP if how is WentOff.STEP else PathKind.DRIFT
    named = found.not_stand > IN_DOUBT[kind]
    gap, bins = miscalibration(found)
    precision, recall = found.fell[named].mean(), named[found.fell].mean()
    return (
        f"| {seed} | {how.value} | {u_pct} | {len(found.fell)} | {found.fell.sum()} "
        f"| {100 * precision:.0f} % | {100 * recall:.0f} % | {100 * gap:.0f} points in {bins} bins |"
    )


def main(kitchens: int = 100) -> None:
    """Print the table."""
    cases = [(seed, how, u_pct) for seed in SEEDS for how, u_pct in CASES]
    print(
        "| seeds | went off by | u of a check | verdicts | of them wrong | precision | recall | widest gap |"
    )
    print("|---|---|---|---|---|---|---|---|")
    with ProcessPoolExecutor(2) as pool:
        found = pool.map(look, [(SEEDS[seed], how, u_pct, kitchens) for seed, how, u_pct in cases])
        for (seed, how, u_pct), one in zip(cases, found, strict=True):
            print(row(seed, how, u_pct, one), flush=True)


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
