"""A kitchen's settings: each change an entry, so that any day's settings can be read again.

A setting names a thing (fryers, oils, products, meters, reference lots, services, limits, people,
tablets, or the kitchen itself) and a key, and holds its new values whole, or says that it was
removed. It counts from the time of its entry on, which may lie before it was written down.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from functools import lru_cache
from itertools import groupby
from operator import itemgetter
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from kettlewell.book.settings import WRITERS
from kettlewell.records.models import Entry, Kitchen

Things = dict[str, dict[str, dict[str, Any]]]


def settings_of(kitchen: Kitchen, *, at_seq: int | None = None) -> Things:
    """Return every thing's values by key, in the order they first came; as of an entry, or now."""
    return _folded(kitchen.pk, *settings_mark(kitchen, at_seq=at_seq))


def settings_mark(kitchen: Kitchen, *, at_seq: int | None = None) -> tuple[int, str]:
    """Return number and hash of the last setting as of an entry, or now: what may be cached by.

    The number alone will not do: an entry taken back with its transaction leaves it to the next one.
    """
    if at_seq is None or at_seq >= kitchen.settings_seq:
        return kitchen.settings_seq, kitchen.settings_hash
    last = Entry.objects.filter(kitchen=kitchen, kind="setting", seq__lte=at_seq).order_by("-seq")
    return last.values_list("seq", "hash").first() or (0, "")


@lru_cache(maxsize=256)
def _folded(kitchen: UUID, seq: int, _hash: str) -> Things:
    return folded(payloads_upto(kitchen, seq))


def payloads_upto(kitchen: UUID, seq: int) -> QuerySet[Entry, dict[str, Any]]:
    """Return what was set up to an entry, in the order from which on it counts."""
    entries = Entry.objects.filter(kitchen_id=kitchen, kind="setting", seq__lte=seq).order_by("at", "seq")
    return entries.values_list("payload", flat=True)


def stood_at(kitchen: Kitchen, at: datetime) -> Things:
    """Return every thing's values by key as they count at a time, by all that is written down now."""
    return folded(counting(kitchen).filter(at__lte=at).values_list("payload", flat=True))


def set_after(kitchen: Kitchen, at: datetime) -> list[dict[str, Any]]:
    """Return what was set that counts from a later time on, in the order from which on it counts."""
    return list(counting(kitchen).filter(at__gt=at).values_list("payload", flat=True))


def counting(kitchen: Kitchen) -> QuerySet[Entry]:
    """Return the settings of a kitchen in the order from which on they count."""
    return Entry.objects.filter(kitchen=kitchen, kind="setting").order_by("at", "seq")


def settings_by_time(kitchen: UUID, *, upto_seq: int) -> Iterator[tuple[datetime, list[dict[str, Any]]]]:
    """Yield by the time from which on it counts what was set up to an entry."""
    entries = counting(Kitchen(pk=kitchen)).filter(seq__lte=upto_seq).exclude(payload__thing__in=WRITERS)
    for at, rows in groupby(entries.values_list("at", "payload"), key=itemgetter(0)):
        yield at, [payload for _, payload in rows]


def folded(payloads: Iterable[Mapping[str, Any]], since: Things | None = None) -> Things:
    """Return what stands after settings that count one after the other, ``since`` others that did."""
    things: Things = {thing: {**of_thing} for thing, of_thing in (since or {}).items()}
    for payload in payloads:
        of_thing = things.setdefault(payload["thing"], {})
        if payload.get("removed"):
            of_thing.pop(payload.get("key", ""), None)
        else:
            of_thing[payload.get("key", "")] = payload.get("values", {})
    return things


def kitchen_name(kitchen: Kitchen) -> str:
    """Return what the kitchen is called."""
    return str(settings_of(kitchen).get("kitchen", {}).get("", {}).get("name", kitchen.slug))


def zone_of(kitchen: Kitchen) -> ZoneInfo:
    """Return the time zone that a kitchen's clocks show."""
    return ZoneInfo(settings_of(kitchen).get("kitchen", {}).get("", {}).get("timezone", "UTC"))


def day_in(kitchen: Kitchen, now: datetime) -> date:
    """Return what day it is in a kitchen."""
    return now.astimezone(zone_of(kitchen)).date()


def written_of(kitchen: Kitchen, thing: str) -> QuerySet[Entry]:
    """Return every setting of a sort of things with who made it, in the order from which on it counts."""
    return counting(kitchen).filter(payload__thing=thing).select_related("person", "device")
