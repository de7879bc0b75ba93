"""What is left in a fill: until its change is said, and the median life with its range."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from kettlewell.core.arrays import Array
from kettlewell.core.decision import VerdictKey
from kettlewell.core.outlook.values import Life

MOST_LEFT = {VerdictKey.CHANGE_BEFORE: 0, VerdictKey.CHANGE_AFTER: 1}
LOW, MEDIAN, HIGH = 0.1, 0.5, 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """The coming services of one fryer, in order: names, times, and hot hours in each."""

    names: tuple[str, ...]
    begins: tuple[datetime, ...]
    ends: tuple[datetime, ...]
    hot_h: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Chances:
    """The probabilities of having passed each of J limits.

    By the end of each of H coming services, ``passed`` (J, H), and ``passed_now`` (J,); each is held
    against the accepted risk, ``risks`` (J,).
    """

    passed: Array
    passed_now: Array
    risks: Array

    def pressing(self) -> Array:
        """Return the largest share (1 + H,) of an accepted risk that is used up, now and by each end."""
        curve = np.concatenate([self.passed_now[:, None], self.passed], axis=1)
        return np.asarray((curve / self.risks[:, None]).max(axis=0))


def services_left(chances: Chances) -> int | None:
    """Return before which coming service the rule will say to change, by the forecast; None beyond it.

    It is the first by the end of which a risk is larger than accepted: so the verdict of
    today has it, and so it will be decided then, if no reading and nobody's nose says otherwise.
    """
    over = (chances.passed > chances.risks[:, None]).any(axis=0)  # as the rule compares them
    return int(over.argmax()) if over.any() else None


def services_within_risk(chances: Chances) -> float:
    """Return after how many services the accepted risk is reached, with the part of the last one."""
    worst = chances.pressing()
    if not (worst > 1).any():
        return float(len(worst) - 1)
    n = int((worst > 1).argmax())
    return max(n - 1 + float((1 - worst[n - 1]) / (worst[n] - worst[n - 1])), 0.0) if n else 0.0


def life_of(chances: Chances, coming: Coming, key: VerdictKey, *, steady_below_limit: bool) -> Life:
    """Return the life of a fill from the chances of its coming services, and the verdict on it."""
    left = services_left(chances)
    if key in MOST_LEFT:  # it is changed for another reason, such as its smell
        left = MOST_LEFT[key] if left is None else min(left, MOST_LEFT[key])
    passed = [float(chances.passed_now.max()), *chances.passed.max(axis=0).tolist()]
    found = [services_until(share, passed) for share in (LOW, MEDIAN, HIGH)]
    low, median, high = found
    hours = [None if n is None else hours_in(n, coming) for n in found]
    dates = [None if n is None else date_of(n, coming) for n in found]
    return Life(
        services_left=left,
        change_at=None if left is None else [*coming.begins, coming.ends[-1]][left],
        services_low=low,
        services_median=median,
        services_high=high,
        hot_h_low=hours[0],
        hot_h_median=hours[1],
        hot_h_high=hours[2],
        ends_at_low=dates[0],
        ends_at_median=dates[1],
        ends_at_high=dates[2],
        never=left is None and steady_below_limit,
        horizon_services=len(coming.ends),
    )


def services_until(share: float, passed: Sequence[float]) -> float | None:
    """Return after how many services the limit is passed with probability ``share``; None beyond.

    ``passed`` are the probabilities now and by the end of each, which never fall; between them they are
    taken as straight.
    """
    i = bisect_left(passed, share)
    if i == 0:
        return 0.0
    return None if i == len(passed) else i - 1 + (share - passed[i - 1]) / (passed[i] - passed[i - 1])


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
