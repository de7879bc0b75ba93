"""The kitchen's services laid out in time."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from kettlewell.book import Fryer, Kitchen, Service


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """One service on one ``day`` of the kitchen; ``of_week`` numbers the services of the week from 0."""

    name: str
    begins: datetime
    ends: datetime
    day: date
    of_week: int
    fryers: frozenset[str]

    @property
    def hours(self) -> float:
        """How long the service lasts."""
        return (self.ends - self.begins).total_seconds() / 3600

    def share(self, at: datetime) -> float:
        """Return which share of the service lies before ``at``."""
        if at >= self.ends:
            return 1.0
        return max((at - self.begins) / (self.ends - self.begins), 0.0)


class AtOnceError(ValueError):
    """Two services that one fryer would work in at the same time."""

    def __init__(self, fryer: str, first: str, second: str) -> None:
        """Keep all three apart for who says it in other words."""
        super().__init__(
            f"fryer {fryer!r} works in {first!r} and {second!r} at once: end one before the other"
        )
        self.fryer, self.first, self.second = fryer, first, second


def slots_of_week(kitchen: Kitchen) -> list[tuple[int, Service]]:
    """Return (weekday, service) of every service of the week, in order.

    Raises ValueError for a kitchen that has no services, since nothing could be foretold.
    """
    week = [(day, service) for service in kitchen.services for day in sorted(set(service.weekdays))]
    if not week:
        raise ValueError(f"kitchen {kitchen.name!r} has no services: say on which days and hours it fries")
    return sorted(week, key=lambda item: (item[0], item[1].begins, item[1].name))


def week_of(kitchen: Kitchen, fryer: Fryer) -> list[tuple[int, Service]]:
    """Return (weekday, service) of every service that a fryer works in.

    Raises AtOnceError where it would work in two at once.
    """
    own = [
        (day, service)
        for day, service in slots_of_week(kitchen)
        if not service.fryers or fryer.key in service.fryers
    ]
    again = [(day + 7, service) for day, service in own[:1]]
    for (day, service), (next_day, following) in pairwise([*own, *again]):
        if minute(day, service.begins) + lasts_min(service) > minute(next_day, following.begins):
            raise AtOnceError(fryer.key, service.name, following.name)
    return own


def minute(day: int, at: time) -> int:
    """Return the minute of the week."""
    return 1440 * day + 60 * at.hour + at.minute


def lasts_min(service: Service) -> int:
    """Return how many minutes a service lasts; one that ends when it begins lasts a day."""
    return (minute(0, service.ends) - minute(0, service.begins)) % 1440 or 1440


def slots_from(kitchen: Kitchen, start: datetime) -> Iterator[Slot]:
    """Yield the kitchen's services that begin at or after ``start``, without end."""
    zone = ZoneInfo(kitchen.timezone)
    everyone = frozenset(fryer.key for fryer in kitchen.fryers)
    by_day: dict[int, list[tuple[int, Service, frozenset[str]]]] = {day: [] for day in range(7)}
    for number, (weekday, service) in enumerate(slots_of_week(kitchen)):
        by_day[weekday].append((number, service, frozenset(service.fryers) or everyone))
    day = start.astimezone(zone).date()
    while True:
        for number, service, fryers in by_day[day.weekday()]:
            begins, ends = service_times(service, day, zone)
            if begins >= start:
                yield Slot(
                    name=service.name, begins=begins, ends=ends, day=day, of_week=number, fryers=fryers
                )
        day += timedelta(days=1)


def service_times(service: Service, day: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return when a service begins and ends on a day, in UTC."""
    last = day if service.ends > service.begins else day + timedelta(days=1)
    begins = datetime.combine(day, service.begins, zone).astimezone(UTC)
    ends = datetime.combine(last, service.ends, zone).astimezone(UTC)
    return begins, max(ends, begins + timedelta(minutes=1))
