"""The services that run and those to come, from where a walk stands."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from kettlewell.book import Fryer
from kettlewell.core.arrays import Array
from kettlewell.core.belief.filter import Work
from kettlewell.core.belief.replay import Walked
from kettlewell.core.belief.service import combine, each, foresee, noted, services_of
from kettlewell.core.belief.walk import Walk
from kettlewell.core.belief.week import Slot


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """A coming service: its work (1, F) and hot hours (F,)."""

    slot: Slot
    work: Work
    hot_h: Array


def running_services(walk: Walk) -> Iterator[Ahead]:
    """Yield the rest of each service that runs."""
    baths = walk.baths
    slots = {one.slot for ones in walk.running.values() for one in ones if one.done < 1}
    for slot in sorted(slots, key=lambda one: (one.ends, one.of_week)):
        share, hot_h = np.zeros((1, len(baths.mass_kg))), np.zeros(len(baths.mass_kg))
        for fryer, ones in walk.running.items():
            for one in ones:
                if one.slot == slot:
                    i = baths.fryer_index[fryer]
                    share[0, i], hot_h[i], work = 1 - one.done, one.hot_h * (1 - one.done), one.work
        yield Ahead(slot=slot, work=combine([(work, share)]), hot_h=hot_h)


def coming_services(walked: Walked) -> Iterator[Ahead]:
    """Yield the services to come, with what is said of them beforehand."""
    walk = walked.walk
    notes = [
        noted(walk.baths, slot, said, out=walk.out_of_order)
        for slot, said in zip(walked.come, walked.said, strict=True)
    ]
    services = services_of(walk.baths, walked.come, notes)
    works = each(foresee(walk.pattern, services))
    for slot, work, hot_h in zip(walked.come, works, services.hot_h, strict=True):
        yield Ahead(slot=slot, work=work, hot_h=hot_h[0])


def own_services(ahead: Sequence[Ahead], i: int, fryer: Fryer) -> list[int]:
    """Return which coming services fryer ``i`` works in; those it would work in when out of order."""
    hot = [n for n, one in enumerate(ahead) if one.hot_h[i] > 0]
    own = hot or [n for n, one in enumerate(ahead) if fryer.key in one.slot.fryers]
    if not own:
        raise ValueError(f"fryer {fryer.key}: no service of the week names it; say when it fries")
    return own
