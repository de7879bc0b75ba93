"""Writing in the day book: the only way an entry comes to be."""

import secrets
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import connection, transaction
from django.utils.translation import gettext_lazy as _

from kettlewell.book.plain import decimal_text, time_text
from kettlewell.records.canonical import VERSION, Plain, salted_digest, sha256
from kettlewell.records.checks import (
    AHEAD_AT_MOST,
    PRIVATE_FIELDS,
    answered,
    check_cited,
    check_id,
    check_named,
    check_private,
    check_time,
    checked_payload,
    replaceable,
)
from kettlewell.records.ids import uuid7
from kettlewell.records.kinds import plain
from kettlewell.records.models import Device, Entry, Kitchen, Person, Private

CLOCK_ERROR_STEP_S = Decimal("0.001")
SALT_BYTES = 32
AT_ONCE = 500  # rows in one statement: SQLite binds 32,766 values at most


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What a client tells: an entry before it is written down.

    ``id`` is made by the client (UUIDv7, RFC 9562). ``happened_at`` is the time of a clock that was
    found fast by ``clock_error_s`` seconds, or, where that is None, a time that somebody gave.
    ``private`` holds names, notes and photos as bytes. ``sure`` says that it is right though it is unlikely.
    """

    id: UUID
    kind: str
    happened_at: datetime
    payload: Mapping[str, Any]
    clock_error_s: Decimal | None = None
    private: Mapping[str, bytes] = field(default_factory=dict)
    replaces: UUID | None = None
    sure: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """Whose hand writes, on which device, and when.

    ``server_now`` is the time by the server's clock, where it is known to be wrong and ``now`` is another.
    """

    person: Person | None
    now: datetime
    device: Device | None = None
    server_now: datetime | None = None

    @property
    def received_at(self) -> datetime:
        """When it is received, by the server's clock."""
        return self.server_now or self.now


class TakenIdError(ValidationError):
    """The id of an entry that says something else."""

    def __init__(self) -> None:
        """Say what to do."""
        super().__init__(_("This form was sent before with other values. Open it anew."), code="taken")


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What is told, found to be as its kind has it: ``entry_checked`` makes it, and nobody else."""

    told: Told
    payload: dict[str, Any]


class BookMovedError(Exception):
    """Somebody wrote in a day book since it was looked at."""


def entry_checked(told: Told) -> Checked:
    """Return what is told as it can be written down; raises ValidationError as ``entry_add`` does."""
    check_id(told.id)
    payload = checked_payload(told.kind, told.payload)
    check_private(told.private)
    return Checked(told=told, payload=payload)


def entry_add(kitchen: Kitchen, told: Told, hand: Hand) -> tuple[Entry, bool]:
    """Return the entry and whether it is new; the same entry sent twice is written once.

    Raises ValidationError, by field, for what its kind does not allow, for a time that cannot
    be, for a thing that the kitchen does not have, for a correction of what cannot be corrected, for
    an answer to what it does not answer, and for an id that is none or was used before.
    """
    checked = entry_checked(told)
    with transaction.atomic():
        row = Kitchen.objects.select_for_update().get(pk=kitchen.pk)
        if there := Entry.objects.filter(pk=told.id).first():
            return same(there, row, told, checked.payload), False
        entry, private = appended(row, checked, hand)
        entry.save(force_insert=True)
        Private.objects.bulk_create(private)
        row.save()
    follow(kitchen, row)
    return entry, True


def entries_add(kitchen: Kitchen, checked: Sequence[Checked], hand: Hand, *, after_seq: int) -> list[Entry]:
    """Return many entries, all of them new, written at once in their order, all or none.

    Raises ValidationError as ``entry_add`` does, and for an id that is there; BookMovedError where the
    last entry is not number ``after_seq``.
    """
    with transaction.atomic():
        row = Kitchen.objects.select_for_update().get(pk=kitchen.pk)
        if row.head_seq != after_seq:
            raise BookMovedError
        if entries_there([each.told.id for each in checked]):
            raise TakenIdError
        made = [appended(row, each, hand) for each in checked]
        entries = [entry for entry, _ in made]
        Entry.objects.bulk_create(entries, batch_size=AT_ONCE)
        Private.objects.bulk_create((each for _, private in made for each in private), batch_size=AT_ONCE)
        row.save()
    follow(kitchen, row)
    return entries


def entries_there(ids: Sequence[UUID]) -> set[UUID]:
    """Return which of these ids are those of entries, of whichever kitchen."""
    found: set[UUID] = set()
    for start in range(0, len(ids), AT_ONCE):
        there = Entry.objects.filter(pk__in=ids[start : start + AT_ONCE])
        found.update(there.values_list("pk", flat=True))
    return found


def appended(row: Kitchen, checked: Checked, hand: Hand) -> tuple[Entry, list[Private]]:
    """Return an entry with its names and notes as they follow a kitchen's head, which they become.

    Nothing is saved. ``row`` is locked. Raises ValidationError as ``entry_add`` does.
    """
    told, payload = checked.told, checked.payload
    check_time(told.happened_at, told.clock_error_s, hand.now)
    check_named(row, payload)
    replaced = replaceable(row, told.kind, told.replaces, told.private.get("reason"))
    about = answered(row, told.kind, payload)
    check_cited(row, payload, replaced)
    salts = {name: secrets.token_bytes(SALT_BYTES) for name in told.private}
    entry = Entry(
        id=told.id,
        kitchen=row,
        seq=row.head_seq + 1,
        kind=told.kind,
        happened_at=told.happened_at,
        clock_error_s=clock_error(told),
        received_at=hand.received_at,
        person=hand.person,
        device=hand.device,
        fryer=payload.get("fryer", ""),
        payload=payload,
        private={name: salted_digest(salts[name], content) for name, content in told.private.items()},
        replaces=replaced,
        version=VERSION,
        previous=row.head_hash,
        at=true_time(told.happened_at, clock_error(told), hand.received_at),
        about=about,
        asks=asks(told.kind, payload),
    )
    entry.hash = sha256(document(entry))
    row.head_seq, row.head_hash = entry.seq, entry.hash
    if entry.kind == "setting":
        row.settings_seq, row.settings_hash = entry.seq, entry.hash
    return entry, [
        Private(entry=entry, field=name, salt=salts[name], content=content)
        for name, content in told.private.items()
    ]


def follow(kitchen: Kitchen, row: Kitchen) -> None:
    """Bring a kitchen that somebody holds to where its row stands."""
    for name in ("head_seq", "head_hash", "settings_seq", "settings_hash"):
        setattr(kitchen, name, getattr(row, name))


def document(entry: Entry) -> dict[str, Plain]:
    """Return all that the hash of an entry is over, ready for its canonical form."""
    clock_error = entry.clock_error_s
    return {
        "version": entry.version,
        "id": str(entry.id),
        "kitchen": str(entry.kitchen_id),
        "seq": str(entry.seq),
        "kind": entry.kind,
        "happened_at": time_text(entry.happened_at),
        "clock_error_s": None if clock_error is None else decimal_text(clock_error),
        "received_at": time_text(entry.received_at),
        "person": str(entry.person_id) if entry.person_id else None,
        "device": str(entry.device_id) if entry.device_id else None,
        "fryer": entry.fryer,
        "payload": entry.payload,
        "private": entry.private,
        "replaces": str(entry.replaces_id) if entry.replaces_id else None,
        "previous": entry.previous,
    }


def clock_error(told: Told) -> Decimal | None:
    """Return the error of a clock, in s, as exactly as the day book keeps it."""
    return None if told.clock_error_s is None else told.clock_error_s.quantize(CLOCK_ERROR_STEP_S)


def true_time(happened_at: datetime, clock_error_s: Decimal | None, received_at: datetime) -> datetime:
    """Return when it happened, the known error of the clock taken off: at the latest when it was received.

    Later than a clock may be ahead unnoticed, it is by phones that showed the server's clock slow: it stands.
    """
    at = happened_at - timedelta(seconds=float(clock_error_s or 0))
    return at if at > received_at + AHEAD_AT_MOST else min(at, received_at)


def asks(kind: str, payload: Mapping[str, Any]) -> bool:
    """Tell whether an entry waits for an answer: the chef is called, or oil is to be changed."""
    return kind == "call" or (kind == "verdict" and payload.get("verdict") == "change_before")


def same(there: Entry, kitchen: Kitchen, told: Told, payload: Mapping[str, Any]) -> Entry:
    """Return the entry that is there if it says what is told; raises TakenIdError otherwise.

    A clock has gone on when a form is sent again; a time that somebody gave has not.
    """
    alike = (
        there.kitchen_id == kitchen.pk
        and there.kind == told.kind
        and there.payload == payload
        and there.replaces_id == told.replaces
        and given_at(there) == given_at(told)
        and same_private(there, told.private)
    )
    if not alike:
        raise TakenIdError
    return there


def given_at(told: Entry | Told) -> datetime | None:
    """Return the time that somebody gave; None where it is a clock's."""
    return told.happened_at if told.clock_error_s is None else None


def same_private(there: Entry, private: Mapping[str, bytes]) -> bool:
    """Tell whether the names and notes of an entry are these, as far as they are not erased."""
    kept = {row.field: row for row in there.privates.all() if row.content is not None}
    return set(there.private) == set(private) and all(
        bytes(row.content or b"") == private[name] for name, row in kept.items()
    )


def setting_add(
    kitchen: Kitchen,
    thing: str,
    key: str,
    values: Mapping[str, Any] | None,
    *,
    hand: Hand,
    counts_from: datetime | None = None,
) -> Entry:
    """Return the entry that gives a thing new values, from a time on (None: from now); None removes it.

    Raises ValidationError for a time that has not come.
    """
    told = setting_told(thing, key, values, hand=hand, counts_from=counts_from)
    return entry_add(kitchen, told, hand)[0]


def setting_told(
    thing: str,
    key: str,
    values: Mapping[str, Any] | None,
    *,
    hand: Hand,
    counts_from: datetime | None = None,
    private: Mapping[str, bytes] | None = None,
) -> Told:
    """Return a setting as it is told to the day book; raises ValidationError as ``setting_add`` does."""
    check_counts_from(counts_from, hand.now)
    payload: dict[str, Any] = {"thing": thing, "key": key}
    if values is None:
        payload["removed"] = True
    else:
        payload["values"] = plain(values)
    return Told(
        id=uuid7(hand.now),
        kind="setting",
        happened_at=counts_from or hand.now,
        payload=payload,
        private=private or {},
    )


def check_counts_from(counts_from: datetime | None, now: datetime) -> None:
    """Raise ValidationError for a setting that is to count from a time that has not come."""
    if counts_from is not None and counts_from > now:
        raise ValidationError({"counts_from": _("This time has not come yet.")})


def private_erase(
    kitchen: Kitchen, entries: list[Entry], hand: Hand, *, fields: Collection[str] = PRIVATE_FIELDS
) -> None:
    """Erase names, notes and photos of entries for good; that it was done is an entry itself."""
    with transaction.atomic():
        privates = Private.objects.filter(entry__in=entries, entry__kitchen=kitchen, field__in=fields)
        privates.update(salt=None, content=None)
        payload = {"entries": [str(entry.id) for entry in entries]}
        told = Told(id=uuid7(hand.now), kind="erased", happened_at=hand.now, payload=payload)
        entry_add(kitchen, told, hand)
        transaction.on_commit(write_ahead_log_empty)


def write_ahead_log_empty() -> None:
    """Empty the log beside SQLite's file, which else holds what was erased until it is written over."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
