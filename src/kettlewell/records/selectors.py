"""Reading the day book."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Q, QuerySet

from kettlewell.records.kinds import AT_A_FRYER
from kettlewell.records.models import Entry, Kitchen, Private, Seat

CLOCKS_WRONG_AT_MOST = timedelta(days=1)


def standing(kitchen: Kitchen) -> QuerySet[Entry]:
    """Return the entries that no later one replaces, those that undo left out."""
    return Entry.objects.filter(kitchen=kitchen, replaced_by=None).exclude(kind="undone")


def of_the_baths(kitchen: Kitchen, *, since: datetime | None = None, upto_seq: int) -> QuerySet[Entry]:
    """Return what stands of what happened at the fryers since a time, as known by an entry."""
    stood = Q(replaced_by=None) | Q(replaced_by__seq__gt=upto_seq)
    found = Entry.objects.filter(stood, kitchen=kitchen, kind__in=AT_A_FRYER, seq__lte=upto_seq)
    if since is not None:
        # a phone's clock may have been wrong: who reads them takes its error off and looks again
        slow = Q(clock_error_s__lt=-CLOCKS_WRONG_AT_MOST.total_seconds())
        found = found.filter(Q(happened_at__gte=since - CLOCKS_WRONG_AT_MOST) | slow)
    return found.order_by("happened_at", "seq")


def last_that_counts(kitchen: Kitchen) -> tuple[int, str]:
    """Return place and hash of the last entry that an answer depends on; (0, "") before there is one."""
    counting = [*AT_A_FRYER, "undone", "setting"]
    lasts = Entry.objects.filter(kitchen=kitchen, kind__in=counting).order_by("-seq")
    return lasts.values_list("seq", "hash").first() or (0, "")


def open_calls(kitchen: Kitchen) -> list[Entry]:
    """Return the calls for the chef that nobody has answered, the oldest first."""
    answered = set(standing(kitchen).filter(kind="answer").values_list("payload__call", flat=True).order_by())
    calls = standing(kitchen).filter(kind="call").select_related("person").order_by("happened_at")
    return [call for call in calls if str(call.id) not in answered]


def open_changes(kitchen: Kitchen) -> list[Entry]:
    """Return the verdicts to change before frying of which nobody has said what was done."""
    settled = set(
        standing(kitchen).filter(kind="settled").values_list("payload__verdict", flat=True).order_by()
    )
    verdicts = Entry.objects.filter(kitchen=kitchen, kind="verdict").order_by("-seq")
    latest: dict[str, Entry] = {}
    for verdict in verdicts.filter(payload__verdict="change_before"):
        latest.setdefault(verdict.fryer, verdict)
    return [verdict for verdict in latest.values() if str(verdict.id) not in settled]


def verdict_on(entry: Entry) -> Entry | None:
    """Return what was told in answer to an entry."""
    return Entry.objects.filter(
        kitchen_id=entry.kitchen_id, kind="verdict", seq__gt=entry.seq, payload__answers=str(entry.id)
    ).first()


def notes_of(entries: Iterable[Entry]) -> dict[tuple[UUID, str], str]:
    """Return the notes and reasons of entries, by entry and field; erased ones are left out."""
    rows = Private.objects.filter(entry__in=list(entries), content__isnull=False)
    return {(row.entry_id, row.field): bytes(row.content or b"").decode() for row in rows}


def people_of(kitchen: Kitchen) -> list[Seat]:
    """Return everyone with a seat, by name."""
    return list(Seat.objects.filter(kitchen=kitchen).select_related("person").order_by("person__name"))
