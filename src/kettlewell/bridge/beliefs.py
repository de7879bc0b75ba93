"""Stored beliefs: checkpoints on which an answer goes on without reading the whole book.

They stand on days that come closer together towards today, so that a late entry replays from
shortly before its time. They can be thrown away at any time; the day book is what counts.
"""

import pickle
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta

from django.db import transaction
from django.db.models import Min
from django.utils.crypto import constant_time_compare, salted_hmac

from kettlewell.book import Entry as EntryValue
from kettlewell.book import History
from kettlewell.book.kinds import COUNTING
from kettlewell.book.plain import time_text
from kettlewell.bridge.entries import book_of
from kettlewell.core import State, checkpoint, fits
from kettlewell.core.version import MODEL_VERSION
from kettlewell.records.models import Entry, Kitchen, Replay, StoredBelief

DAILY, WEEKLY = timedelta(days=10), timedelta(days=105)
SEAL_BYTES = 32
DAY = timedelta(days=1)


def newest(kitchen: Kitchen, *, before: datetime) -> State | None:
    """Return the last stored belief that reaches no further than a time; None if there is none."""
    row = newest_row(kitchen, before=before)
    return opened(bytes(row.content)) if row else None


def newest_row(kitchen: Kitchen, *, before: datetime) -> StoredBelief | None:
    """Return the last belief that reaches no further than a time and is to be relied on, as it is stored."""
    rows = kitchen.beliefs.filter(covers_to__lte=before, model_version=MODEL_VERSION)
    recomputing = Replay.objects.filter(kitchen=kitchen).exists()
    return next((row for row in rows.iterator() if is_relied_on(row, recomputing=recomputing)), None)


def is_relied_on(row: StoredBelief, *, recomputing: bool) -> bool:
    """Tell whether this server sealed a belief in its very place, and it knows all that happened before it.

    While it is being ``recomputed`` it may not know yet of what was told late, and that is said.
    """
    if not constant_time_compare(bytes(row.content)[:SEAL_BYTES], seal(row)):
        return False
    reached = None if recomputing else reached_back_to(row.kitchen, row.last_seq)
    return reached is None or row.covers_to <= reached


def climb(
    kitchen: Kitchen, history: History, *, now: datetime, upto_seq: int, since: State | None
) -> State | None:
    """Return a belief as of the book day that runs, and store those on the way to it.

    None where the book is still empty.
    """
    entries = book_of(kitchen, since=since.covers_to if since else None, upto_seq=upto_seq)
    made = ladder(history, entries, now=now, since=since)
    store(kitchen, made, upto_seq=upto_seq, now=now)
    return next(reversed(made.values()), since)


def ladder(
    history: History, entries: Sequence[EntryValue], *, now: datetime, since: State | None
) -> dict[date, State]:
    """Return a belief for each day of which one is kept, the last as of the book day that runs."""
    if not entries and since is None:
        return {}
    made: dict[date, State] = {}
    for at in rungs(since.covers_to if since else entries[0].at, now):
        later = checkpoint(history, entries, at=at, since=since)
        if since is None or later.covers_to > since.covers_to:
            made[at.date()] = since = later
            entries = [entry for entry in entries if entry.at >= later.covers_to]
    return made


def rungs(first: datetime, now: datetime) -> Iterator[datetime]:
    """Yield the ends of the days of which a belief is kept, and last of all now."""
    at = first.astimezone(UTC).replace(hour=23, minute=59, second=0, microsecond=0)
    while at < now:
        if kept(at.date(), now.date()):
            yield at
        at += DAY
    yield now


def kept(day: date, today: date) -> bool:
    """Tell whether a day's belief is kept: each day's, each week's, each quarter's, the older the fewer."""
    age, number = today - day, day.toordinal()
    return age <= DAILY or (age <= WEEKLY and number % 7 == 0) or number % 91 == 0


def store(kitchen: Kitchen, made: Mapping[date, State], *, upto_seq: int, now: datetime) -> None:
    """Store beliefs that no entry reaches back into that came meanwhile; let those go that are not kept."""
    if not made:
        return
    with transaction.atomic():
        Kitchen.objects.select_for_update().get(pk=kitchen.pk)
        reached = reached_back_to(kitchen, upto_seq)
        StoredBelief.objects.bulk_create(
            (
                stored(kitchen, state, day=day, last_seq=upto_seq)
                for day, state in made.items()
                if reached is None or state.covers_to <= reached
            ),
            update_conflicts=True,
            unique_fields=["kitchen", "covers_to"],
            update_fields=["day", "last_seq", "model_version", "content"],
        )
        old = [row.pk for row in kitchen.beliefs.defer("content") if not kept(row.day, now.date())]
        StoredBelief.objects.filter(pk__in=old).delete()


def reached_back_to(kitchen: Kitchen, seq: int) -> datetime | None:
    """Return the earliest time of which entries after one speak; None where it is of no bath or meter."""
    newer = Entry.objects.filter(kitchen=kitchen, seq__gt=seq, kind__in=[*COUNTING, "undone"])
    earliest = newer.aggregate(own=Min("at"), corrected=Min("replaces__at"))
    return min((at for at in earliest.values() if at is not None), default=None)


def forget(kitchen: Kitchen, *, since: datetime) -> None:
    """Throw away the beliefs that reach beyond a time: something was told of it later."""
    kitchen.beliefs.filter(covers_to__gt=since).delete()


def fitting(since: State | None, history: History) -> State | None:
    """Return a belief that rests on these settings; None where what counted before it was set anew."""
    return since if since and fits(since, history) else None


def stored(kitchen: Kitchen, state: State, *, day: date, last_seq: int) -> StoredBelief:
    """Return a belief as a row, behind a seal of the server's secret."""
    row = StoredBelief(
        kitchen=kitchen,
        covers_to=state.covers_to,
        day=day,
        last_seq=last_seq,
        model_version=MODEL_VERSION,
        content=bytes(SEAL_BYTES) + pickle.dumps(state, protocol=pickle.HIGHEST_PROTOCOL),
    )
    row.content = seal(row) + row.content[SEAL_BYTES:]
    return row


def opened(content: bytes) -> State | None:
    """Return the belief of a row that is relied on; None where it is of another shape."""
    found = pickle.loads(content[SEAL_BYTES:])  # noqa: S301 - the seal says that these bytes are our own
    return found if isinstance(found, State) else None


def seal(row: StoredBelief) -> bytes:
    """Return the seal of a belief: over its bytes, whose it is, until when, and the chain it is of."""
    chained = Entry.objects.filter(kitchen=row.kitchen_id, seq=row.last_seq).values_list("hash", flat=True)
    place = (
        str(row.kitchen_id),
        time_text(row.covers_to),
        str(row.last_seq),
        row.model_version,
        chained.first() or "",
    )
    content = bytes(row.content)[SEAL_BYTES:]
    sealed = "\n".join(place).encode() + b"\n" + content
    return salted_hmac("kettlewell.belief", sealed, algorithm="sha256").digest()
