"""Rows of the day book become entries of the core."""

from datetime import datetime

from django.db.models import QuerySet

from kettlewell.book import Entry
from kettlewell.book.payloads import value_of
from kettlewell.records import selectors
from kettlewell.records.models import Entry as Row
from kettlewell.records.models import Kitchen


def book_of(kitchen: Kitchen, *, since: datetime | None = None, upto_seq: int) -> list[Entry]:
    """Return what happened to baths and meters since a time, as the day book stood at an entry."""
    return core_entries(selectors.of_the_baths(kitchen, since=since, upto_seq=upto_seq))


def core_entries(found: QuerySet[Row]) -> list[Entry]:
    """Return the core's entries for rows of the day book."""
    rows = found.values_list("seq", "kind", "at", "payload")
    return [value_of(kind, payload, at=at, ref=f"#{seq}") for seq, kind, at, payload in rows]
