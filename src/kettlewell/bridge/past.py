"""What was read and done at a fryer lately, and what its oil was then as believed now."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from uuid import UUID

from django.db.models import Q

from kettlewell.book import Entry
from kettlewell.book import Kitchen as KitchenValue
from kettlewell.bridge import beliefs, replays
from kettlewell.bridge.entries import book_of, core_entries
from kettlewell.bridge.setups import setup_of
from kettlewell.core import Course, PastTpc, course, history
from kettlewell.records.models import Kitchen
from kettlewell.records.selectors import of_the_baths


def past_of(
    kitchen: Kitchen, fryer: str, *, begins: datetime, now: datetime, head: tuple[int, str]
) -> Sequence[PastTpc]:
    """Return what the oil in a fryer was at the end of every service since a time."""
    upto_seq, _hash = head
    value = setup_of(kitchen, at_seq=upto_seq).kitchen
    since = course_to(kitchen, value, begins=begins, now=now)
    after = since.until.covers_to if since else now - replays.IN_THE_REQUEST
    entries = book_of(kitchen, since=after, upto_seq=upto_seq)
    return [one for one in history(value, entries, now=now, since=since)[fryer] if one.at >= begins]


def course_to(kitchen: Kitchen, value: KitchenValue, *, begins: datetime, now: datetime) -> Course | None:
    """Return the walk between the last stored beliefs before two times; None where none fits the settings."""
    first, last = (beliefs.newest_row(kitchen, before=at) for at in (begins, now))
    if first is None or last is None:
        return None
    found = _course(kitchen.pk, bytes(first.content), bytes(last.content), last.last_seq)
    until = beliefs.fitting(found.until, value) if found else None
    return replace(found, until=until) if found and until else None


@lru_cache(maxsize=32)
def _course(pk: UUID, first: bytes, last: bytes, upto_seq: int) -> Course | None:
    # the stored beliefs are the key, for they stand for settings and entries alike
    since, until = beliefs.unsealed(first), beliefs.unsealed(last)
    fits = beliefs.fitting(since, until.kitchen) if until else None
    if until is None or fits is None:
        return None
    entries = book_of(Kitchen(pk=pk), since=fits.covers_to, upto_seq=upto_seq)
    return course(until.kitchen, entries, at=until.covers_to, since=fits)


def happened(
    kitchen: Kitchen, fryer: str, *, begins: datetime, now: datetime, head: tuple[int, str]
) -> list[Entry]:
    """Return what was read of the oil in a fryer and done to it since a time."""
    found = of_the_baths(kitchen, since=begins, upto_seq=head[0]).filter(at__lte=now)
    own = found.filter(Q(fryer=fryer) | Q(payload__into=fryer))
    return core_entries(own.exclude(kind__in=("load", "care", "hot_hours", "order", "senses")))
