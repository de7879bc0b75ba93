"""From entries to a belief, and on from where it stopped."""

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import chain, pairwise

import numpy as np

from kettlewell.core.ageing.coefficients import coefficients
from kettlewell.core.belief.baths import Baths, baths_of
from kettlewell.core.belief.state import LEVEL, Belief
from kettlewell.core.belief.walk import Checkpoint, Walk
from kettlewell.core.belief.week import Slot, slots_from
from kettlewell.core.book import Change, Entry, Kitchen, Load, Move, Reading, in_order, told
from kettlewell.core.version import MODEL_VERSION


def digest_of(entries: Iterable[Entry]) -> int:
    """Return a number that stands for a set of entries, whatever their order."""
    total = 0
    for entry in entries:
        total += int.from_bytes(hashlib.sha256(told(entry).encode()).digest()[:16])
    return total % (1 << 128)


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """A walk up to ``now``: whole stretches behind it, ``slot`` running or last, ``ahead`` to come."""

    walk: Walk
    slot: Slot
    ahead: Iterator[Slot]


def walk_to(
    kitchen: Kitchen,
    entries: Iterable[Entry],
    *,
    now: datetime,
    since: Checkpoint | None = None,
    whole: bool = False,
    keep_moments: bool = False,
) -> Walked:
    """Walk the entries up to ``now``, or up to the beginning of its stretch if ``whole``.

    Raises ValueError for entries that ``since`` should cover and does not, for an entry
    that names a fryer, product, meter or oil the kitchen lacks, and for other model versions.
    """
    if now.tzinfo is None:
        raise ValueError(f"the time {now} names no time zone")
    if since is not None and since.covers_to > now:
        raise ValueError(
            f"the checkpoint covers entries up to {since.covers_to}, after {now}: take an earlier one"
        )
    if since is not None and since.entries == 0:
        since = None
    book = check(kitchen, in_order(entries), since)
    book = [entry for entry in book if entry.at <= now]
    baths = baths_of(kitchen)
    walk = Walk(baths, since)
    walk.keep_moments = keep_moments
    slots = (
        first_slots(kitchen, book[0].at if book else now)
        if since is None
        else slots_from(kitchen, since.covers_to)
    )
    if since is None:
        walk.belief = with_old_fills(walk.belief, baths, book)
    slot, i = next(slots), 0
    stretches: list[tuple[Slot, Sequence[Entry]]] = []
    for coming in slots:
        if coming.begins > now:
            break
        j = i
        while j < len(book) and book[j].at < coming.begins:
            j += 1
        stretches.append((slot, book[i:j]))
        slot, i = coming, j
    if whole or slot.begins > now:
        walk.walk(stretches)
    else:
        walk.walk([*stretches, (slot, book[i:])], until=slot.share(now))
    return Walked(walk=walk, slot=slot, ahead=chain([coming], slots))


def first_slots(kitchen: Kitchen, first: datetime) -> Iterator[Slot]:
    """Yield services from the last one that begins at or before ``first``."""
    slots = slots_from(kitchen, first - timedelta(days=8))
    for slot, coming in pairwise(slots):
        if coming.begins > first:
            yield slot
            yield coming
            break
    yield from slots


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


def check_names(kitchen: Kitchen, entries: list[Entry]) -> list[Entry]:
    """Return the entries; raises ValueError for one that names what the kitchen lacks."""
    known = {
        "fryer": {fryer.key for fryer in kitchen.fryers},
        "product": {product.key for product in kitchen.products},
        "meter": {meter.key for meter in kitchen.meters},
        "oil": {oil.key for oil in kitchen.oils},
    }
    for entry in entries:
        named = [("fryer", entry.fryer)]
        if isinstance(entry, Move):
            named.append(("fryer", entry.into))
        elif isinstance(entry, Load):
            named.append(("product", entry.product))
        elif isinstance(entry, Reading) and entry.meter is not None:
            named.append(("meter", entry.meter))
        elif isinstance(entry, Change) and entry.oil is not None:
            named.append(("oil", entry.oil))
        for what, key in named:
            if key not in known[what]:
                raise ValueError(f"{entry.ref or 'entry'}: no {what} {key!r} in {kitchen.name!r}")
    return entries


def with_old_fills(belief: Belief, baths: Baths, book: Sequence[Entry]) -> Belief:
    """Return the belief with the fills made old whose beginning the book does not hold."""
    old = np.ones(belief.oil.shape, dtype=bool)
    seen: set[str] = set()
    for entry in book:
        if entry.fryer not in seen:
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
    """Return where to go on from at the beginning of the service that runs or last ran at ``at``."""
    book = in_order(entries)
    walked = walk_to(kitchen, book, now=at, since=since, whole=True)
    walk, covers_to = walked.walk, walked.slot.begins
    new = [entry for entry in check(kitchen, book, since) if entry.at < covers_to]
    return Checkpoint(
        model_version=MODEL_VERSION,
        kitchen=kitchen,
        covers_to=covers_to,
        entries=len(new) + (since.entries if since else 0),
        digest=(digest_of(new) + (since.digest if since else 0)) % (1 << 128),
        belief=walk.belief,
        pattern=walk.pattern,
        carried=walk.carried,
        stored=walk.stored,
        fills=walk.fills,
        stored_fills=walk.stored_fills,
        out_of_order=frozenset(walk.out_of_order),
        drifted_to=walk.drifted_to,
    )
