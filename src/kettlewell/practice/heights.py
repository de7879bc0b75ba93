"""Whether the interval of a service's highest TPC is honest."""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.practice.calibration import Z_90, Watched
from kettlewell.practice.kitchens import Practice
from kettlewell.practice.rules import Threshold
from kettlewell.practice.run import run
from kettlewell.practice.watch import Upkeep, Watch

CHANGED_AT_PCT = (19.0, 24.0)
HEAVY_A_DAY = 0.10  # of the bath, drawn on a usual day: chosen
HIGH_PCT = 19.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Heights:
    """The highest TPC of N services in K kitchens with F fryers, (N, K, F), beside its 90 % interval.

    ``heavy`` (K, F) fryers turn much of their oil over.
    """

    highest_pct: Array
    low_pct: Array
    high_pct: Array
    heavy: Mask

    @property
    def everywhere(self) -> Mask:
        """All of them."""
        return np.ones(self.highest_pct.shape, bool)

    @property
    def of_heavy(self) -> Mask:
        """Those of fryers that turn much of their oil over."""
        return np.broadcast_to(self.heavy, self.highest_pct.shape)

    @property
    def near_the_limit(self) -> Mask:
        """Those above 19 %."""
        return np.asarray(self.highest_pct > HIGH_PCT)

    def held(self, where: Mask) -> float:
        """Return the share of intervals that hold the truth ``where``; nan where there is none."""
        within = (self.low_pct <= self.highest_pct) & (self.highest_pct <= self.high_pct)
        return float(within[where].mean()) if where.any() else np.nan

    def above(self, where: Mask) -> float:
        """Return the share of truths above the upper end of their interval ``where``; nan where none."""
        return float((self.highest_pct > self.high_pct)[where].mean()) if where.any() else np.nan


def try_heights(
    rng: np.random.Generator, practice: Practice, *, care: Upkeep, every_services: int
) -> Heights:
    """Return how high services went, and between what ends that was expected as they began.

    Each kitchen changes at a reading of its own, whatever we would say.
    """
    watch = Watch(practice=practice, care=care)
    rule = Threshold(practice=practice, at_pct=rng.uniform(*CHANGED_AT_PCT, (len(practice.draw), 1)))
    times, ends = range(1, practice.services, every_services), []

    def note(t: int) -> None:
        if t in times:
            coming = watch.forecast(t, 1).at(0)
            ends.append((coming.tpc_quantile(-Z_90), coming.tpc_quantile(Z_90)))

    course = run(practice, Watched(practice=practice, rule=rule, watch=watch, listeners=(), note=note))
    low, high = (np.stack(values) for values in zip(*ends, strict=True))
    a_day = practice.draw * practice.load.mean(axis=0) * practice.rota.per_day
    return Heights(
        highest_pct=course.highest_pct[list(times)], low_pct=low, high_pct=high, heavy=a_day > HEAVY_A_DAY
    )
