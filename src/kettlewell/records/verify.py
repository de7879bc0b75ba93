"""Whether a day book is as it was written, and what is kept beside it as the day book says."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta
from itertools import chain, pairwise
from typing import Any, TypeVar
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import DatabaseError, OperationalError, models, transaction
from django.db.models.functions import Cast

from kettlewell.book.kinds import KINDS
from kettlewell.records.canonical import salted_digest, sha256
from kettlewell.records.chain import BESIDE, Break, Fault, Row, broken
from kettlewell.records.ledger import asks, document, true_time
from kettlewell.records.models import Device, Entry, Kitchen, Private, Seat
from kettlewell.records.people import device_values, seat_values
from kettlewell.records.settings import folded

# no number, no time, no id, no text, a table without end: nobody wrote that down
UNREADABLE = (
    ArithmeticError,
    AttributeError,
    LookupError,
    OperationalError,
    RecursionError,
    TypeError,
    ValidationError,
    ValueError,
)
A_TURN = timedelta(seconds=30)  # longer than a form waits to be written, once it was received
AS_TEXT = Cast("pk", models.TextField())

M = TypeVar("M", bound=models.Model)
R = TypeVar("R")
Kept = tuple[bytes | None, bytes | None]
Privates = dict[str, dict[str, Kept]]
Seats = dict[str, dict[str, Any] | None]
Tablets = dict[str, tuple[dict[str, Any], bool]]


def verify(kitchen: Kitchen) -> Break | None:
    """Return the first place where the day book of a kitchen is not as it was written; None if it is.

    The book is held against the kitchen's own head. Someone who can write into the database
    and computes the whole chain anew is found out only by a head that was noted elsewhere:
    on a printed page, or in an inspector's hand.
    """
    try:
        return first_fault(kitchen)
    except (*UNREADABLE, DatabaseError, Kitchen.DoesNotExist):
        return Break(seq=0, entry="", fault=Fault.UNREADABLE)


def first_fault(kitchen: Kitchen) -> Break | None:
    """Return the first fault of a day book that can be read, as far as it can be."""
    with transaction.atomic():  # nobody writes between the head and the entries
        kitchen = Kitchen.objects.select_for_update().get(pk=kitchen.pk)
        rows, privates = rows_of(kitchen), privates_of(kitchen)
        seats, tablets = given_seats(kitchen), tablets_there(kitchen)
    chained = broken(kitchen, rows, lambda row, seq: stands(row, seq, privates.get(row.key, {})))
    if finding := next(chained, None):
        return finding
    entries = [row.entry for row in rows if row.entry]
    settings = [entry for entry in entries if entry.kind == "setting"]
    beside = chain(
        erased_unsaid(entries, privates),
        settings_moved(kitchen, settings),
        seats_moved(settings, seats),
        tablets_moved(settings, tablets),
    )
    return next(beside, None)


def unbroken_to(kitchen: Kitchen, finding: Break | None) -> Entry | None:
    """Return the last entry before what ``verify`` found in the chain of a kitchen; None where there is none.

    Up to it each entry says what its hash was taken over, and follows the one before.
    """
    seq = kitchen.head_seq if finding is None or finding.fault in BESIDE else finding.seq - 1
    return Entry.objects.filter(kitchen=kitchen, seq=seq).first() if seq > 0 else None


def entry_with_head(digits: str, *, upto: Entry) -> Entry | None:
    """Return the entry whose hash begins with these digits, up to one to which its chain is unbroken."""
    found = Entry.objects.filter(kitchen=upto.kitchen_id, hash__startswith=digits, seq__lte=upto.seq)
    return found.select_related("kitchen").first()


def set_back(kitchen: Kitchen, *, upto_seq: int) -> list[tuple[int, timedelta]]:
    """Return the entries that were received before the one they follow, and how long before."""
    entries = Entry.objects.filter(kitchen=kitchen, seq__lte=upto_seq).order_by("seq")
    received = entries.values_list("seq", "received_at").iterator()
    return [(seq, before - at) for (_seq, before), (seq, at) in pairwise(received) if before - at > A_TURN]


def kitchens() -> list[Kitchen]:
    """Return the kitchens of this server, as far as their rows can be read."""
    return sorted(readable(Kitchen.objects.all()).values(), key=lambda kitchen: str(kitchen.slug))


def strays() -> list[str]:
    """Return the ids of kitchens of which there are entries but no row."""
    there = {str(kitchen.pk) for kitchen in kitchens()}
    found = Entry.objects.order_by().values_list(Cast("kitchen_id", models.TextField()), flat=True).distinct()
    return sorted({shown(key) for key in found} - there)


def rows_of(kitchen: Kitchen) -> list[Row]:
    """Return the entries of a kitchen as they lie in the database, in their order.

    Of one whose hashes cannot be read its own id stands for them, which no entry refers to.
    """
    found = Entry.objects.filter(kitchen=kitchen).order_by("seq", "id").annotate(key=AS_TEXT)
    entries = readable(Entry.objects.filter(kitchen=kitchen))
    hashes = {key: pair for key, *pair in in_parts(found.values_list("key", "hash", "previous"))}
    rows = []
    for key, seq in found.values_list("key", "seq"):
        hashed, previous = hashes.get(key, (key, key))
        rows.append(Row(key=shown(key), seq=seq, hash=hashed, previous=previous, entry=entries.get(key)))
    return rows


def privates_of(kitchen: Kitchen) -> Privates:
    """Return salt and content of the names and notes of a kitchen, by entry and field.

    One that cannot be read stands as a field there is not.
    """
    rows = Private.objects.filter(entry__kitchen=kitchen).order_by("pk")
    read = {row[0]: row for row in in_parts(rows.values_list("pk", "field", "salt", "content"))}
    found: Privates = {}
    for pk, entry in rows.values_list("pk", Cast("entry_id", models.TextField())):
        _pk, field, salt, content = read.get(pk, (pk, "", None, None))
        found.setdefault(shown(entry), {})[field] = (salt, content)
    return found


def readable(found: models.QuerySet[M]) -> dict[str, M]:
    """Return by the text of their ids the rows that can be read."""
    return {vars(row)["key"]: row for row in in_parts(found.order_by("pk").annotate(key=AS_TEXT))}


def in_parts(found: models.QuerySet[M, R]) -> list[R]:
    """Return what can be read of the rows found: those around one that cannot be are read without it."""

    def read(start: int, end: int) -> list[R]:
        try:
            return list(found[start:end])
        except UNREADABLE:
            middle = (start + end) // 2
            return [] if middle == start else read(start, middle) + read(middle, end)

    try:
        return list(found)
    except UNREADABLE:
        return read(0, found.count())


def shown(key: str) -> str:
    """Return the text of an id as it is written elsewhere, whatever the database makes of it."""
    try:
        return str(UUID(key))
    except ValueError:
        return key


def stands(row: Row, seq: int, privates: Mapping[str, Kept]) -> bool:
    """Tell whether an entry says what its hash was taken over, its names and notes included."""
    entry = row.entry
    if entry is None:
        return False
    try:
        about = entry.payload.get(KINDS[entry.kind].about if entry.kind in KINDS else "")
        return (
            entry.hash == sha256({**document(entry), "seq": str(seq)})
            and entry.at == true_time(entry.happened_at, entry.clock_error_s, entry.received_at)
            and about == (str(entry.about_id) if entry.about_id else None)
            and asks(entry.kind, entry.payload) == entry.asks
            and set(privates) == set(entry.private)
            and all(private_stands(kept, entry.private[field]) for field, kept in privates.items())
        )
    except UNREADABLE:
        return False


def private_stands(kept: Kept, digest: str) -> bool:
    """Tell whether a name or note is the one that was written, or was erased, salt and all."""
    salt, content = kept
    if content is None:
        return salt is None
    return salted_digest(bytes(memoryview(salt or b"")), bytes(memoryview(content))) == digest


def erased_unsaid(entries: Sequence[Entry], privates: Privates) -> Iterator[Break]:
    """Yield the entries whose names or notes are gone, and no entry says that they were erased."""
    said = {key for entry in entries if entry.kind == "erased" for key in entry.payload["entries"]}
    for entry in entries:
        gone = any(content is None for _salt, content in privates.get(str(entry.pk), {}).values())
        if gone and str(entry.pk) not in said:
            yield Break(seq=entry.seq, entry=str(entry.pk), fault=Fault.ERASED)


def settings_moved(kitchen: Kitchen, settings: Sequence[Entry]) -> Iterator[Break]:
    """Yield the last setting, where the kitchen takes another one for it and so goes by old settings."""
    seq, key, hashed = (
        (settings[-1].seq, str(settings[-1].pk), settings[-1].hash) if settings else (0, "", "")
    )
    if (kitchen.settings_seq, kitchen.settings_hash) != (seq, hashed):
        yield Break(seq=seq, entry=key, fault=Fault.SETTINGS)


def seats_moved(settings: Sequence[Entry], seats: Seats) -> Iterator[Break]:
    """Yield the people whose seats are not those that the settings gave them."""
    given = folded(entry.payload for entry in settings).get("people", {})
    last = last_told(settings, "people")
    for person in sorted(given.keys() | seats.keys()):
        if given.get(person) != seats.get(person):
            yield Break(seq=last.get(person, 0), entry=person, fault=Fault.SEATS)


def tablets_moved(settings: Sequence[Entry], tablets: Tablets) -> Iterator[Break]:
    """Yield the tablets that are not what the settings say; older ones were not written down."""
    told = [entry.payload for entry in settings if entry.payload["thing"] == "tablets"]
    named = folded(payload for payload in told if not payload.get("removed")).get("tablets", {})
    in_use = folded(told).get("tablets", {})
    for tablet, seq in sorted(last_told(settings, "tablets").items()):
        values, is_used = tablets.get(tablet, (None, False))
        if values is None or values != named.get(tablet, values) or is_used != (tablet in in_use):
            yield Break(seq=seq, entry=tablet, fault=Fault.TABLETS)


def last_told(settings: Sequence[Entry], thing: str) -> dict[str, int]:
    """Return the number of the last setting of each thing of a sort, by its key."""
    return {entry.payload["key"]: entry.seq for entry in settings if entry.payload["thing"] == thing}


def tablets_there(kitchen: Kitchen) -> Tablets:
    """Return what each tablet of a kitchen is, and whether it is in use, by id, as far as it can be read."""
    found = readable(Device.objects.filter(kitchen=kitchen)).values()
    return {str(device.pk): (device_values(device), device.retired_at is None) for device in found}


def given_seats(kitchen: Kitchen) -> Seats:
    """Return what the seats of a kitchen give, by person; nothing where one cannot be read."""
    key = Cast("person_id", models.TextField())
    seats = readable(Seat.objects.filter(kitchen=kitchen))
    found = Seat.objects.filter(kitchen=kitchen).values_list(key, AS_TEXT)
    return {shown(person): seat_values(seats[pk]) if pk in seats else None for person, pk in found}
