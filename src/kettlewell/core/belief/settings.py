"""Which settings a walk needs: those that ageing depends on, of every day that the book speaks of."""

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import fields, replace
from functools import lru_cache
from typing import Any

from kettlewell.book import (
    IN_ONE_MINUTE,
    PERMISSIBLE_PCT,
    Draining,
    Entry,
    Epoch,
    History,
    Kitchen,
    Reading,
    find,
    history_of,
)
from kettlewell.core.belief.state import Place
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


def completed(history: History, known: History, entries: Iterable[Entry]) -> History:
    """Return the epochs with what each entry names; ``entries`` are in order.

    It is there from that entry on, even where its settings were written down later, or removed before.
    Raises ValueError for what no settings that are ``known`` ever had.
    """
    epochs: list[Epoch] = list(history.epochs)
    n, keys = 0, keys_in(epochs[0].kitchen)
    for entry in entries:
        while n + 1 < len(epochs) and (epochs[n + 1].since or entry.at) <= entry.at:
            n, keys = n + 1, keys_in(epochs[n + 1].kitchen)
        missing = [(table, key) for table, key in names_in(entry) if key not in keys[table]]
        if not missing:
            continue
        kitchen = epochs[n].kitchen
        for table, key in missing:
            kitchen = with_thing(kitchen, table, key, known, entry)
        at = slice(n, n + 1) if epochs[n].since == entry.at else slice(n + 1, n + 1)
        epochs[at] = [Epoch(since=entry.at, kitchen=kitchen)]
        n = at.start
        keys = keys_in(kitchen)
    return History(tuple(epochs))


def by_meters(settings: Kitchen | History, book: Iterable[Entry]) -> Iterator[Entry]:
    """Yield entries, which are in order, each reading with the meter it is taken as by; None for none."""
    for entry, kitchen in history_of(settings).along(book):
        if isinstance(entry, Reading) and entry.meter is None and kitchen.meters:
            yield replace(entry, meter=unnamed_meter(kitchen).key)
        else:
            yield entry


def names_in(entry: Entry) -> Iterator[tuple[str, str]]:
    """Yield what an entry names, as (table, key)."""
    for field, table in NAMING[type(entry)]:
        key = getattr(entry, field)
        if key is not None:
            yield table, key


NAMES = {
    "fryer": "fryers",
    "into": "fryers",
    "product": "products",
    "meter": "meters",
    "against": "meters",
    "oil": "oils",
    "lot": "reference_lots",
}
NAMING = {
    kind: tuple(
        (field, table) for field, table in NAMES.items() if field in {own.name for own in fields(kind)}
    )
    for kind in IN_ONE_MINUTE
}


def keys_in(kitchen: Kitchen) -> dict[str, set[str]]:
    """Return the keys of the things in each table of a kitchen."""
    return {table: {thing.key for thing in getattr(kitchen, table)} for table in set(NAMES.values())}


def with_thing(kitchen: Kitchen, table: str, key: str, known: History, entry: Entry) -> Kitchen:
    """Return a kitchen with a thing as its settings first had it; raises ValueError where none did."""
    if key in keys_in(kitchen)[table]:
        return kitchen
    for other in known.kitchens():
        if key in keys_in(other)[table]:
            things: Any = (*getattr(kitchen, table), find(getattr(other, table), key))
            needed = [("oils", find(other.fryers, key).oil)] if table == "fryers" else []
            whole = kitchen
            for of, missing in needed:
                whole = with_thing(whole, of, missing, known, entry)
            if table == "fryers":
                whole = with_products(whole, other, key)
            table_of: dict[str, Any] = {table: things}
            return replace(whole, **table_of)
    what = {"reference_lots": "reference oil"}.get(table, table.removesuffix("s"))
    raise ValueError(f"{entry.ref or 'entry'}: no {what} {key!r} in {known.now.name!r}")


def with_products(kitchen: Kitchen, other: Kitchen, fryer: str) -> Kitchen:
    """Return a kitchen with the products that another's fryer fries."""
    missing = set(find(other.fryers, fryer).fries) - keys_in(kitchen)["products"]
    came = tuple(product for product in other.products if product.key in missing)
    return replace(kitchen, products=(*kitchen.products, *came)) if came else kitchen


def carried(kitchen: Kitchen, before: Place) -> Kitchen:
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
    """Return the settings that ageing depends on, all others as if never given.

    Names, limits, risk, jurisdiction, prices, packs, allergens, marks and dates are left out.
    """
    fryers = (
        replace(fryer, name=fryer.key, draining=Draining.HAND, minimum_mass_kg=None)
        for fryer in kitchen.fryers
    )
    oils = (replace(oil, name=oil.key, pack_kg=None, price_per_kg=None, allergens=()) for oil in kitchen.oils)
    products = (
        replace(product, name=product.key, portion_kg=None, basket_kg=None, allergens=())
        for product in kitchen.products
    )
    lots = (replace(lot, name=lot.key, opened=None, best_before=None) for lot in kitchen.reference_lots)
    return replace(
        kitchen,
        name="",
        limits=(),
        jurisdiction=None,
        risk=0.05,
        fryers=tuple(fryers),
        oils=tuple(oils),
        products=tuple(products),
        meters=tuple(replace(meter, name=meter.key, in_use_since=None) for meter in kitchen.meters),
        reference_lots=tuple(lots),
        permissible_pct=PERMISSIBLE_PCT,
        laboratory_price=None,
    )


@lru_cache(maxsize=256)
def digest_of_settings(history: History) -> str:
    """Return what stands for the settings up to a time."""
    told = [(epoch.since, ageing_of(epoch.kitchen)) for epoch in history.epochs]
    return hashlib.sha256(repr(told).encode()).hexdigest()
