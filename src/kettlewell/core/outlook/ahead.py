"""The services that run and those to come, from where a walk stands."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from kettlewell.book import Fryer
from kettlewell.core.arrays import Array
from kettlewell.core.belief.filter import BEFORE, OF_WORK, Work, as_rows, one_after_another, work_from
from kettlewell.core.belief.orders import cold_in
from kettlewell.core.belief.services import expect_work, noted, services_of
from kettlewell.core.belief.state import Bookmark, Running
from kettlewell.core.belief.topping import thinned_by
from kettlewell.core.belief.walk import Walked
from kettlewell.core.belief.week import Slot


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """H services that run or come: their ``work`` (H, 1, V) and hot hours (H, F)."""

    slots: Sequence[Slot]
    work: Work
    hot_h: Array

    def of_fryer(self, i: int, fryer: Fryer) -> list[int]:
        """Return which services fryer ``i`` works in; those it would work in when out of order."""
        hot: list[int] = np.flatnonzero(self.hot_h[:, i] > 0).tolist()
        return hot or [n for n, slot in enumerate(self.slots) if fryer.key in slot.fryers]


def services_ahead(walked: Walked, most: int | None = None) -> Ahead:
    """Return the rest of the services that run, and so many of those to come as usual or as planned."""
    parts = [*running_services(walked.place), coming_services(walked, most)]
    return Ahead(
        slots=[slot for part in parts for slot in part.slots],
        work=one_after_another([part.work for part in parts]),
        hot_h=np.concatenate([part.hot_h for part in parts]),
    )


def running_services(place: Bookmark) -> Iterator[Ahead]:
    """Yield the rest of each service that runs; each fryer works in one of the parts it was cut into."""
    parts: dict[tuple[object, ...], list[Running]] = {}
    for service in place.running:
        slot = service.slot
        parts.setdefault((slot.ends, slot.of_week, slot.begins), []).append(service)
    for key in sorted(parts):
        yield rest_of(place, parts[key])


def rest_of(place: Bookmark, services: Sequence[Running]) -> Ahead:
    """Return what is left of one service."""
    rest = np.sum([service.part(service.done, 1.0) for service in services], axis=0)
    hot_h = np.sum([(1 - service.done) * service.hot_h for service in services], axis=0)
    work = work_from(rest[:, None, None])
    return Ahead(slots=[services[0].slot], work=of_vessels(work, len(place.vessels)), hot_h=hot_h[None])


def coming_services(walked: Walked, most: int | None) -> Ahead:
    """Return services to come, with what is said of them beforehand."""
    place, slots = walked.place, walked.come[:most]
    cold = cold_in(place, ())
    notes = [
        noted(place.baths, slot, said, stood_cold=cold, poured_to=walked.now)
        for slot, said in zip(slots, walked.said[:most], strict=True)
    ]
    services = services_of(place.baths, slots, notes)
    rows = as_rows(expect_work(walked.state.pattern, services))
    for entry, thinned in thinned_by(place.baths, walked.to_pour, {}).items():
        i = place.baths.fryer_index(entry.fryer)
        later = (n for n, slot in enumerate(slots) if slot.begins >= entry.at and services.hot_h[n, 0, i] > 0)
        if (n := next(later, None)) is not None:
            rows[BEFORE, n, 0, i] += thinned
    work = work_from(rows)
    return Ahead(slots=slots, work=of_vessels(work, len(place.vessels)), hot_h=services.hot_h[:, 0])


def of_vessels(work: Work, vessels: int) -> Work:
    """Return the work of fryers as that of all vessels: what is kept apart does none."""
    more = vessels - work.hours.shape[-1]
    if not more:
        return work
    return Work(**{name: np.pad(getattr(work, name), ((0, 0), (0, 0), (0, more))) for name in OF_WORK})


def first_two(ahead: Ahead, fryers: Iterable[tuple[int, Fryer]], copies: int) -> Work:
    """Return the next two services of each of B fryers, as work of kitchens of one fryer (2, B * copies, 1).

    Of a fryer with a single one, that one twice.
    """
    places, own = [], []
    for i, fryer in fryers:
        first, *later = ahead.of_fryer(i, fryer)
        places.append(i)
        own.append((first, later[0] if later else first))
    at = np.repeat(np.array(own).T, copies, axis=1)[..., None]
    which = np.repeat(np.array(places), copies)[:, None]
    return Work(**{name: getattr(ahead.work, name)[at, 0, which] for name in OF_WORK})
