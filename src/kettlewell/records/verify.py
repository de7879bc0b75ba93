"""Whether a day book is as it was written: its chain computed again, and the first entry that is not."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from uuid import UUID

from django.db import transaction

from kettlewell.records.canonical import salted_digest, sha256
from kettlewell.records.kinds import ABOUT
from kettlewell.records.ledger import asks, document, true_time
from kettlewell.records.models import Entry, Kitchen, Private


class Fault(StrEnum):
    """What was done to an entry."""

    EDITED = "edited"
    REMOVED = "removed"
    INSERTED = "inserted"
    REORDERED = "reordered"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """The first place of a day book that is not as it was written; ``entry`` is empty where one is gone."""

    seq: int
    entry: str
    fault: Fault


def verify(kitchen: Kitchen) -> Finding | None:
    """Return the first entry edited, removed, inserted or reordered; None where all is as written.

    The book is held against the kitchen's own head. Someone who can write into the database
    and computes the whole chain anew is found out only by a head that was noted elsewhere:
    on a printed page, or in an inspector's hand.
    """
    with transaction.atomic():  # nobody writes between the head and the entries
        kitchen = Kitchen.objects.select_for_update().get(pk=kitchen.pk)
        rows = list(Entry.objects.filter(kitchen=kitchen).order_by("seq", "id"))
        privates: dict[UUID, dict[str, Private]] = {}
        for one in Private.objects.filter(entry__kitchen=kitchen):
            privates.setdefault(one.entry_id, {})[one.field] = one
    return next(_findings(kitchen, rows, privates), None)


def _findings(
    kitchen: Kitchen, rows: Sequence[Entry], privates: Mapping[UUID, Mapping[str, Private]]
) -> Iterator[Finding]:
    sound = cache(lambda row, seq: stands(row, seq, privates.get(row.id, {})))
    genuine = places(rows, kitchen, sound)
    written = {row.id for row in genuine.values()}
    last: Entry | None = None
    for seq, row in enumerate(rows, 1):
        expected = genuine.get(seq)
        if last and expected is row and row.previous != last.hash and sound(row, seq):
            yield Finding(seq=last.seq, entry=str(last.id), fault=Fault.EDITED)
        if fault := fault_at(seq, row, expected, known=row.id in written, head_seq=kitchen.head_seq):
            gone = fault is Fault.REMOVED
            yield Finding(seq=seq, entry="" if gone else str(row.id), fault=fault)
        if not sound(row, seq):
            yield Finding(seq=seq, entry=str(row.id), fault=Fault.EDITED)
        if row.seq != seq:
            yield Finding(seq=seq, entry=str(row.id), fault=Fault.REORDERED)
        last = row
    if len(rows) < kitchen.head_seq:
        yield Finding(seq=len(rows) + 1, entry="", fault=Fault.REMOVED)
    if last and last.hash != kitchen.head_hash:
        yield Finding(seq=last.seq, entry=str(last.id), fault=Fault.EDITED)


def places(rows: Sequence[Entry], kitchen: Kitchen, sound: Callable[[Entry, int], bool]) -> dict[int, Entry]:
    """Return which entry was written at which place: back from the head, then on from the beginning.

    The way back ends at an entry that is not ``sound``: what it says of the one before it is not to be
    believed.
    """
    by_hash = {row.hash: row for row in rows}
    found: dict[int, Entry] = {}
    seq, row = kitchen.head_seq, by_hash.get(kitchen.head_hash)
    while row and seq not in found and seq > 0:
        found[seq] = row
        seq, row = seq - 1, by_hash.get(row.previous) if sound(row, seq) else None
    followers = {row.previous: row for row in reversed(rows)}
    seq, row = 1, followers.get("")
    while row and seq not in found:
        found[seq] = row
        seq, row = seq + 1, followers.get(row.hash)
    return found


def fault_at(seq: int, row: Entry, expected: Entry | None, *, known: bool, head_seq: int) -> Fault | None:
    """Return why the entry found at a place is not the one written there; None if it is."""
    if expected is row:
        return None
    if seq > head_seq:
        return Fault.INSERTED
    if expected is None:
        return Fault.REMOVED if known or row.seq != seq else Fault.EDITED
    return Fault.REORDERED if known else Fault.INSERTED


def stands(row: Entry, seq: int, privates: Mapping[str, Private]) -> bool:
    """Tell whether an entry says what its hash was taken over, its names and notes included."""
    try:
        hashed = sha256({**document(row), "seq": str(seq)})
        follows = (
            true_time(row.happened_at, row.clock_error_s),
            row.payload.get(ABOUT.get(row.kind, "")),
            asks(row.kind, row.payload),
        )
    except (AttributeError, TypeError, ValueError):  # a number, or no time: nobody wrote that down
        return False
    return (
        row.hash == hashed
        and follows == (row.at, str(row.about_id) if row.about_id else None, row.asks)
        and set(privates) == set(row.private)
        and all(private_stands(private, row.private[field]) for field, private in privates.items())
    )


def private_stands(private: Private, digest: str) -> bool:
    """Tell whether a name or note is the one that was written, or was erased."""
    if private.content is None:
        return True
    return salted_digest(bytes(private.salt or b""), bytes(private.content)) == digest
