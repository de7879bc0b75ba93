"""What a rule cost and risked, beside one that knows the future."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from functools import partial

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.practice.kitchens import LIMIT_PCT, Practice
from kettlewell.practice.run import Course

FAR_PAST_PCT = LIMIT_PCT + 1.0
RESAMPLES = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """Sums of each kitchen (K,) over its fryers that ever reach the limit.

    ``discarded_kg`` of oil under the rule, ``needed_kg`` under the clairvoyant;
    ``past_h`` of ``hot_h`` past the limit; ``far_past`` of ``services`` that ended more
    than 1 point past it; ``readings`` taken.
    """

    discarded_kg: Array
    needed_kg: Array
    past_h: Array
    hot_h: Array
    far_past: Array
    services: Array
    readings: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """Discarded oil relative to the clairvoyant's, and shares of hours, services and readings.

    ``past_share`` of the hot hours passed the limit; ``far_past_share`` of the services
    ended more than 1 point past it; ``readings_share`` of the services had a reading before.
    """

    discard_ratio: float
    past_share: float
    far_past_share: float
    readings_share: float


def tally(practice: Practice, course: Course, clairvoyant: Course) -> Tally:
    """Return the sums of a rule's course, on the fryers the clairvoyant changes at least once."""
    reaches = clairvoyant.changed.any(axis=0)

    def total(what: Array | Mask, weight: Array | float = 1.0) -> Array:
        return np.asarray((what.sum(axis=0) * weight * reaches).sum(axis=-1), float)

    return Tally(
        discarded_kg=total(course.changed, practice.mass_kg),
        needed_kg=total(clairvoyant.changed, practice.mass_kg),
        past_h=total(course.past_h),
        hot_h=total(course.hot_h),
        far_past=total(course.tpc_after_pct > FAR_PAST_PCT),
        services=practice.services * reaches.sum(axis=-1).astype(float),
        readings=total(~np.isnan(course.reading_pct) + course.again),
    )


def measures(sums: Tally, weight: Array | None = None) -> Measures:
    """Return the measures over all kitchens, each counted ``weight`` (K,) times; nan of nothing."""
    each = np.ones(len(sums.hot_h)) if weight is None else weight

    def ratio(part: Array, whole: Array) -> float:
        total = float(each @ whole)
        return float(each @ part) / total if total else np.nan

    return Measures(
        discard_ratio=ratio(sums.discarded_kg, sums.needed_kg),
        past_share=ratio(sums.past_h, sums.hot_h),
        far_past_share=ratio(sums.far_past, sums.services),
        readings_share=ratio(sums.readings, sums.services),
    )


def at_past_share(sums: Sequence[Tally], past_share: float, weight: Array | None = None) -> Measures:
    """Return a frontier's measures where its share of hot hours past the limit is as given.

    Straight in the logarithm of the share; nan where the frontier does not reach there.
    """
    points = sorted((measures(tally, weight) for tally in sums), key=lambda point: point.past_share)
    logs = np.log([max(point.past_share, 1e-9) for point in points])

    def there(values: list[float]) -> float:
        return float(np.interp(np.log(past_share), logs, values, left=np.nan, right=np.nan))

    return replace(combined(points, there), past_share=past_share)


def resamples(rng: np.random.Generator, kitchens: int, count: int = RESAMPLES) -> Array:
    """Return how often each kitchen was drawn (count, K), drawing K with replacement (bootstrap)."""
    return rng.multinomial(kitchens, np.full(kitchens, 1 / kitchens), count).astype(float)


def bounds(drawn: Sequence[Measures]) -> tuple[Measures, Measures]:
    """Return the central 95 % of the measures of resampled kitchens."""
    low, high = (combined(drawn, partial(np.nanquantile, q=q)) for q in (0.025, 0.975))
    return low, high


def combined(points: Sequence[Measures], how: Callable[[list[float]], float]) -> Measures:
    """Return each measure of ``points`` made one by ``how``."""
    values = {f.name: float(how([getattr(point, f.name) for point in points])) for f in fields(Measures)}
    return Measures(**values)
