"""What goes wrong with meters, bottles and pens in practice kitchens, drawn in advance."""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.practice.chances import chance

WET_PCT = (1.5, 8.0)
HUNDREDFOLD, TENFOLD = 100.0, 10.0
OUTLYING_CV = 0.172  # of 35 laboratories untrimmed (Kaufmann), taken for those that lay outside
NOT_BEFORE_DAY = 15  # a meter sticks once the kitchen is under way: invented, as all here


@dataclass(frozen=True, slots=True, kw_only=True)
class Mishaps:
    """How often things go wrong; shares are probabilities, ranges are of each kitchen's own.

    ``load_slip`` of loads are written a hundredfold (1,500 for 15.00), ``reading_slip`` of readings
    below 10 tenfold (65 for 6.5); ``copied`` of readings repeat what was written last. The meter is
    ``stuck_days`` on end, once, at the figure it showed first. ``wet_pair`` of occasions are wet for
    the first reading and all that follow it at once. ``swapped`` of the laboratory's results are of
    another fryer of the kitchen. All results of a kitchen's laboratory are off by one bias, of
    ``laboratory_cv`` between laboratories, of which ``outlying`` are much worse.
    """

    load_slip: float = 0.0
    reading_slip: float = 0.0
    copied: tuple[float, float] = (0.0, 0.0)
    stuck_days: int = 0
    wet_pair: float = 0.0
    swapped: float = 0.0
    laboratory_cv: float = 0.0
    outlying: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Slips:
    """Where things go wrong over T services in K kitchens of F fryers, D days.

    ``load_factor`` (T, K, F) of what is written of a load; ``tenfold`` and ``copied`` (T, K, F)
    readings; ``stuck`` (T, K, 1) meters; ``wet_pct`` (T, K, F) of water that stays for the readings
    of an occasion; ``swapped`` (D, K) bottles; ``laboratory`` (K,) relative bias of all results.
    """

    load_factor: Array
    tenfold: Mask
    copied: Mask
    stuck: Mask
    wet_pct: Array
    swapped: Mask
    laboratory: Array

    @classmethod
    def none(cls, shape: tuple[int, int, int], days: int) -> "Slips":
        """Return that nothing goes wrong in services (T, K, F) of so many days."""
        never = np.zeros(shape, bool)
        return cls(
            load_factor=np.ones(shape),
            tenfold=never,
            copied=never,
            stuck=never[..., :1],
            wet_pct=np.zeros(shape),
            swapped=np.zeros((days, shape[1]), bool),
            laboratory=np.zeros(shape[1]),
        )


def draw_slips(rng: np.random.Generator, mishaps: Mishaps, shape: tuple[int, int, int], days: Index) -> Slips:
    """Return what goes wrong in services (T, K, F) on ``days`` (T,)."""
    kitchens, last = shape[1], int(days[-1]) + 1
    return Slips(
        load_factor=np.where(rng.random(shape) < mishaps.load_slip, HUNDREDFOLD, 1.0),
        tenfold=rng.random(shape) < mishaps.reading_slip,
        copied=chance(rng, shape, mishaps.copied),
        stuck=draw_stretch(rng, days, kitchens, mishaps.stuck_days),
        wet_pct=(rng.random(shape) < mishaps.wet_pair) * rng.uniform(*WET_PCT, shape),
        swapped=rng.random((last, kitchens)) < mishaps.swapped,
        laboratory=draw_laboratories(rng.spawn(1)[0], mishaps, kitchens),
    )


def draw_laboratories(rng: np.random.Generator, mishaps: Mishaps, kitchens: int) -> Array:
    """Return by which share (K,) all results of each kitchen's laboratory are off."""
    outlying = rng.random(kitchens) < mishaps.outlying
    return np.where(outlying, OUTLYING_CV, mishaps.laboratory_cv) * rng.standard_normal(kitchens)


def draw_stretch(rng: np.random.Generator, days: Index, kitchens: int, length_days: int) -> Mask:
    """Return which services (T, K, 1) on ``days`` (T,) lie in a stretch of days of each kitchen's own."""
    last = max(int(days[-1]) + 1 - length_days, NOT_BEFORE_DAY + 1)
    first = rng.integers(NOT_BEFORE_DAY, last, (1, kitchens, 1))
    since = days[:, None, None] - first
    return np.asarray((since >= 0) & (since < length_days))
