"""Recalled lots of oil, and where each of them is or was by the day book of the last year."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from kettlewell.book import Entry as BookEntry
from kettlewell.book import History, in_order
from kettlewell.book.account import Vessel, spelled
from kettlewell.book.lots import Held, held, perhaps_held
from kettlewell.bridge.accounts import MOVES_OIL, account_now, fryers_ever
from kettlewell.bridge.entries import core_entries
from kettlewell.bridge.fills import YEAR
from kettlewell.bridge.setups import history_of
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.selectors import of_vessels, standing_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Recalled:
    """A recall: where the oil of the lot was, and where oil was that may have been of it."""

    entry: Entry
    held: Sequence[Held]
    perhaps: Sequence[Held]

    @property
    def still(self) -> bool:
        """Whether it is in the kitchen now."""
        return any(one.until is None for one in self.held)


def recalls(kitchen: Kitchen, now: datetime) -> list[Recalled]:
    """Return the recalls that stand, the newest first."""
    history, found = history_of(kitchen), list(standing_of(kitchen, "recall"))
    book = last_year(kitchen, history, now, MOVES_OIL | {"top_up"}) if found else []
    return [
        Recalled(entry=entry, held=held(lot, book, history), perhaps=perhaps_held(lot, book, history))
        for entry in found
        for lot in (entry.payload["delivery"],)
    ]


def still_recalled(kitchen: Kitchen, now: datetime) -> list[Vessel]:
    """Return which vessels hold recalled oil now."""
    # in the order of an index that holds their kind: by their time all entries would be gone through
    recalled = standing_of(kitchen, "recall").order_by("seq")
    lots = {spelled(entry.payload["delivery"]) for entry in recalled}
    return sorted(account_now(kitchen, now).of_lots(lots)) if lots else []


def last_year(kitchen: Kitchen, history: History, now: datetime, kinds: Collection[str]) -> list[BookEntry]:
    """Return what happened to oil in the last year, of some kinds, in order."""
    rows = of_vessels(kitchen, fryers_ever(history), kinds)
    return in_order(core_entries(rows.filter(at__gte=now - YEAR, at__lte=now)))
