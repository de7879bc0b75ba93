"""What is left in a fill: services, hot hours and a date, each with its range."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from kettlewell.core.arrays import Array
from kettlewell.core.outlook.values import Life

LOW, MEDIAN, HIGH = 0.1, 0.5, 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """The coming services of one fryer, in order: names, times, and hot hours in each."""

    names: tuple[str, ...]
    begins: tuple[datetime, ...]
    ends: tuple[datetime, ...]
    hot_h: Array


def life_of(passed: Array, passed_now: float, coming: Coming, *, steady_below_limit: bool) -> Life:
    """Return the life of a fill from the probability (H,) of having passed a limit by each service's end."""
    found = [services_until(share, passed, passed_now) for share in (LOW, MEDIAN, HIGH)]
    low, median, high = found
    hours = [None if n is None else hours_in(n, coming) for n in found]
    dates = [None if n is None else date_of(n, coming) for n in found]
    return Life(
        services_low=low,
        services_median=median,
        services_high=high,
        hot_h_low=hours[0],
        hot_h_median=hours[1],
        hot_h_high=hours[2],
        ends_at_low=dates[0],
        ends_at_median=dates[1],
        ends_at_high=dates[2],
        never=median is None and steady_below_limit,
        horizon_services=len(passed),
    )


def services_until(share: float, passed: Array, passed_now: float) -> float | None:
    """Return after how many services the limit is passed with probability ``share``; None beyond.

    Between the ends of services the probability is taken as straight.
    """
    if passed_now >= share:
        return 0.0
    if len(passed) == 0 or passed[-1] < share:
        return None
    curve = np.concatenate([[passed_now], passed])
    i = int(np.argmax(curve >= share))
    return float(i - 1 + (share - curve[i - 1]) / (curve[i] - curve[i - 1]))


def hours_in(services: float, coming: Coming) -> float:
    """Return the hot hours in a number of coming services."""
    whole = int(services)
    rest = coming.hot_h[whole] * (services - whole) if whole < len(coming.hot_h) else 0.0
    return float(coming.hot_h[:whole].sum() + rest)


def date_of(services: float, coming: Coming) -> datetime:
    """Return when a number of coming services will have been fried."""
    whole = min(int(services), len(coming.ends) - 1)
    begins, ends = coming.begins[whole], coming.ends[whole]
    return begins + timedelta(seconds=(ends - begins).total_seconds() * min(services - whole, 1.0))
