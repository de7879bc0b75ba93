"""The fills a fryer had."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from kettlewell.book import Reading, in_order
from kettlewell.book.account import Account, Content, accounts_of, in_fryer
from kettlewell.bridge.accounts import MOVES_OIL
from kettlewell.bridge.entries import core_entries
from kettlewell.bridge.setups import history_of
from kettlewell.records.models import Kitchen
from kettlewell.records.selectors import joined_to, of_vessels

YEAR = timedelta(days=365)


@dataclass(frozen=True, slots=True, kw_only=True)
class PastFill:
    """One body of oil: when it was filled, when it ended in the fryer, and the last reading of it."""

    filled_at: datetime
    ended_at: datetime
    last_reading_pct: float | None = None

    @property
    def days(self) -> float:
        """How long it lasted."""
        return (self.ended_at - self.filled_at).total_seconds() / 86400


def past_fills(kitchen: Kitchen, fryer: str, now: datetime) -> list[PastFill]:
    """Return the fills of the last year that ended, the newest first.

    A fill ends where another takes its place, or where it goes on in another fryer; oil that is
    kept has not ended.
    """
    rows = of_vessels(kitchen, joined_to(kitchen, {fryer}), MOVES_OIL | {"reading"})
    book, fills = in_order(core_entries(rows.filter(at__gte=now - YEAR, at__lte=now))), list[PastFill]()
    for entry, settings, before in accounts_of(book, history_of(kitchen)):
        left = held(before.after(entry, settings)[0], fryer)
        fills += [
            ended(since, fill, entry.at) for since, fill in held(before, fryer).items() if since not in left
        ]
    return sorted(fills, key=lambda fill: fill.ended_at, reverse=True)


def held(account: Account, fryer: str) -> dict[datetime, Content]:
    """Return the fills in a fryer or kept out of it, by since when; none from before the book began."""
    there = (account.contents.get(in_fryer(fryer)), account.kept(fryer))
    return {fill.since: fill for fill in there if fill and fill.since}


def ended(since: datetime, fill: Content, at: datetime) -> PastFill:
    """Return a fill that ended."""
    readings = [measured.tpc_pct for measured in fill.measured if isinstance(measured, Reading)]
    return PastFill(filled_at=since, ended_at=at, last_reading_pct=readings[-1] if readings else None)
