"""One fryer's outlook: everything a verdict needs, read off the kitchen's belief."""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from kettlewell.book import Fryer, Kitchen, Readings
from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array
from kettlewell.core.belief.fills import Fill, Taken
from kettlewell.core.belief.level import Level
from kettlewell.core.decision import Evidence
from kettlewell.core.limits import LimitNote, OilLimit
from kettlewell.core.metering.checks import FoundOff
from kettlewell.core.outlook.forecast import first_passage, passing
from kettlewell.core.outlook.life import Chances, Coming
from kettlewell.core.outlook.reading import reading_due
from kettlewell.core.outlook.values import ServiceForecast


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """One fryer at ``now``: its fill and the ``evidence`` on it, limits and H coming services.

    ``metered`` says whether there is a meter in use;
    ``rests_on`` is the finding on a meter found off that the belief rests on.

    ``passed`` (J, H) and ``passed_now`` (J,) are the probabilities of having passed each of
    the J ``limits`` that judge the oil; ``notes`` tell of those that do not.
    ``tpc_pct`` (2,) and ``tpc_ahead_pct`` (2, H) are mean and standard deviation of the true TPC, now and
    after each service.
    """

    kitchen: Kitchen
    fryer: Fryer
    fill: Fill
    evidence: Evidence
    out_of_order: bool
    metered: bool
    rests_on: FoundOff | None
    now: datetime
    limits: tuple[OilLimit, ...]
    notes: tuple[LimitNote, ...]
    coming: Coming
    tpc_pct: Array
    tpc_ahead_pct: Array
    passed: Array
    passed_now: Array
    known: Coefficients

    @property
    def in_use(self) -> bool:
        """Whether there is oil in the fryer and it is in order."""
        return not (self.fill.empty or self.out_of_order)

    @property
    def risks(self) -> Array:
        """Return the accepted risk (J,) of each judged limit."""
        return np.array([limit.risk for limit in self.limits], dtype=float)

    @property
    def chances(self) -> Chances:
        """Return the chances of the coming services, each limit beside its accepted risk."""
        return Chances(passed=self.passed, passed_now=self.passed_now, risks=self.risks)

    @property
    def soon(self) -> Array:
        """Return ``passed`` by the end of the coming service and of the next, (J, 2); of one alone, twice."""
        return self.passed[:, [0, min(1, self.passed.shape[1] - 1)]]

    def deciding(self, service: int) -> int:
        """Return which judged limit presses most at the end of a coming service."""
        return int(np.argmax(self.passed[:, service] / self.risks))

    def last(self) -> Taken | None:
        """Return the fill's last reading."""
        return self.fill.readings[-1] if self.fill.readings else None

    def overdue_from(self) -> datetime | None:
        """Return from when the fill counts as unread for too long; None if nothing is known of it."""
        result = self.fill.laboratory
        seen = (self.fill.filled_at, self.fill.sound_at, result.at if result else None)
        return max(
            (at + timedelta(days=self.known.longest_unread_days.value) for at in seen if at), default=None
        )

    def due(self) -> int:
        """Return the coming service before which the next reading is due."""
        return min(self.due_by_odds(), self.due_by_rule())

    def due_by_odds(self) -> int:
        """Return the coming service before which the next reading is due, whatever the house's own rule."""
        share = (self.passed / self.risks[:, None]).max(axis=0)
        due = int(reading_due(share, self.known, risk=1.0, unread=np.asarray(not self.fill.readings)))
        overdue_from = self.overdue_from()
        in_time = 0 if overdue_from is None else bisect_right(self.coming.begins, overdue_from)
        return min(due, max(in_time - 1, 0))

    def due_by_rule(self) -> int:
        """Return the coming service before which the house's own rule asks for a reading.

        Who reads every day does so before the first service of the next day on which the fryer fries.
        """
        begins, last = self.coming.begins, self.last()
        if self.kitchen.readings is not Readings.DAILY:
            return len(begins)
        if last is None:
            return 0
        zone = ZoneInfo(self.kitchen.timezone)
        read_on = last.reading.at.astimezone(zone).date()
        later = (n for n, at in enumerate(begins) if at.astimezone(zone).date() > read_on)
        return next(later, len(begins))

    def services(self) -> tuple[ServiceForecast, ...]:
        """Return the forecast of each coming service."""
        coming, worst = self.coming, self.passed.max(axis=0)
        mean, sd = self.tpc_ahead_pct.tolist()
        return tuple(
            ServiceForecast(
                name=name,
                begins_at=begins,
                ends_at=ends,
                tpc_mean_pct=mean_pct,
                tpc_sd_pct=sd_pct,
                passing_probability=passing,
            )
            for name, begins, ends, mean_pct, sd_pct, passing in zip(
                coming.names, coming.begins, coming.ends, mean, sd, worst.tolist(), strict=True
            )
        )


def by_limits(outlooks: Sequence[Outlook]) -> Mapping[tuple[OilLimit, ...], list[int]]:
    """Return the places of the baths that the same limits judge, so that all are decided on at once."""
    places: dict[tuple[OilLimit, ...], list[int]] = {}
    for n, outlook in enumerate(outlooks):
        places.setdefault(outlook.limits, []).append(n)
    return places


def passed_limits(limits: Sequence[OilLimit], here: Level, ahead: Level) -> tuple[Array, Array]:
    """Return the probabilities (J, H, ...) and (J, ...) of having passed each limit, coming and now.

    ``here`` holds level and gain (...) of now, ``ahead`` (H, ...) those after each of H services.
    """
    now, coming = past_limits(limits, here), past_limits(limits, ahead)
    return passed_by(now, coming), now


def past_limits(limits: Sequence[OilLimit], level: Level) -> Array:
    """Return the probabilities (J, ...) that the oil lies past each of J limits."""
    return np.array([passing(level, limit.tpc_pct, limit.tpc_u_pct) for limit in limits])


def passed_by(now: Array, coming: Array) -> Array:
    """Return the probabilities (J, H, ...) of having passed limits, from those of lying past them."""
    return np.array([first_passage(np.maximum(each, at)) for each, at in zip(coming, now, strict=True)])
