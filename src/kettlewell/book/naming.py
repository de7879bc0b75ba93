"""What entries name, and the settings that know of it on the day of each entry."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from typing import Any

from kettlewell.book.entries import Entry
from kettlewell.book.history import Epoch, History
from kettlewell.book.kinds import KINDS
from kettlewell.book.kitchen import Kitchen, find
from kettlewell.book.settings import TABLES

NAMING: Mapping[type[Entry], tuple[tuple[str, str], ...]] = {
    kind.value: tuple(
        (kind.attribute(field), field.things)
        for field in kind.fields
        if field.things in TABLES and kind.attribute(field)
    )
    for kind in KINDS.values()
    if kind.value
}
NAMED = frozenset(table for names in NAMING.values() for _, table in names)


def completed(
    history: History, known: History, entries: Iterable[Entry], *, remembered: Collection[str] = ()
) -> History:
    """Return the epochs with what each entry names; ``entries`` are in order.

    It is there from that entry on, even where its settings were written down later, or removed before.
    What the tables ``remembered`` held since the first entry need not be there again. Raises
    ValueError for what no settings that are ``known`` ever had.
    """
    epochs: list[Epoch] = list(history.epochs)
    n, keys, before = 0, keys_in(epochs[0].kitchen), dict[str, set[str]]()
    for entry in entries:
        while n + 1 < len(epochs) and (epochs[n + 1].since or entry.at) <= entry.at:
            n, keys = n + 1, with_keys(keys_in(epochs[n + 1].kitchen), before)
        kitchen = epochs[n].kitchen
        for field, table in NAMING[type(entry)]:
            key = getattr(entry, field)
            if key is not None and key not in keys[table]:
                kitchen = with_thing(kitchen, table, key, known, entry)
        if kitchen is epochs[n].kitchen:
            before = {table: keys[table] for table in remembered}
            continue
        at = slice(n, n + 1) if epochs[n].since == entry.at else slice(n + 1, n + 1)
        epochs[at] = [Epoch(since=entry.at, kitchen=kitchen)]
        n = at.start
        keys = with_keys(keys_in(kitchen), before)
        before = {table: keys[table] for table in remembered}
    return History(tuple(epochs))


def with_oils(kitchen: Kitchen, other: Kitchen) -> Kitchen:
    """Return a kitchen with the oils, too, that another has: what is in a bath may be none of its own yet."""
    there = {oil.key for oil in kitchen.oils}
    more = tuple(oil for oil in other.oils if oil.key not in there)
    return replace(kitchen, oils=(*kitchen.oils, *more)) if more else kitchen


def with_all(kitchen: Kitchen, others: Iterable[Kitchen]) -> Kitchen:
    """Return a kitchen with whatever of the things that others have it lacks."""
    for other in others:
        keys = keys_in(kitchen)
        more: dict[str, Any] = {
            table: (*getattr(kitchen, table), *(t for t in getattr(other, table) if t.key not in keys[table]))
            for table in NAMED
        }
        kitchen = replace(kitchen, **more)
    return kitchen


def keys_in(kitchen: Kitchen) -> dict[str, set[str]]:
    """Return the keys of the things in each table of a kitchen."""
    return {table: {thing.key for thing in getattr(kitchen, table)} for table in NAMED}


def with_keys(keys: Mapping[str, set[str]], more: Mapping[str, set[str]]) -> dict[str, set[str]]:
    """Return keys by table with more of some tables."""
    return {table: own | more.get(table, set()) for table, own in keys.items()}


def with_thing(kitchen: Kitchen, table: str, key: str, known: History, entry: Entry) -> Kitchen:
    """Return a kitchen with a thing as its settings first had it; raises ValueError where none did."""
    if key in keys_in(kitchen)[table]:
        return kitchen
    for other in known.kitchens():
        if key in keys_in(other)[table]:
            things: Any = (*getattr(kitchen, table), find(getattr(other, table), key))
            needed = [("oils", find(other.fryers, key).oil)] if table == "fryers" else []
            if table == "reference_lots" and (oil := find(other.reference_lots, key).oil):
                needed.append(("oils", oil))
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
