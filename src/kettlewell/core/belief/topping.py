"""Oil topped up outside its service: it thins the bath at its own time."""

import math
from collections.abc import Iterable, Sequence
from itertools import groupby
from operator import attrgetter

from kettlewell.book import Entry, OfService, TopUp
from kettlewell.core.arrays import Array
from kettlewell.core.belief.baths import Baths
from kettlewell.core.belief.loads import FULL
from kettlewell.core.belief.services import runs
from kettlewell.core.belief.week import Slot


def while_frying(slots: Sequence[Slot], said: Sequence[Sequence[OfService]]) -> frozenset[TopUp]:
    """Return the top-ups that were poured while the service ran that they speak of."""
    return frozenset(
        entry
        for slot, of_it in zip(slots, said, strict=False)
        for entry in of_it
        if isinstance(entry, TopUp) and runs(slot, entry.at)
    )


def to_the_mark(
    baths: Baths, slots: Sequence[Slot], said: Sequence[Sequence[OfService]], poured: Array
) -> dict[TopUp, float]:
    """Return by how much top-ups of unknown mass outside their services thin their baths.

    ``poured`` (T, F, 2) is what was inferred of all before a service and after it.
    """
    found = {}
    for t, (slot, of_it) in enumerate(zip(slots, said, strict=True)):
        unknown = [entry for entry in of_it if isinstance(entry, TopUp) and entry.mass_kg is None]
        places = [(baths.fryer_index(entry.fryer), int(entry.at > slot.begins)) for entry in unknown]
        for entry, at in zip(unknown, places, strict=True):
            found[entry] = float(poured[t, *at]) / places.count(at)
    return found


def thinned_by(baths: Baths, top_ups: Iterable[TopUp], inferred: dict[TopUp, float]) -> dict[TopUp, float]:
    """Return by how much each top-up thins its bath, -ln of the share of old oil that stays.

    Those of one moment are one. What nobody weighed is as ``inferred``, else a usual load's draw.
    """
    moment = attrgetter("fryer", "at")
    found = {}
    for (fryer, _), run in groupby(sorted(top_ups, key=moment), key=moment):
        entries, i = list(run), baths.fryer_index(fryer)
        usual = float(baths.usual_uptake_kg[0, i] / baths.mass_kg[0, i])
        known_kg = math.fsum(entry.mass_kg for entry in entries if entry.mass_kg is not None)
        unknown = [inferred.get(entry, usual) for entry in entries if entry.mass_kg is None]
        share = min(known_kg / float(baths.mass_kg[0, i]), FULL)
        found[entries[0]] = -math.log1p(-share) + max(unknown, default=0.0)
    return found


def between_services(entries: Iterable[Entry], frying: frozenset[TopUp]) -> list[TopUp]:
    """Return the top-ups that were poured outside the service they speak of."""
    return [entry for entry in entries if isinstance(entry, TopUp) and entry not in frying]
