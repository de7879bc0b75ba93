"""The fills a fryer had."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import OuterRef, Q, Subquery

from kettlewell.records.models import Kitchen
from kettlewell.records.selectors import unreplaced

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
    turns = unreplaced(kitchen).filter(kind__in=("change", "move"), at__gte=now - YEAR, at__lte=now)
    own = turns.filter(Q(fryer=fryer) | Q(payload__into=fryer)).order_by("at", "seq")
    readings = unreplaced(kitchen).filter(fryer=fryer, kind="reading", at__lt=OuterRef("at")).order_by("-at")
    read_at, read = (Subquery(readings.values(name)[:1]) for name in ("at", "payload"))
    rows = own.annotate(read_at=read_at, read=read).values_list("at", "kind", "fryer", "read_at", "read")
    fills: list[PastFill] = []
    filled_at: datetime | None = None
    for at, kind, of, last_at, last in rows:
        if filled_at:
            last_pct = float(last["tpc_pct"]) if last and last_at >= filled_at else None
            fills.append(PastFill(filled_at=filled_at, ended_at=at, last_reading_pct=last_pct))
        filled_at = None if kind == "move" and of == fryer else at
    return fills[::-1]
