"""Surprises of one sign in several baths on one day: they speak of the meter, not of the oil."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array
from kettlewell.core.belief.seen import Doubt, Of, Seen

DAY_S = 86400.0
TAKEN_BADLY = (Doubt.UNSOUND, Doubt.OUT_OF_RANGE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A meter that surprised alike in several ``baths`` (their places), by a mean ``surprise_pct``."""

    baths: frozenset[int]
    surprise_pct: float


def meters_moved(seen: Seen, now_s: float, known: Coefficients) -> Mapping[int, Moved]:
    """Return the meters of one kitchen, by their places, that surprised alike in several baths of late.

    Of the readings within a day before ``now_s``, POSIX seconds, the first of each bath counts, unless the
    way it was taken leaves a doubt. All have to stand on one side of what was expected, and even the least
    by ``common_surprise``: one wet reading among several is no such case.
    """
    found = {}
    first = first_of_the_day(seen.readings[0], now_s)
    for meter in np.unique(first[~np.isnan(first[:, Of.METER]), Of.METER]).astype(int):
        own = first[:, Of.METER] == meter
        surprise_pct = first[own, Of.INNOVATION]
        alike = (np.sign(surprise_pct) == np.sign(surprise_pct[0])).all()
        least_pct = np.abs(surprise_pct).min()
        if own.sum() >= known.common_baths.value and alike and least_pct >= known.common_surprise.value:
            baths = frozenset(np.flatnonzero(own).tolist())
            found[int(meter)] = Moved(baths=baths, surprise_pct=float(surprise_pct.mean()))
    return found


def first_of_the_day(readings: Array, now_s: float) -> Array:
    """Return of V vessels' readings (V, N, 8) the first within a day, (V, 8); nan where there is none."""
    at_s, doubt = readings[..., Of.AT_S], readings[..., Of.DOUBT]
    counts = (at_s > now_s - DAY_S) & ~np.isin(doubt, TAKEN_BADLY)
    oldest = counts.shape[1] - 1 - counts[:, ::-1].argmax(axis=1)
    first = np.take_along_axis(readings, oldest[:, None, None], axis=1)[:, 0]
    return np.where(np.any(counts, axis=1, keepdims=True), first, np.nan)
