"""Reading the day book."""

from collections.abc import Collection, Iterable
from datetime import datetime
from uuid import UUID

from django.db.models import Exists, Max, OuterRef, Q, QuerySet

from kettlewell.book.kinds import COUNTING
from kettlewell.records.models import Entry, Kitchen, Private, Seat


def standing(kitchen: Kitchen) -> QuerySet[Entry]:
    """Return the entries that no later one replaces, those that undo left out."""
    return Entry.objects.filter(kitchen=kitchen, replaced_by=None).exclude(kind="undone")


def of_the_baths(kitchen: Kitchen, *, since: datetime | None = None, upto_seq: int) -> QuerySet[Entry]:
    """Return what stands of what happened to baths and meters since a time, as known by an entry."""
    stood = Q(replaced_by=None) | Q(replaced_by__seq__gt=upto_seq)
    found = Entry.objects.filter(stood, kitchen=kitchen, kind__in=COUNTING, seq__lte=upto_seq)
    if since is not None:
        found = found.filter(at__gte=since)
    return found.order_by("at", "seq")


def last_that_counts(kitchen: Kitchen) -> tuple[int, str]:
    """Return place and hash of the last entry that an answer depends on; (0, "") before there is one."""
    counting = [*COUNTING, "undone", "setting"]
    lasts = Entry.objects.filter(kitchen=kitchen, kind__in=counting).order_by("-seq")
    return lasts.values_list("seq", "hash").first() or (0, "")


def open_calls(kitchen: Kitchen) -> list[Entry]:
    """Return the calls for the chef that nobody has answered, the oldest first."""
    answer = Entry.objects.filter(kind="answer", about=OuterRef("pk"), replaced_by=None)
    calls = asking(kitchen).filter(~Exists(answer), kind="call", replaced_by=None)
    return sorted(calls.select_related("person"), key=lambda call: call.at)


def open_changes(kitchen: Kitchen) -> dict[str, Entry]:
    """Return by fryer its last verdict to change before frying, if nobody has said what was done.

    What was told in answer to an entry that was corrected or undone since asks nothing, nor does
    what was told before a verdict that was settled.
    """
    verdicts = asking(kitchen).filter(kind="verdict", about__replaced_by=None)
    lasts = verdicts.order_by().values("fryer").annotate(last=Max("seq")).values("last")
    answers = Entry.objects.filter(kitchen=kitchen, kind="settled", replaced_by=None).order_by()
    settled = dict(answers.values_list("fryer").annotate(last=Max("about__seq")))
    return {
        verdict.fryer: verdict
        for verdict in verdicts.filter(seq__in=lasts)
        if verdict.seq > settled.get(verdict.fryer, 0)
    }


def asking(kitchen: Kitchen) -> QuerySet[Entry]:
    """Return the entries that wait, or waited, for an answer."""
    return Entry.objects.filter(kitchen=kitchen, asks=True)


def of_vessels(kitchen: Kitchen, fryers: Collection[str], kinds: Collection[str]) -> QuerySet[Entry]:
    """Return what stands of some kinds at some fryers, in the order things happened."""
    return standing(kitchen).filter(fryer__in=fryers, kind__in=kinds).order_by("at", "seq")


def joined_to(kitchen: Kitchen, fryers: Iterable[str]) -> set[str]:
    """Return these fryers and all whose oil may have come to them through moves."""
    moves = list(standing(kitchen).filter(kind="move").values_list("fryer", "payload__into"))
    joined, more = set(fryers), True
    while more:
        sources = {source for source, into in moves if into in joined} - joined
        joined, more = joined | sources, bool(sources)
    return joined


def settled_by(verdict: Entry) -> Entry | None:
    """Return the entry that says what was done after a verdict."""
    return verdict.answers.filter(kind="settled", replaced_by=None).first()


def verdict_on(entry: Entry) -> Entry | None:
    """Return what was told in answer to an entry."""
    return entry.answers.filter(kind="verdict").order_by("seq").first()


def versions_of(entry: Entry) -> list[str]:
    """Return the ids of an entry and of those it corrects, as a payload cites them."""
    return [str(entry.pk), *(versions_of(entry.replaces) if entry.replaces else [])]


def settled_after(check: Entry) -> QuerySet[Entry]:
    """Return what stands of how verdicts were settled after a check, or after one that it corrects."""
    return standing(check.kitchen).filter(kind="relied", payload__check__in=versions_of(check))


def notes_of(entries: Iterable[Entry]) -> dict[tuple[UUID, str], str]:
    """Return the notes and reasons of entries, by entry and field; erased ones are left out."""
    rows = Private.objects.filter(entry__in=list(entries), content__isnull=False)
    return {(row.entry_id, row.field): bytes(row.content or b"").decode() for row in rows}


def people_of(kitchen: Kitchen) -> list[Seat]:
    """Return everyone with a seat, by name."""
    return list(
        Seat.objects.filter(kitchen=kitchen).select_related("person", "kitchen").order_by("person__name")
    )
