"""Recomputing a belief in the background, after something was told of long ago."""

import logging
import threading
from datetime import datetime, timedelta

from django.db import connection, transaction
from django.db.models import Q

from kettlewell.bridge import beliefs
from kettlewell.bridge.entries import book_of
from kettlewell.bridge.setups import history_of
from kettlewell.records.models import Kitchen, Replay
from kettlewell.records.selectors import of_the_baths

IN_THE_REQUEST = timedelta(days=90)
GIVEN_UP_AFTER = timedelta(minutes=10)

log = logging.getLogger(__name__)


def ask(kitchen: Kitchen, since: datetime | None, now: datetime) -> bool:
    """Forget the beliefs that reach beyond a time; return whether that is left to the background.

    Up to 90 days back the next answer replays by itself. ``since`` None: the book is empty.
    """
    if since is None or now - since <= IN_THE_REQUEST:
        beliefs.forget(kitchen, since=since or now)
        return False
    with transaction.atomic():
        row, new = Replay.objects.select_for_update().get_or_create(
            kitchen=kitchen, defaults={"since": since}
        )
        if not new:
            row.since, row.taken_at = min(row.since, since), None
            row.save()
    transaction.on_commit(lambda: pending(kitchen, now))
    return True


def told_late(kitchen: Kitchen, since: datetime, now: datetime) -> None:
    """Have the beliefs recomputed that reach beyond the time of what was told only now."""
    if kitchen.beliefs.filter(covers_to__gt=since).exists():
        ask(kitchen, since, now)


def in_front(kitchen: Kitchen, since: datetime, now: datetime) -> None:
    """Recompute at once what reaches beyond a time, and come back when it stands."""
    with transaction.atomic():
        row, _new = Replay.objects.select_for_update().get_or_create(
            kitchen=kitchen, defaults={"since": since}
        )
        row.since, row.taken_at = min(row.since, since), now
        row.save()
    replay(kitchen, now)


def pending(kitchen: Kitchen, now: datetime) -> bool:
    """Tell whether a replay is under way; one that nobody works at is taken up."""
    row = Replay.objects.filter(kitchen=kitchen).first()
    if row is None:
        return False
    if row.taken_at is None or abs(now - row.taken_at) > GIVEN_UP_AFTER:
        take_up(kitchen, now)
    return True


def take_up(kitchen: Kitchen, now: datetime) -> None:
    """Begin a replay in a thread of its own, unless someone else has begun it."""
    at_work = Q(taken_at__range=(now - GIVEN_UP_AFTER, now + GIVEN_UP_AFTER))
    free = Q(taken_at=None) | ~at_work  # also one taken up at a time to come: a clock was wrong
    if Replay.objects.filter(free, kitchen=kitchen).update(taken_at=now):
        threading.Thread(target=_work, args=(kitchen, now), name=f"replay {kitchen.slug}").start()


def _work(kitchen: Kitchen, now: datetime) -> None:
    try:
        replay(kitchen, now)
    except Exception:
        log.exception("The belief of %s could not be recomputed; it will be tried again.", kitchen.slug)
    finally:
        connection.close()


def replay(kitchen: Kitchen, now: datetime) -> None:
    """Recompute what reaches beyond the time that was asked for, and put it in place at once."""
    row = Replay.objects.get(kitchen=kitchen)
    fresh = Kitchen.objects.get(pk=kitchen.pk)
    history = history_of(fresh)
    since = beliefs.fitting(beliefs.newest(fresh, before=row.since), history)
    entries = book_of(fresh, since=since.covers_to if since else None, upto_seq=fresh.head_seq)
    made = beliefs.ladder(history, entries, now=now, since=since)
    with transaction.atomic():
        if not Replay.objects.filter(pk=row.pk, since=row.since, taken_at=row.taken_at).delete()[0]:
            return  # asked for anew meanwhile: the new one does it
        beliefs.forget(fresh, since=row.since)
        beliefs.store(fresh, made, upto_seq=fresh.head_seq, now=now)


def beginning(kitchen: Kitchen) -> datetime | None:
    """Return when the first thing happened to a bath or a meter."""
    return of_the_baths(kitchen, upto_seq=kitchen.head_seq).values_list("at", flat=True).first()
