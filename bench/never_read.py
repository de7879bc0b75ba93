"""How many changes of the closed loop are of fills never read: by the odds alone, since nobody read them.

python bench/never_read.py [KITCHENS] [SEED]    about a minute for 1000 kitchens of 4 fryers
"""

import sys
from dataclasses import dataclass

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.practice.kitchens import draw_practice
from kettlewell.practice.rules import Ours
from kettlewell.practice.run import run

FRYERS, DAYS = 4, 150
RISKS = (0.05, 0.10, 0.20)


@dataclass(slots=True, kw_only=True)
class Counted(Ours):
    """Ours, counting the changes it orders, and those of fills ``never_read``."""

    changes: int = 0
    never_read: int = 0

    def before(self, t: int, reading_pct: Array, /) -> Mask:
        """Return what ours returns."""
        unread = self.watch.seen.count == 0
        change = Ours.before(self, t, reading_pct)
        ordered = change | self.late
        self.changes += int(ordered.sum())
        self.never_read += int((ordered & unread).sum())
        return change


def main(kitchens: int = 1000, seed: int = 2) -> None:
    """Print the shares."""
    practice = draw_practice(np.random.default_rng(seed), kitchens=kitchens, fryers=FRYERS, days=DAYS)
    for risk in RISKS:
        rule = Counted(practice=practice, risk=risk)
        run(practice, rule)
        print(f"α {risk}: {rule.never_read} of {rule.changes} changes, {rule.never_read / rule.changes:.2%}")


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
