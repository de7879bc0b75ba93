"""From entries to a belief, and on from where it stopped."""

import hashlib
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import chain, islice, zip_longest
from operator import attrgetter

import numpy as np

from kettlewell.book import (
    PERMISSIBLE_PCT,
    Adopted,
    AtFryer,
    AtMeter,
    Change,
    Draining,
    Entry,
    Kitchen,
    Load,
    MeterCheck,
    Move,
    OfService,
    OutOfOrder,
    Reading,
    in_order,
    place,
    told,
)
from kettlewell.core.ageing.coefficients import coefficients
from kettlewell.core.belief.baths import Baths, baths_of
from kettlewell.core.belief.state import LEVEL, Belief
from kettlewell.core.belief.walk import Checkpoint, Leg, Walk
from kettlewell.core.belief.week import Slot, slots_from
from kettlewell.core.version import MODEL_VERSION

HORIZON_SERVICES = 60


def digest_of(entries: Iterable[Entry]) -> int:
    """Return a number that stands for a set of entries, whatever their order."""
    total = 0
    for entry in entries:
        total += int.from_bytes(hashlib.sha256(told(entry).encode()).digest()[:16])
    return total % (1 << 128)


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """A walk, the services to ``come``, and for each what is ``said`` of it beforehand."""

    walk: Walk
    come: tuple[Slot, ...]
    said: tuple[Sequence[OfService], ...]


def walk_to(
    kitchen: Kitchen,
    entries: Iterable[Entry],
    *,
    now: datetime,
    planned: Sequence[Entry] = (),
    since: Checkpoint | None = None,
    keep_moments: bool = False,
) -> Walked:
    """Walk the entries up to ``now``; ``planned`` ones speak of the running and coming services.

    Raises ValueError for entries that ``since`` should cover and does not, for an entry
    that names a fryer, product, meter or oil the kitchen lacks, and for other model versions.
    """
    since, book = begin(kitchen, entries, now=now, since=since)
    begun, ahead = split_at(slots_of(kitchen, book, now=now, since=since), now)
    come = tuple(islice(ahead, HORIZON_SERVICES))
    said = by_service([*begun, *come], sorted([*book, *planned], key=place) if planned else book)
    walk = Walk(baths_of(kitchen), since)
    walk.keep_moments = keep_moments
    if since is None:
        walk.belief = with_old_fills(walk.belief, walk.baths, book)
    walk.walk(legs_of(begun, book, said, until=now), orders_in(book))
    return Walked(walk=walk, come=come, said=tuple(said[len(begun) :]))


def begin(
    kitchen: Kitchen, entries: Iterable[Entry], *, now: datetime, since: Checkpoint | None
) -> tuple[Checkpoint | None, list[Entry]]:
    """Return where to go on from, if anywhere, and the entries from there up to ``now`` in order."""
    if now.tzinfo is None:
        raise ValueError(f"the time {now} names no time zone")
    if since is not None and since.covers_to > now:
        raise ValueError(f"the checkpoint reaches to {since.covers_to}, after {now}: take an earlier one")
    if since is not None and since.entries == 0:
        since = None
    book = check(kitchen, in_order(entries), since)
    return since, [entry for entry in book if entry.at <= now]


def slots_of(
    kitchen: Kitchen, book: Sequence[Entry], *, now: datetime, since: Checkpoint | None
) -> Iterator[Slot]:
    """Yield the services from the checkpoint on, or from the day on which the book begins.

    A book day runs from its first service to the first of the next day that has one.
    """
    if since is not None:
        return slots_from(kitchen, since.covers_to)
    first = book[0].at if book else now
    before, ahead = split_at(slots_from(kitchen, first - timedelta(days=8)), first)
    return chain([slot for slot in before if slot.day == before[-1].day], ahead)


def split_at(slots: Iterator[Slot], at: datetime) -> tuple[list[Slot], Iterator[Slot]]:
    """Return the services begun by a time, and those to come."""
    begun: list[Slot] = []
    for slot in slots:
        if slot.begins > at:
            return begun, chain([slot], slots)
        begun.append(slot)
    raise AssertionError("services never end")


def by_service(slots: Sequence[Slot], book: Iterable[Entry]) -> list[list[OfService]]:
    """Return for each service the loads, hot hours and top-ups that speak of it.

    An entry speaks of its fryer's last service of the book day, or if none has begun of the
    first to come on that day. Where the fryer has none on that day it worked outside its
    plan, in the last service that began.
    """
    said: list[list[OfService]] = [[] for _ in slots]
    own: dict[str, int] = {}
    n = 0
    for entry in book:
        if not isinstance(entry, OfService):
            continue
        while n < len(slots) and slots[n].begins <= entry.at:
            if n and slots[n].day != slots[n - 1].day:
                own = {}
            own.update(dict.fromkeys(slots[n].fryers, n))
            n += 1
        last = max(n - 1, 0)
        if entry.fryer not in own:
            today = range(n, len(slots))
            later = (m for m in today if slots[m].day == slots[last].day and entry.fryer in slots[m].fryers)
            said[next(later, last)].append(entry)
        else:
            said[own[entry.fryer]].append(entry)
    return said


def legs_of(
    begun: Sequence[Slot], book: Sequence[Entry], said: Sequence[Sequence[OfService]], *, until: datetime
) -> list[Leg]:
    """Return the stretches to walk, the last up to ``until``."""
    legs: list[Leg] = []
    i = 0
    for slot, following, of_it in zip_longest(begun, begun[1:], said[: len(begun)]):
        end = until if following is None else following.begins
        j = len(book) if following is None else bisect_left(book, end, lo=i, key=attrgetter("at"))
        legs.append(Leg(slot=slot, until=end, entries=book[i:j], said=of_it))
        i = j
    return legs


def orders_in(book: Iterable[Entry]) -> list[OutOfOrder]:
    """Return the entries that take fryers out of use or put them back."""
    return [entry for entry in book if isinstance(entry, OutOfOrder)]


def check(kitchen: Kitchen, entries: list[Entry], since: Checkpoint | None) -> list[Entry]:
    """Return the entries that are new to ``since``; raises ValueError as ``walk_to`` says."""
    check_names(kitchen, entries)
    if since is None:
        return entries
    if since.kitchen != kitchen:
        raise ValueError(f"the checkpoint is of {since.kitchen.name!r} with other settings: replay")
    if since.model_version != MODEL_VERSION:
        raise ValueError(f"the checkpoint is of model {since.model_version}, this is {MODEL_VERSION}: replay")
    old = [entry for entry in entries if entry.at < since.covers_to]
    if old and (len(old) != since.entries or digest_of(old) != since.digest):
        raise ValueError(f"entries before {since.covers_to} differ from those the checkpoint covers: replay")
    return entries[len(old) :]


def carried_over(since: Checkpoint, kitchen: Kitchen) -> Checkpoint | None:
    """Return a checkpoint for other settings of its kitchen, if ageing does not depend on them.

    Those are names, limits, risk, jurisdiction, prices, packs, allergens, marks and dates; None for others.
    """
    return replace(since, kitchen=kitchen) if _ageing(since.kitchen) == _ageing(kitchen) else None


def _ageing(kitchen: Kitchen) -> Kitchen:
    fryers = (
        replace(one, name=one.key, draining=Draining.HAND, minimum_mass_kg=None) for one in kitchen.fryers
    )
    oils = (replace(one, name=one.key, pack_kg=None, price_per_kg=None, allergens=()) for one in kitchen.oils)
    products = (
        replace(one, name=one.key, portion_kg=None, basket_kg=None, allergens=()) for one in kitchen.products
    )
    return replace(
        kitchen,
        name="",
        limits=(),
        jurisdiction=None,
        risk=0.05,
        fryers=tuple(fryers),
        oils=tuple(oils),
        products=tuple(products),
        meters=tuple(replace(one, name=one.key, in_use_since=None) for one in kitchen.meters),
        reference_lots=tuple(
            replace(one, name=one.key, opened=None, best_before=None) for one in kitchen.reference_lots
        ),
        permissible_pct=PERMISSIBLE_PCT,
        laboratory_price=None,
    )


def check_names(kitchen: Kitchen, entries: list[Entry]) -> list[Entry]:
    """Return the entries; raises ValueError for one that names what the kitchen lacks."""
    known = {
        "fryer": {fryer.key for fryer in kitchen.fryers},
        "product": {product.key for product in kitchen.products},
        "meter": {meter.key for meter in kitchen.meters},
        "oil": {oil.key for oil in kitchen.oils},
        "reference oil": {lot.key for lot in kitchen.reference_lots},
    }
    for entry in entries:
        for what, key in names_in(entry):
            if key not in known[what]:
                raise ValueError(f"{entry.ref or 'entry'}: no {what} {key!r} in {kitchen.name!r}")
    return entries


def names_in(entry: Entry) -> list[tuple[str, str]]:
    """Return what an entry names, as (what it is, key)."""
    named = [("fryer", entry.fryer)] if isinstance(entry, AtFryer) else []
    match entry:
        case AtMeter():
            named.append(("meter", entry.meter))
        case Move():
            named.append(("fryer", entry.into))
        case Load():
            named.append(("product", entry.product))
        case Reading(meter=str(key)):
            named.append(("meter", key))
        case Change(oil=str(key)):
            named.append(("oil", key))
    if isinstance(entry, MeterCheck):
        named.append(("reference oil", entry.lot))
    if isinstance(entry, Adopted):
        named.append(("oil", entry.oil))
    return named


def with_old_fills(belief: Belief, baths: Baths, book: Sequence[Entry]) -> Belief:
    """Return the belief with the fills made old whose beginning the book does not hold."""
    old = np.ones(belief.oil.shape, dtype=bool)
    seen: set[str] = set()
    for entry in book:
        if isinstance(entry, AtFryer) and entry.fryer not in seen:
            seen.add(entry.fryer)
            old[0, baths.fryer_index[entry.fryer]] = not isinstance(entry, Change)
    age_pct = coefficients()["old_fill"]
    base, own_cov = belief.base.copy(order="K"), belief.own_cov.copy(order="K")
    base[..., LEVEL] += np.where(old, age_pct.value, 0.0)
    own_cov[..., LEVEL, LEVEL] += np.where(old, age_pct.sd**2, 0.0)
    return replace(belief, base=base, own_cov=own_cov)


def checkpoint(
    kitchen: Kitchen, entries: Iterable[Entry], *, at: datetime, since: Checkpoint | None = None
) -> Checkpoint:
    """Return where to go on from at the beginning of the book day that runs at ``at``.

    Entries speak of services of their own book day, so what comes later leaves it as it is.
    """
    return walk_days(kitchen, entries, at=at, since=since)[0]


def walk_days(
    kitchen: Kitchen,
    entries: Iterable[Entry],
    *,
    at: datetime,
    since: Checkpoint | None = None,
    keep_moments: bool = False,
) -> tuple[Checkpoint, Walk | None]:
    """Return the checkpoint at the beginning of a book day, and the walk there if there was any."""
    since, book = begin(kitchen, entries, now=at, since=since)
    begun, _ = split_at(slots_of(kitchen, book, now=at, since=since), at)
    if not begun and since is not None:
        return since, None
    covers_to = next(slot.begins for slot in begun if slot.day == begun[-1].day)
    new = [entry for entry in book if entry.at < covers_to]
    done = [slot for slot in begun if slot.begins < covers_to]
    walk = Walk(baths_of(kitchen), since)
    walk.keep_moments = keep_moments
    if since is None:
        walk.belief = with_old_fills(walk.belief, walk.baths, book)
    walk.walk(legs_of(done, new, by_service(done, new), until=covers_to), orders_in(new))
    found = Checkpoint(
        model_version=MODEL_VERSION,
        kitchen=kitchen,
        covers_to=covers_to,
        entries=len(new) + (since.entries if since else 0),
        digest=(digest_of(new) + (since.digest if since else 0)) % (1 << 128),
        belief=walk.belief,
        pattern=walk.pattern,
        carried=walk.carried,
        running=walk.running,
        stored=walk.stored,
        fills=walk.fills,
        stored_fills=walk.stored_fills,
        out_of_order=frozenset(walk.out_of_order),
        meters=tuple(walk.meters.histories),
        drifted_to=walk.meters.drifted_to,
    )
    return found, walk
