"""Reading the day book."""

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Exists, Max, OuterRef, Q, QuerySet

from kettlewell.book.kinds import COUNTING, KINDS
from kettlewell.book.settings import THINGS
from kettlewell.records.models import Entry, Kitchen, Private
from kettlewell.records.settings import settings_of

LOOKED_AT = ("senses", "laboratory", "change", "store")
DAY_OVER = timedelta(days=1)  # our own choice
# by sort of thing, the kinds of entries that speak of one, and the field in which they do
SPOKEN_OF = {
    thing: tuple(
        (kind.key, field.name)
        for kind in KINDS.values()
        for field in kind.fields
        if field.things == thing and field.name != "fryer"  # a column of its own
    )
    for thing in THINGS
}


def unreplaced(kitchen: Kitchen) -> QuerySet[Entry]:
    """Return the entries that no later one replaces, those that undo left out."""
    return Entry.objects.filter(kitchen=kitchen, replaced_by=None).exclude(kind="undone")


def written_since(kitchen: Kitchen, kinds: Collection[str], since: datetime) -> QuerySet[Entry]:
    """Return what stands of some kinds since a time, in the order things happened."""
    found = unreplaced(kitchen).filter(kind__in=kinds, at__gte=since)
    return with_people(found).order_by("at", "seq")


def standing_of(kitchen: Kitchen, kind: str) -> QuerySet[Entry]:
    """Return what stands of a kind, the newest first."""
    return with_people(unreplaced(kitchen).filter(kind=kind)).order_by("-at", "-seq")


def trainings_of(kitchen: Kitchen, person: UUID | None = None) -> QuerySet[Entry]:
    """Return who was trained, or when one person was, the newest first."""
    found = standing_of(kitchen, "training")
    return found.filter(payload__trained=str(person)) if person else found


def lots_named(kitchen: Kitchen) -> list[str]:
    """Return the lots that changes of oil name, the one named last first."""
    named = standing_of(kitchen, "change").filter(payload__has_key="delivery")
    return list(dict.fromkeys(named.values_list("payload__delivery", flat=True)))


def begun_at(kitchen: Kitchen) -> datetime | None:
    """Return when the first entry of a day book was received; None of an empty one."""
    first = Entry.objects.filter(kitchen=kitchen, seq=1)
    return first.values_list("received_at", flat=True).first()


def is_filled_since(kitchen: Kitchen, fryer: str, since: datetime) -> bool:
    """Tell whether a fryer was filled with fresh oil since a time."""
    return unreplaced(kitchen).filter(kind="change", fryer=fryer, at__gte=since).exists()


def written_lately(kitchen: Kitchen, kinds: Collection[str], most: int) -> QuerySet[Entry]:
    """Return what was written last and stands of some kinds, the newest first, so many at most."""
    return unreplaced(kitchen).filter(kind__in=kinds).order_by("-seq")[:most]


def of_the_baths(kitchen: Kitchen, *, since: datetime | None = None, upto_seq: int) -> QuerySet[Entry]:
    """Return what stands of what happened to baths and meters since a time, as known by an entry."""
    stood = Q(replaced_by=None) | Q(replaced_by__seq__gt=upto_seq)
    found = Entry.objects.filter(stood, kitchen=kitchen, kind__in=COUNTING, seq__lte=upto_seq)
    if since is not None:
        found = found.filter(at__gte=since)
    return found.order_by("at", "seq")


def last_of_meter(kitchen: Kitchen, kind: str, meter: str, *, upto_seq: int) -> Entry | None:
    """Return the last entry of a kind about a meter that stands, as known by an entry; None before one."""
    found = of_the_baths(kitchen, upto_seq=upto_seq).filter(kind=kind, payload__meter=meter)
    return found.order_by("-at", "-seq").first()


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


def open_complaints(kitchen: Kitchen) -> dict[str, Entry]:
    """Return by fryer the last complaint since which nobody looked at the oil, or took it out."""
    looked = Entry.objects.filter(
        kitchen=kitchen, fryer=OuterRef("fryer"), kind__in=LOOKED_AT, at__gte=OuterRef("at"), replaced_by=None
    )
    found = unreplaced(kitchen).filter(~Exists(looked), kind="complaint")
    in_time = sorted(found.order_by("seq"), key=lambda complaint: complaint.at)
    return {complaint.fryer: complaint for complaint in in_time}


def open_changes(kitchen: Kitchen, fryers: Collection[str] = ()) -> dict[str, Entry]:
    """Return by fryer, or of some, its last verdict to change before frying, if nobody said what was done.

    What was told in answer to an entry that was corrected or undone since asks nothing, nor does
    what was told before a verdict that was settled, or before late entries led to another verdict.
    """
    at = {"fryer__in": fryers} if fryers else {}
    verdicts = asking(kitchen).filter(kind="verdict", about__replaced_by=None, **at)
    lasts = verdicts.order_by().values("fryer").annotate(last=Max("seq")).values("last")
    answers = Entry.objects.filter(kitchen=kitchen, kind="settled", replaced_by=None, **at).order_by()
    settled = dict(answers.values_list("fryer").annotate(last=Max("about__seq")))
    unsettled = {
        verdict.fryer: verdict
        for verdict in verdicts.filter(seq__in=lasts)
        if verdict.seq > settled.get(verdict.fryer, 0)
    }
    late = late_answered(kitchen, unsettled.values())
    return {key: verdict for key, verdict in unsettled.items() if verdict.seq > late.get(key, 0)}


def late_answered(kitchen: Kitchen, verdicts: Collection[Entry]) -> dict[str, int]:
    """Return by fryer the number of its last verdict that late entries led to, if later than one of these.

    The book that an earlier verdict rests on lacked them.
    """
    if not verdicts:
        return {}
    first, fryers = min(verdict.seq for verdict in verdicts), [verdict.fryer for verdict in verdicts]
    later = Entry.objects.filter(kitchen=kitchen, kind="verdict", fryer__in=fryers, seq__gt=first)
    about = [f"about__{name}" for name in ("kind", "fryer", "at", "received_at", "replaces")]
    told = later.select_related("about").only("seq", "fryer", *about).order_by("seq")
    return {verdict.fryer: verdict.seq for verdict in told if verdict.about and is_late(verdict.about)}


def asking(kitchen: Kitchen) -> QuerySet[Entry]:
    """Return the entries that wait, or waited, for an answer."""
    return Entry.objects.filter(kitchen=kitchen, asks=True)


def of_vessels(kitchen: Kitchen, fryers: Collection[str], kinds: Collection[str]) -> QuerySet[Entry]:
    """Return what stands of some kinds at some fryers, in the order things happened."""
    return unreplaced(kitchen).filter(fryer__in=fryers, kind__in=kinds).order_by("at", "seq")


def joined_to(kitchen: Kitchen, fryers: Iterable[str]) -> set[str]:
    """Return these fryers and all whose oil may have come to them through moves."""
    moves = list(unreplaced(kitchen).filter(kind="move").values_list("fryer", "payload__into"))
    joined, more = set(fryers), True
    while more:
        sources = {source for source, into in moves if into in joined} - joined
        joined, more = joined | sources, bool(sources)
    return joined


def settled_last(kitchen: Kitchen, fryer: str) -> Entry | None:
    """Return the entry that last said what was done after a verdict on a fryer."""
    settled = Entry.objects.filter(kitchen=kitchen, kind="settled", fryer=fryer, replaced_by=None)
    return settled.order_by("-seq").first()


def settled_by(verdict: Entry) -> Entry | None:
    """Return the entry that says what was done after a verdict."""
    return verdict.answers.filter(kind="settled", replaced_by=None).first()


def settled_unseen(kitchen: Kitchen) -> QuerySet[Entry]:
    """Return what stands of what was done after verdicts, and nobody looked over; the oldest first."""
    seen = Entry.objects.filter(kind="reviewed", about=OuterRef("pk"), replaced_by=None)
    return unreplaced(kitchen).filter(~Exists(seen), kind="settled").order_by("seq")


def reviews_of(settled: Entry) -> QuerySet[Entry]:
    """Return what stands of who looked over what was done after a verdict."""
    return with_people(settled.answers.filter(kind="reviewed", replaced_by=None))


def read_after(settled: Entry) -> Entry | None:
    """Return the first reading of a fryer, or result of a laboratory, after what was done there."""
    read = unreplaced(settled.kitchen).filter(fryer=settled.fryer, kind__in=["reading", "laboratory"])
    later = Q(at__gt=settled.at) | Q(at=settled.at, seq__gt=settled.seq)
    return read.filter(later).order_by("at", "seq").first()


def verdicts_on(entry: Entry) -> list[Entry]:
    """Return what was told in answer to an entry, fryer by fryer, in the order it was told."""
    return list(entry.answers.filter(kind="verdict").order_by("seq"))


def always_answered(kitchen: Kitchen, fryer: str) -> Entry | None:
    """Return the last entry at a fryer that stands and of a kind that a verdict is told on each time."""
    kinds = [kind.key for kind in KINDS.values() if kind.always_told]
    found = unreplaced(kitchen).filter(fryer=fryer, kind__in=kinds)
    return with_people(found).order_by("-at", "-seq").first()


def is_late(entry: Entry) -> bool:
    """Tell whether an entry at a fryer was written down when its day was over, and corrects none."""
    over = entry.received_at - entry.at > DAY_OVER
    return over and bool(entry.fryer) and entry.replaces_id is None and entry.kind in COUNTING


def untold_late(kitchen: Kitchen) -> list[Entry]:
    """Return what stands and was told late, where no verdict was told on its fryer since, as written down."""
    verdicts = Entry.objects.filter(kitchen=kitchen, kind="verdict").order_by()
    lasts = dict(verdicts.values_list("fryer").annotate(last=Max("seq")))
    untold = settings_of(kitchen).get("fryers", {}).keys() - lasts.keys()
    since = Q(fryer__in=untold)
    for fryer, last in lasts.items():
        since |= Q(fryer=fryer, seq__gt=last)
    after = 0 if untold else min(lasts.values(), default=0)  # most entries are of before
    found = unreplaced(kitchen).filter(since, seq__gt=after).order_by("seq")
    return [entry for entry in found if is_late(entry)]


def verdict_on(entry: Entry) -> Entry | None:
    """Return what was told in answer to an entry."""
    return entry.answers.filter(kind="verdict").order_by("seq").first()


def versions_of(entry: Entry) -> list[str]:
    """Return the ids of an entry and of those it corrects, as a payload cites them."""
    return [str(entry.pk), *(versions_of(entry.replaces) if entry.replaces else [])]


def settled_after(check: Entry) -> QuerySet[Entry]:
    """Return what stands of how verdicts were settled after a check, or after one that it corrects."""
    return unreplaced(check.kitchen).filter(kind="relied", payload__check__in=versions_of(check))


def notes_of(entries: Iterable[Entry]) -> dict[tuple[UUID, str], str]:
    """Return the notes and reasons of entries, by entry and field; erased ones are left out."""
    rows = Private.objects.filter(entry__in=list(entries), content__isnull=False).exclude(field="photo")
    return {(row.entry_id, row.field): bytes(row.content or b"").decode() for row in rows}


def has_photo(entry: Entry) -> bool:
    """Tell whether an entry, or one that it corrects, came with a photo; it may be erased."""
    return "photo" in entry.private or (entry.replaces is not None and has_photo(entry.replaces))


def has_words(entry: Entry) -> bool:
    """Tell whether a note, reason or photo of an entry, or of one that it corrects, is not erased.

    So too who signed it in a file; the name of somebody who has a place here goes with the person.
    """
    found = Private.objects.filter(entry__pk__in=versions_of(entry), content__isnull=False)
    return found.exclude(field="name", entry__kind="setting").exists()


def photo_of(entry: Entry) -> bytes | None:
    """Return the photo of an entry, or of one that it corrects; None where there is none, or no more."""
    photo = entry.privates.filter(field="photo").first()
    if photo is None:
        return photo_of(entry.replaces) if entry.replaces else None
    return None if photo.content is None else bytes(photo.content)


def with_people(found: QuerySet[Entry]) -> QuerySet[Entry]:
    """Return entries with who wrote them, on what, and both ends of a correction."""
    return found.select_related("person", "device", "replaces", "replaced_by")


def entry_in(kitchen: Kitchen, entry: UUID, *, kind: str = "") -> Entry | None:
    """Return an entry of a day book, of one kind where it is said; None where there is none such."""
    found = with_people(Entry.objects.filter(kitchen=kitchen, pk=entry))
    return found.filter(kind=kind).first() if kind else found.first()


def is_written(kitchen: Kitchen, entry: UUID) -> bool:
    """Tell whether the day book has an entry of this id."""
    return Entry.objects.filter(kitchen=kitchen, pk=entry).exists()


def numbered(kitchen: Kitchen, numbers: Collection[int]) -> Mapping[int, Entry]:
    """Return the entries of a day book that have these numbers."""
    return {entry.seq: entry for entry in Entry.objects.filter(kitchen=kitchen, seq__in=numbers)}


def entries_of(
    kitchen: Kitchen,
    *,
    fryer: str = "",
    kind: str = "",
    since: datetime | None = None,
    until: datetime | None = None,
) -> QuerySet[Entry]:
    """Return the entries of a day book, the newest first; a verdict stands with what it answers."""
    of_all = Entry.objects.filter(kitchen=kitchen)
    own = of_all.filter(Q(fryer=fryer) | Q(payload__into=fryer)) if fryer else of_all
    found = own
    if since:
        found = found.filter(at__gte=since)
    if until:
        found = found.filter(at__lt=until)
    # to leave a verdict out twice would be to hide it: asked for, they stand on their own, and in the
    # book of one fryer those that answer an entry which is not in it
    beside = Q(kind="verdict") & Exists(own.filter(pk=OuterRef("about")))
    found = found.filter(kind=kind) if kind else found.exclude(beside)
    return with_people(found).order_by("-at", "-seq")


def written_between(kitchen: Kitchen, since: datetime, until: datetime) -> QuerySet[Entry]:
    """Return all entries of a stretch of time, the end not included, in the order things happened."""
    found = Entry.objects.filter(kitchen=kitchen, at__gte=since, at__lt=until).order_by("at", "seq")
    # few people wrote all of it: each is fetched once
    return found.select_related("replaces", "replaced_by").prefetch_related("person", "device")


def answers_of(kitchen: Kitchen, kind: str) -> dict[UUID | None, Entry]:
    """Return what stands of the answers of a kind, by the id of the entry that each answers."""
    found = with_people(unreplaced(kitchen).filter(kind=kind)).order_by("seq")
    return {answer.about_id: answer for answer in found}


def answers_to(entries: Iterable[Entry]) -> dict[UUID | None, list[Entry]]:
    """Return the verdicts told in answer to each entry, by the entry's id."""
    found: dict[UUID | None, list[Entry]] = {}
    for verdict in Entry.objects.filter(kind="verdict", about__in=list(entries)).order_by("seq"):
        found.setdefault(verdict.about_id, []).append(verdict)
    return found


def is_overtaken(verdict: Entry) -> bool:
    """Tell whether another verdict on its fryer was told later."""
    later = Entry.objects.filter(kitchen=verdict.kitchen_id, kind="verdict", fryer=verdict.fryer)
    return later.filter(seq__gt=verdict.seq).exists()


def is_last_check(check: Entry) -> bool:
    """Tell whether a meter check stands, and no other of its meter came later."""
    checks = unreplaced(check.kitchen).filter(kind="meter_check", payload__meter=check.payload["meter"])
    return checks.order_by("-at", "-seq").first() == check


def adopted_of(kitchen: Kitchen, *, meter: str, against: str | None, oil: str) -> QuerySet[Entry]:
    """Return the comparisons of two instruments in an oil that were taken over, the newest first.

    ``against`` None is the laboratory.
    """
    of_these = unreplaced(kitchen).filter(kind="comparison", payload__meter=meter, payload__oil=oil)
    beside = {"payload__against": against} if against else {"payload__against__isnull": True}
    return with_people(of_these.filter(**beside)).order_by("-at")


def written_in_minutes(
    kitchen: Kitchen, kinds: Collection[str], since: datetime, until: datetime
) -> Iterable[tuple[str, datetime, dict[str, Any]]]:
    """Yield kind, time and payload of all that was ever written of some kinds in a stretch of time."""
    found = Entry.objects.filter(kitchen=kitchen, kind__in=kinds, at__gte=since, at__lt=until)
    return found.order_by().values_list("kind", "at", "payload").iterator()


def files_brought_in(kitchen: Kitchen) -> QuerySet[Entry]:
    """Return the entries that say of others that they came from files, the newest first."""
    return Entry.objects.filter(kitchen=kitchen, kind="imported").order_by("-seq")


def brought_in_with(entries: Iterable[Entry]) -> dict[UUID, Entry]:
    """Return, by the id of each entry that came from a file, the entry that says so."""
    entries = list(entries)
    kitchens = {entry.kitchen_id for entry in entries}
    brought = [
        (kitchen, int(said.payload["first"]), int(said.payload["last"]), said)
        for kitchen in kitchens
        for said in files_brought_in(Kitchen(pk=kitchen))
    ]
    return {
        entry.pk: said
        for entry in entries
        for kitchen, first, last, said in brought
        if entry.kitchen_id == kitchen and first <= entry.seq <= last
    }


def is_erased(entry: Entry) -> bool:
    """Tell whether a name or note of an entry was erased."""
    return entry.privates.filter(content=None).exists()


def is_spoken_of(kitchen: Kitchen, thing: str, key: str) -> bool:
    """Tell whether an entry speaks of a thing of a kitchen."""
    speaks = Q(fryer=key) if thing == "fryers" else Q(pk=None)
    for kind, field in SPOKEN_OF.get(thing, ()):
        speaks |= Q(kind=kind, **{f"payload__{field}": key})
    return Entry.objects.filter(speaks, kitchen=kitchen).exists()


def slugs_like(stem: str) -> set[str]:
    """Return the addresses of kitchens that begin so."""
    return set(Kitchen.objects.filter(slug__startswith=stem).values_list("slug", flat=True))
