"""The kitchen's services laid out in time."""

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from heapq import merge
from itertools import groupby, pairwise, takewhile
from operator import attrgetter
from zoneinfo import ZoneInfo

from kettlewell.book import Fryer, History, Kitchen, Service
from kettlewell.book.words import N_, ToldError

MINUTE = timedelta(minutes=1)
LONGEST = timedelta(days=1, hours=1)  # a service lasts a day at most, and an hour more as the clocks change


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """One service on one ``day`` of the kitchen; ``of_week`` numbers the services of the week from 0.

    Where settings changed while it ran and the new ones do not have it, it was ``cut`` short then.
    """

    name: str
    begins: datetime
    ends: datetime
    day: date
    of_week: int
    fryers: frozenset[str]
    cut: datetime | None = None

    @property
    def hours(self) -> float:
        """How long the service lasts."""
        return (self.ends - self.begins).total_seconds() / 3600

    def share(self, at: datetime) -> float:
        """Return which share of the service lies before ``at``, and before it was cut short."""
        if self.cut is not None:
            at = min(at, self.cut)
        if at >= self.ends:
            return 1.0
        return max((at - self.begins) / (self.ends - self.begins), 0.0)


class AtOnceError(ToldError):
    """Two services that one fryer would work in at the same time."""

    def __init__(self, fryer: str, first: str, second: str) -> None:
        """Keep all three apart for who says it in other words."""
        at_once = N_("fryer {fryer!r} works in {first!r} and {second!r} at once: end one before the other")
        super().__init__(at_once, fryer=fryer, first=first, second=second)
        self.fryer, self.first, self.second = fryer, first, second


def slots_of_week(kitchen: Kitchen) -> list[tuple[int, Service]]:
    """Return (weekday, service) of every service of the week, in order.

    Raises ValueError for a kitchen that has no services, since nothing could be foretold.
    """
    week = [(day, service) for service in kitchen.services for day in sorted(set(service.weekdays))]
    if not week:
        raise ToldError(
            N_("kitchen {name!r} has no services: say on which days and hours it fries"), name=kitchen.name
        )
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
            if start <= begins < ends:
                yield Slot(
                    name=service.name, begins=begins, ends=ends, day=day, of_week=number, fryers=fryers
                )
        day += timedelta(days=1)


def service_times(service: Service, day: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return when a service begins and ends on a day, in UTC: at once where its hours are skipped."""
    last = day if service.ends > service.begins else day + timedelta(days=1)
    return clock_time(day, service.begins, zone), clock_time(last, service.ends, zone)


def clock_time(day: date, at: time, zone: ZoneInfo) -> datetime:
    """Return when clocks first show a time on a day or, where they skip it, when they are put forward."""
    shown = datetime.combine(day, at, zone)
    if shown.utcoffset() == shown.replace(fold=1).utcoffset():  # neither skipped nor shown twice
        return shown.astimezone(UTC)
    found, earlier = (shown.replace(fold=fold).astimezone(UTC) for fold in (0, 1))
    after = found.astimezone(zone).utcoffset()
    if shown.utcoffset() == after:
        return found
    skipped_min = (found - earlier) // MINUTE
    forward = bisect_left(
        range(skipped_min), 1, key=lambda n: (earlier + n * MINUTE).astimezone(zone).utcoffset() == after
    )
    return earlier + forward * MINUTE


def slots_over(history: History, start: datetime) -> Iterator[Slot]:
    """Yield a kitchen's services that begin at or after ``start``, each by the settings of its time."""
    for n, epoch in enumerate(history.epochs):
        later = history.epochs[n + 1].since if n + 1 < len(history.epochs) else None
        if later is not None and later <= start:
            continue
        planned = slots_from(epoch.kitchen, max(start, epoch.since or start))
        if epoch.since is not None and epoch.since >= start:
            planned = merge(begun_anew(history, n), planned, key=attrgetter("begins"))
        for slot in planned if later is None else begun_before(planned, later):
            yield from shortened(history, slot)


def begun_before(slots: Iterable[Slot], at: datetime) -> Iterator[Slot]:
    """Yield the services that begin before a time."""
    return takewhile(lambda slot: slot.begins < at, slots)


def shortened(history: History, slot: Slot) -> Iterator[Slot]:
    """Yield a service for the fryers in which it runs to its end, and for those in which it was cut short."""
    if len(history.epochs) == 1 or not any(
        slot.begins < since < slot.ends for since, _, _ in history.changes()
    ):
        yield slot
        return
    ends = sorted((cut_at(history, slot, fryer) or slot.ends, fryer) for fryer in slot.fryers)
    for end, own in groupby(ends, key=lambda pair: pair[0]):
        fryers = frozenset(fryer for _, fryer in own)
        yield replace(slot, fryers=fryers, cut=None if end >= slot.ends else end)


def cut_at(history: History, slot: Slot, fryer: str) -> datetime | None:
    """Return when new settings ended a service of a fryer before its time; None if none did."""
    for since, _, new in history.changes():
        if slot.begins < since < slot.ends and not same_at(new, since, slot, fryer):
            return since
    return None


def begun_anew(history: History, n: int) -> Iterator[Slot]:
    """Yield services that run when epoch ``n`` begins, for fryers that were in no such service before it."""
    since, old = history.epochs[n].since, history.epochs[n - 1].kitchen
    if since is None:
        return
    for slot in running_at(history.epochs[n].kitchen, since):
        new = frozenset(fryer for fryer in slot.fryers if not same_at(old, since, slot, fryer))
        if new:
            yield replace(slot, begins=since, fryers=new)


def same_at(kitchen: Kitchen, at: datetime, slot: Slot, fryer: str) -> bool:
    """Return whether settings have a service of the same hours for a fryer at a time."""
    return any(
        (other.begins, other.ends) == (slot.begins, slot.ends) and fryer in other.fryers
        for other in running_at(kitchen, at)
    )


def running_at(kitchen: Kitchen, at: datetime) -> list[Slot]:
    """Return the services that began before a time and have not ended."""
    return [slot for slot in begun_before(slots_from(kitchen, at - LONGEST), at) if slot.ends > at]
