"""The fills a fryer had."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from kettlewell.bridge.entries import book_of
from kettlewell.bridge.pictures import concerns
from kettlewell.core.book import Change, Move, Reading
from kettlewell.records.models import Kitchen

YEAR = timedelta(days=365)


@dataclass(frozen=True, slots=True, kw_only=True)
class PastFill:
    """One body of oil: from when to when it was in the fryer, and the last reading of it."""

    filled_at: datetime
    ended_at: datetime
    last_reading_pct: float | None = None

    @property
    def days(self) -> float:
        """How long it lasted."""
        return (self.ended_at - self.filled_at).total_seconds() / 86400


def past_fills(kitchen: Kitchen, fryer: str, now: datetime) -> list[PastFill]:
    """Return the fills of the last year that ended with a change or a move out, the newest first."""
    fills: list[PastFill] = []
    running: PastFill | None = None
    for entry in book_of(kitchen, since=now - YEAR, upto_seq=kitchen.head_seq, fryer=fryer):
        if entry.at > now or not concerns(entry, fryer):
            continue
        if isinstance(entry, Reading) and running:
            running = replace(running, last_reading_pct=entry.tpc_pct)
        elif isinstance(entry, Change | Move):
            if running:
                fills.append(replace(running, ended_at=entry.at))
            gone = isinstance(entry, Move) and entry.fryer == fryer
            running = None if gone else PastFill(filled_at=entry.at, ended_at=entry.at)
    return fills[::-1]
