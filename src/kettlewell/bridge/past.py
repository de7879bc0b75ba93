"""What was read and done at a fryer lately, and what its oil was then as believed now."""

from collections.abc import Sequence
from datetime import datetime
from functools import lru_cache
from uuid import UUID

from django.db.models import Q

from kettlewell.book import Entry, History
from kettlewell.bridge import beliefs, replays
from kettlewell.bridge.entries import book_of, core_entries
from kettlewell.bridge.setups import history_of
from kettlewell.core import PastTpc, Trace, history, trace
from kettlewell.records.models import Kitchen
from kettlewell.records.selectors import of_the_baths


def past_of(
    kitchen: Kitchen, fryer: str, *, begins: datetime, now: datetime, head: tuple[int, str]
) -> Sequence[PastTpc]:
    """Return what the oil in a fryer was at the end of every service since a time."""
    upto_seq, _hash = head
    settings = history_of(kitchen, at_seq=upto_seq)
    since = trace_to(kitchen, settings, begins=begins, now=now)
    after = since.until.covers_to if since else now - replays.IN_THE_REQUEST
    entries = book_of(kitchen, since=after, upto_seq=upto_seq)
    return [past for past in history(settings, entries, now=now, since=since)[fryer] if past.at >= begins]


def trace_to(kitchen: Kitchen, settings: History, *, begins: datetime, now: datetime) -> Trace | None:
    """Return the walk between the last stored beliefs before two times; None where none fits the settings."""
    first, last = (beliefs.newest_row(kitchen, before=at) for at in (begins, now))
    if first is None or last is None:
        return None
    found = _trace(kitchen.pk, settings, bytes(first.content), bytes(last.content), last.last_seq)
    return found if found and beliefs.fitting(found.until, settings) else None


@lru_cache(maxsize=32)
def _trace(pk: UUID, settings: History, first: bytes, last: bytes, upto_seq: int) -> Trace | None:
    # the stored beliefs are the key, for they stand for the entries
    since, until = beliefs.fitting(beliefs.opened(first), settings), beliefs.opened(last)
    if until is None or since is None:
        return None
    entries = book_of(Kitchen(pk=pk), since=since.covers_to, upto_seq=upto_seq)
    return trace(settings, entries, at=until.covers_to, since=since)


def happened(
    kitchen: Kitchen, fryer: str, *, begins: datetime, now: datetime, head: tuple[int, str]
) -> list[Entry]:
    """Return what was read of the oil in a fryer and done to it since a time."""
    found = of_the_baths(kitchen, since=begins, upto_seq=head[0]).filter(at__lte=now)
    own = found.filter(Q(fryer=fryer) | Q(payload__into=fryer))
    return core_entries(own.exclude(kind__in=("load", "care", "hot_hours", "order", "senses")))
