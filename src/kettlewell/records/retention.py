"""How long notes, photos and names are kept: never shorter than the kitchen keeps its records.

Entries stay, and the chain over them: of what is private it holds digests alone.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from types import MappingProxyType

from django.db import transaction
from django.db.models import QuerySet

from kettlewell.book.setup import Keeping
from kettlewell.records.ledger import Hand, private_erase
from kettlewell.records.models import Entry, Kitchen, Person, Private, Seat
from kettlewell.records.people import name_erase
from kettlewell.records.selectors import versions_of
from kettlewell.records.settings import day_in, settings_of

MONTH = timedelta(days=31)  # the longest: nothing goes before its time
WEEK = timedelta(days=7)
FIELDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {"notes_months": ("note", "reason", "name"), "photos_months": ("photo",)}
)
WORDS = tuple(field for fields in FIELDS.values() for field in fields)
MONTHS = ("records_months", *FIELDS, "names_months")


def keeping_of(kitchen: Kitchen) -> Keeping:
    """Return how long a kitchen keeps what is in its day book, as it is set."""
    values = settings_of(kitchen).get("kitchen", {}).get("", {})
    months = {name: float(values[name]) for name in MONTHS if values.get(name)}
    return Keeping(**months, check_code_to=values.get("check_code_to") or None)


def kept_for(kitchen: Kitchen, what: str) -> timedelta | None:
    """Return how long notes, photos or names are kept in a kitchen; None: for good."""
    months = keeping_of(kitchen).erased_after_months(what)
    return None if months is None else months * MONTH


def retention_apply(kitchen: Kitchen, *, now: datetime) -> int:
    """Erase what a kitchen has kept for as long as it wants to; return of how many entries.

    That it was done is an entry, by nobody's hand, and one a week at most.
    """
    hand, erased = Hand(person=None, now=now), 0
    if was_lately(kitchen, now):
        return 0
    with transaction.atomic():
        for what, fields in FIELDS.items():
            if entries := list(past(kitchen, what, fields, now)):
                private_erase(kitchen, entries, hand, fields=fields)
                erased += len(entries)
        for person in list(gone(kitchen, now)):
            erased += name_erase(kitchen, person, hand=hand)
    return erased


def was_lately(kitchen: Kitchen, now: datetime) -> bool:
    """Tell whether something was erased by nobody's hand within a week."""
    by_nobody = Entry.objects.filter(kitchen=kitchen, kind="erased", person=None).order_by("-seq").first()
    return by_nobody is not None and by_nobody.received_at > now - WEEK


def past(kitchen: Kitchen, what: str, fields: tuple[str, ...], now: datetime) -> QuerySet[Entry]:
    """Return the entries whose notes or photos were kept long enough since they were written down."""
    span = kept_for(kitchen, what)
    there = Private.objects.filter(entry__kitchen=kitchen, field__in=fields, content__isnull=False)
    there = there.exclude(entry__kind="setting")  # a name there is that of somebody with a place here
    if span is None:
        return Entry.objects.none()
    return Entry.objects.filter(pk__in=there.filter(entry__received_at__lt=now - span).values("entry"))


def gone(kitchen: Kitchen, now: datetime) -> Iterator[Person]:
    """Yield the people who left a kitchen so long ago that their names go, and still have them there."""
    span = kept_for(kitchen, "names_months")
    if span is None:
        return
    named = Private.objects.filter(entry__kitchen=kitchen, field="name", content__isnull=False)
    keys = set(named.values_list("entry__payload__key", flat=True))
    there = Seat.objects.filter(kitchen=kitchen).exclude(ends_on__lt=day_in(kitchen, now - span))
    for person in Person.objects.filter(pk__in=keys).exclude(pk__in=there.values("person")):
        told = Entry.objects.filter(kitchen=kitchen, kind="setting", payload__key=str(person.pk))
        if not told.filter(received_at__gte=now - span).exists():
            yield person


def words_erase(entry: Entry, *, hand: Hand) -> None:
    """Erase note, reason and photo of an entry, and of those that it corrects, as somebody may ask.

    And who signed it in a file.
    """
    told = list(Entry.objects.filter(kitchen=entry.kitchen, pk__in=versions_of(entry)))
    signed = () if entry.kind == "setting" else ("name",)
    private_erase(entry.kitchen, told, hand, fields=(*WORDS, *signed))
