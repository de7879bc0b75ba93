"""When practice kitchens fry: the services of their day, numbered from the first on."""

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta

import numpy as np

from kettlewell.book import Service
from kettlewell.core.arrays import Array

FIRST = datetime(2026, 1, 5, tzinfo=UTC)  # a Monday


@dataclass(frozen=True, slots=True, kw_only=True)
class Rota:
    """The ``services`` of every day of the week, in order."""

    services: tuple[Service, ...]

    @property
    def per_day(self) -> int:
        """How many services a day has."""
        return len(self.services)

    @property
    def per_week(self) -> int:
        """How many services a week has."""
        return 7 * self.per_day

    @property
    def usual_hot_h(self) -> Array:
        """How long (per day,) each service of the day lasts."""
        return np.array([(self.ends(n) - self.begins(n)).total_seconds() / 3600 for n in range(self.per_day)])

    def begins(self, t: int) -> datetime:
        """Return when service ``t`` begins."""
        day, of_day = divmod(t, self.per_day)
        at = self.services[of_day].begins
        return FIRST + timedelta(days=day, hours=at.hour, minutes=at.minute)

    def ends(self, t: int) -> datetime:
        """Return when service ``t`` ends."""
        day, of_day = divmod(t, self.per_day)
        at = self.services[of_day].ends
        return FIRST + timedelta(days=day, hours=at.hour, minutes=at.minute)


def daily(name: str, begins: time, ends: time) -> Service:
    """Return a service of every day of the week."""
    return Service(name=name, weekdays=tuple(range(7)), begins=begins, ends=ends)


LUNCH_AND_DINNER = Rota(
    services=(daily("Lunch", time(11, 30), time(13, 15)), daily("Dinner", time(17, 30), time(19, 45)))
)
ONE_LONG = Rota(services=(daily("Day", time(11), time(20)),))
THREE = Rota(
    services=(
        daily("Breakfast", time(9, 30), time(10, 30)),
        daily("Lunch", time(12), time(14)),
        daily("Dinner", time(17, 30), time(20, 30)),
    )
)
