"""The services that run and those to come, from where a walk stands."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from kettlewell.book import Fryer
from kettlewell.core.arrays import Array
from kettlewell.core.belief.filter import Work
from kettlewell.core.belief.services import each, expect_work, noted, services_of
from kettlewell.core.belief.state import Bookmark, Running
from kettlewell.core.belief.walk import Walked, cold_in
from kettlewell.core.belief.week import Slot


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """A coming service: its work (1, V) and hot hours (F,)."""

    slot: Slot
    work: Work
    hot_h: Array


def running_services(place: Bookmark) -> Iterator[Ahead]:
    """Yield the rest of each service that runs."""
    slots = {
        (service.slot.begins, service.slot.ends, service.slot.of_week): service.slot
        for service in place.running
    }
    for key in sorted(slots, key=lambda key: (key[1], key[2])):
        own = [
            service
            for service in place.running
            if (service.slot.begins, service.slot.ends, service.slot.of_week) == key
        ]
        yield rest_of(place, slots[key], own)


def rest_of(place: Bookmark, slot: Slot, services: Sequence[Running]) -> Ahead:
    """Return what is left of a service; each fryer works in one of the ``services`` it was cut into."""
    left = [1 - service.done for service in services]
    rest = np.sum([share * service.whole for share, service in zip(left, services, strict=True)], axis=0)
    hours, turnover, hours_var, turnover_var = rest[:, None]
    work = Work(
        hours=hours, turnover=turnover, hours_sd=np.sqrt(hours_var), turnover_sd=np.sqrt(turnover_var)
    )
    hot_h = np.sum([share * service.hot_h for share, service in zip(left, services, strict=True)], axis=0)
    return Ahead(slot=slot, work=of_vessels(work, len(place.vessels)), hot_h=hot_h)


def coming_services(walked: Walked) -> Iterator[Ahead]:
    """Yield the services to come, with what is said of them beforehand."""
    place = walked.place
    cold = cold_in(place, ())
    notes = [
        noted(place.baths, slot, said, stood_cold=cold)
        for slot, said in zip(walked.come, walked.said, strict=True)
    ]
    services = services_of(place.baths, walked.come, notes)
    work = of_vessels(expect_work(walked.state.pattern, services), len(place.vessels))
    for slot, own, hot_h in zip(walked.come, each(work), services.hot_h, strict=True):
        yield Ahead(slot=slot, work=own, hot_h=hot_h[0])


def of_vessels(work: Work, vessels: int) -> Work:
    """Return the work of fryers as that of all vessels: what is kept apart does none."""
    more = vessels - work.hours.shape[-1]
    if not more:
        return work
    beside = ((0, 0),) * (work.hours.ndim - 1)
    columns = {name: np.pad(getattr(work, name), (*beside, (0, more))) for name in Work.__dataclass_fields__}
    return Work(**columns)


def own_services(ahead: Sequence[Ahead], i: int, fryer: Fryer) -> list[int]:
    """Return which coming services fryer ``i`` works in; those it would work in when out of order."""
    hot = np.flatnonzero(np.array([service.hot_h[i] for service in ahead]) > 0).tolist()
    return hot or [n for n, service in enumerate(ahead) if fryer.key in service.slot.fryers]
