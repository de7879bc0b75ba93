"""The chain of a day book: which entry was written at which place, and the first that was not."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from kettlewell.records.models import Entry, Kitchen


class Fault(StrEnum):
    """What was done to a day book."""

    EDITED = "edited"
    REMOVED = "removed"
    INSERTED = "inserted"
    REORDERED = "reordered"
    ERASED = "erased"
    SETTINGS = "settings"
    SEATS = "seats"
    TABLETS = "tablets"
    UNREADABLE = "unreadable"


# what lies beside a chain that itself holds up to its head
BESIDE = frozenset({Fault.ERASED, Fault.SETTINGS, Fault.SEATS, Fault.TABLETS})


@dataclass(frozen=True, slots=True, kw_only=True)
class Break:
    """The first place of a day book that is not as it was written.

    ``entry`` is empty where one is gone or nothing can be read; for a seat it is the id of the
    person, for a tablet that of the tablet.
    """

    seq: int
    entry: str
    fault: Fault


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """An entry as it lies in the database; ``entry`` is None where that cannot be read as one."""

    key: str
    seq: int
    hash: str
    previous: str
    entry: Entry | None


def broken(kitchen: Kitchen, rows: Sequence[Row], stands: Callable[[Row, int], bool]) -> Iterator[Break]:
    """Yield where the rows of a kitchen, in their order, are not the chain that ends at its head.

    ``stands`` tells whether a row says at a place what its hash was taken over.
    """
    sound = cache(stands)
    genuine = places(rows, kitchen, sound)
    written = {row.key for row in genuine.values()}
    last: Row | None = None
    for seq, row in enumerate(rows, 1):
        expected = genuine.get(seq)
        if last and expected is row and row.previous != last.hash and sound(row, seq):
            yield Break(seq=last.seq, entry=last.key, fault=Fault.EDITED)
        if fault := fault_at(seq, row, expected, known=row.key in written, head_seq=kitchen.head_seq):
            yield Break(seq=seq, entry="" if fault is Fault.REMOVED else row.key, fault=fault)
        if not sound(row, seq):
            yield Break(seq=seq, entry=row.key, fault=Fault.EDITED)
        if row.seq != seq:
            yield Break(seq=seq, entry=row.key, fault=Fault.REORDERED)
        last = row
    if len(rows) < kitchen.head_seq:
        yield Break(seq=len(rows) + 1, entry="", fault=Fault.REMOVED)
    if last and (len(rows), last.hash) != (kitchen.head_seq, kitchen.head_hash):
        yield Break(seq=last.seq, entry=last.key, fault=Fault.EDITED)


def places(rows: Sequence[Row], kitchen: Kitchen, sound: Callable[[Row, int], bool]) -> dict[int, Row]:
    """Return which entry was written at which place: back from the head, then on from the beginning.

    The way back ends at an entry that is not ``sound``: what it says of the one before it is not to be
    believed.
    """
    by_hash = {row.hash: row for row in rows}
    found: dict[int, Row] = {}
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


def fault_at(seq: int, row: Row, expected: Row | None, *, known: bool, head_seq: int) -> Fault | None:
    """Return why the entry found at a place is not the one written there; None if it is."""
    if expected is row:
        return None
    if seq > head_seq:
        return Fault.INSERTED
    if expected is None:
        return Fault.REMOVED if known or row.seq != seq else Fault.EDITED
    return Fault.REORDERED if known else Fault.INSERTED
