"""What checks in reference oil and the laboratory will find in practice kitchens, drawn in advance."""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.arrays import Array, Index

READINGS = 3
SAMPLE_READINGS = 2
LOT_DAYS = 365


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """How well reference oil and the laboratory see.

    ``electronics_share`` of the variance of the kitchens' first offsets lies in the electronics,
    which wander and show in reference oil; the rest is how the meter takes hot used oil.
    """

    electronics_share: float = 0.5
    reference_u_pct: float = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """What would be found on each of D days in K kitchens.

    Truth (D, K): ``electronics_pct`` of the offset, were the meter never adjusted, and the error
    of the ``reference_pct`` oil in use. Drawn in advance: ``check_noise_pct`` (2, D, K, 3) of the
    readings as found and as left, ``control_noise_pct`` (D, K, 3) of those in control oil,
    ``sample_noise_pct`` (2, D, K) of those of a sample,
    ``set_error_pct`` (D, K) that an adjustment leaves, and the laboratory's relative error
    ``laboratory`` (D, K), independent from sample to sample.
    Known to everybody: ``lot`` (D, K) of the reference oil and its standard uncertainty.
    """

    electronics_pct: Array
    reference_pct: Array
    check_noise_pct: Array
    control_noise_pct: Array
    sample_noise_pct: Array
    set_error_pct: Array
    laboratory: Array
    lot: Index
    reference_u_pct: float


def draw_findings(
    rng: np.random.Generator,
    seen: Shown,
    *,
    offset_pct: Array,
    repeatability_pct: Array,
    resolution_pct: float,
) -> Findings:
    """Return what is found of meters with these offsets (D, K) and repeatabilities (K, 1)."""
    days, kitchens = offset_pct.shape
    lot = draw_lots(rng, days, kitchens)
    errors = seen.reference_u_pct * rng.standard_normal((int(lot.max()) + 1, kitchens))
    control = rng.spawn(1)[0]  # drawn apart, so that a seed still draws what it drew
    scatter = repeatability_pct[:, 0] / np.sqrt(READINGS) * rng.standard_normal((days, kitchens))
    return Findings(
        electronics_pct=draw_electronics(rng, seen.electronics_share, offset_pct),
        reference_pct=np.take_along_axis(errors, lot, axis=0),
        check_noise_pct=repeatability_pct * rng.standard_normal((2, days, kitchens, READINGS)),
        control_noise_pct=repeatability_pct * control.standard_normal((days, kitchens, READINGS)),
        sample_noise_pct=repeatability_pct[:, 0] * rng.standard_normal((SAMPLE_READINGS, days, kitchens)),
        set_error_pct=scatter + resolution_pct * rng.uniform(-0.5, 0.5, (days, kitchens)),
        laboratory=PACKAGED.laboratory.sd * rng.standard_normal((days, kitchens)),
        lot=lot,
        reference_u_pct=seen.reference_u_pct,
    )


def draw_electronics(rng: np.random.Generator, share: float, offset_pct: Array) -> Array:
    """Return the electronics' part (D, K) of offsets: all of the walk, and a ``share`` of the start.

    The start is split so that the electronics' part and the rest do not depend on each other.
    """
    start = offset_pct[0]
    apart = np.sqrt(share * (1 - share)) * start.std() * rng.standard_normal(start.shape)
    return np.asarray(offset_pct - (1 - share) * start + apart)


def draw_lots(rng: np.random.Generator, days: int, kitchens: int) -> Index:
    """Return the number of the lot (D, K) in use: a new one each year, on a day of the kitchen's own."""
    day = np.arange(days)[:, None] + rng.integers(LOT_DAYS, size=kitchens)
    return day // LOT_DAYS
