"""Days on which a kitchen should fry and of which nothing at all was written."""

from bisect import bisect_left
from collections.abc import Sequence
from itertools import groupby
from operator import attrgetter

import numpy as np

from kettlewell.book import Entry
from kettlewell.core.arrays import Array
from kettlewell.core.belief.filter import AFTER, BEFORE, HOURS, HOURS_VAR, TURNOVER, TURNOVER_VAR
from kettlewell.core.belief.services import StoodCold
from kettlewell.core.belief.week import Slot


def silent_days(
    slots: Sequence[Slot], entries: Sequence[Entry], *, stood_cold: StoodCold, before: int
) -> list[int]:
    """Return for each service how many days of frying on end, its own the last, nothing was written of.

    ``entries`` are in order. A day is of a service from its first one to the first of the next day that
    has one; days on which all fryers stood cold do not count. ``before`` is how many there had been.
    """
    days = [list(day) for _, day in groupby(slots, key=attrgetter("day"))]
    begins = [bisect_left(entries, day[0].begins, key=attrgetter("at")) for day in days]
    found: list[int] = []
    for day, first, last in zip(days, begins, [*begins[1:], len(entries)], strict=True):
        if last > first:
            before = 0
        elif any(slot.fryers - stood_cold(slot) for slot in day):
            before += 1
        found += [before] * len(day)
    return found


def yet_to_write(slots: Sequence[Slot], silent: Sequence[int]) -> list[int]:
    """Return the silent days up to each service, with none up to those of the last day."""
    return [0 if slot.day == slots[-1].day else days for slot, days in zip(slots, silent, strict=True)]


def gaps_end(silent: Sequence[int], before: int, asked_from: float) -> list[bool]:
    """Return with which services a gap of days ends of which nothing was written."""
    return [
        days == 0 and earlier >= asked_from
        for earlier, days in zip([before, *silent[:-1]], silent, strict=True)
    ]


def unsure(rows: Array, days: Sequence[int], spread: float) -> Array:
    """Return work rows (7, T, K, F) as uncertain as silent days leave them.

    Whether it was fried at all is one cause for all of them from the second on, so that the variances of
    n days add up to that of n times one.
    """
    later = np.maximum(np.array(days) - 1, 0)
    var = spread**2 * np.maximum(2 * later - 1, 0)[:, None, None]
    rows = rows.copy()
    rows[HOURS_VAR] += var * rows[HOURS] ** 2
    rows[TURNOVER_VAR] += var * (rows[BEFORE] + rows[TURNOVER] + rows[AFTER]) ** 2
    return rows
