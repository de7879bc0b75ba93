"""Which settings a walk needs: those that ageing depends on, of every day that the book speaks of."""

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import lru_cache
from typing import Any

from kettlewell.book import (
    Entry,
    Epoch,
    History,
    Kitchen,
    Reading,
    history_of,
    told,
)
from kettlewell.book.naming import completed
from kettlewell.book.settings import TABLES, Thing
from kettlewell.core.belief.state import Bookmark
from kettlewell.core.metering import PLAIN_METER, unnamed_meter


def walked(history: History) -> History:
    """Return the epochs that a walk through a book goes by.

    Those in which nothing could fry, for want of fryers or services, count as the one after them;
    those that ageing does not depend on make none of their own. Raises ValueError for a kitchen
    without fryers or services.
    """
    standing = [epoch for epoch in history.epochs if epoch.kitchen.fryers and epoch.kitchen.services]
    if not standing:
        lacks = "services: say on which days and hours it fries" if history.now.fryers else "fryers"
        raise ValueError(f"kitchen {history.now.name!r} has no {lacks}")
    epochs: list[Epoch] = []
    for epoch in standing:
        if not epochs or ageing_of(epochs[-1].kitchen) != ageing_of(epoch.kitchen):
            epochs.append(replace(epoch, since=epoch.since if epochs else None))
    return History(tuple(epochs))


def by_meters(settings: Kitchen | History, book: Iterable[Entry]) -> Iterator[Entry]:
    """Yield entries, which are in order, each reading with the meter it is taken as by; None for none."""
    history = history_of(settings)
    for entry in book:
        if isinstance(entry, Reading) and entry.meter is None and (kitchen := history.at(entry.at)).meters:
            yield replace(entry, meter=unnamed_meter(kitchen).key)
        else:
            yield entry


def read_by_the_first(at: Bookmark, kitchen: Kitchen) -> Bookmark:
    """Return the place from which on a reading that names no meter is by the first that ``kitchen`` lists."""
    keys = [meter.key for meter in at.baths.meters]
    key = unnamed_meter(kitchen).key
    return replace(at, unnamed=keys.index(key) if key in keys else 0)


CARRIED = ("oils", "meters", "products", "reference_lots")


def named(history: History, known: History, entries: Iterable[Entry]) -> History:
    """Return the epochs of a walk with what each entry names, unless a state has carried it along."""
    return completed(history, known, entries, remembered=CARRIED)


def carried(kitchen: Kitchen, before: Bookmark) -> Kitchen:
    """Return settings with what a state still knows: oils and meters in its order, those that come last."""
    meters = before.baths.meters
    if meters == (PLAIN_METER,) and not before.meters[0].used:
        meters = ()
    was = before.kitchen
    return replace(
        kitchen,
        oils=tuple(merged(was.oils, kitchen.oils)),
        meters=tuple(merged(meters, kitchen.meters)),
        products=tuple(merged((), (*kitchen.products, *was.products))),
        reference_lots=tuple(merged((), (*kitchen.reference_lots, *was.reference_lots))),
    )


def merged(old: Iterable[Any], new: Iterable[Any]) -> Iterator[Any]:
    """Yield things in the order of the old and then the new ones, each as the new ones first have it."""
    newest: dict[str, Any] = {}
    for thing in new:
        newest.setdefault(thing.key, thing)
    order = dict.fromkeys([thing.key for thing in old]) | dict.fromkeys(newest)
    olds = {thing.key: thing for thing in old}
    for key in order:
        yield newest.get(key, olds.get(key))


@lru_cache(maxsize=256)
def ageing_of(kitchen: Kitchen) -> Kitchen:
    """Return the settings that ageing depends on, all others as if never given."""
    tables: dict[str, Any] = {
        table: tuple(plainest(thing, told) for thing in getattr(kitchen, table))
        for table, told in TABLES.items()
        if told.keyed
    }
    return Kitchen(name="", timezone=kitchen.timezone, services=kitchen.services, **tables)


def plainest(thing: Any, told: Thing) -> Any:  # noqa: ANN401 - whatever stands in a table
    """Return a thing with the settings alone that ageing depends on, named by its key."""
    ages = {setting.name: getattr(thing, setting.name) for setting in told.settings if setting.ages}
    return type(thing)(name=thing.key, **ages)


@lru_cache(maxsize=256)
def digest_of_settings(history: History) -> str:
    """Return what stands for the settings up to a time."""
    told = [(epoch.since, ageing_of(epoch.kitchen)) for epoch in history.epochs]
    return hashlib.sha256(repr(told).encode()).hexdigest()


def digest_of(entries: Iterable[Entry]) -> int:
    """Return a number that stands for a set of entries, whatever their order."""
    total = 0
    for entry in entries:
        total += int.from_bytes(hashlib.sha256(told(entry).encode()).digest()[:16])
    return total % (1 << 128)
