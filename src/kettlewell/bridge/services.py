"""The services of a kitchen that began lately, by its settings."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import takewhile

from kettlewell.bridge.setups import history_of
from kettlewell.core.belief.week import slots_over
from kettlewell.records.models import Kitchen

A_WEEK = timedelta(days=8)


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """A service that began, the fryers that worked in it, and when the next one began, if it did."""

    name: str
    begins: datetime
    ends: datetime
    fryers: frozenset[str]
    next_begins: datetime | None

    @property
    def key(self) -> str:
        """What tells it from others."""
        return f"{self.begins.isoformat()} {self.name}"

    def runs(self, now: datetime) -> bool:
        """Tell whether it has not ended."""
        return now < self.ends


def services_begun(kitchen: Kitchen, now: datetime) -> Sequence[Served]:
    """Return the services of the last week that have begun, in order."""
    begun = list(takewhile(lambda slot: slot.begins <= now, slots_over(history_of(kitchen), now - A_WEEK)))
    return [
        Served(
            name=slot.name,
            begins=slot.begins,
            ends=slot.cut or slot.ends,
            fryers=slot.fryers,
            next_begins=min((later.begins for later in begun if later.begins >= slot.ends), default=None),
        )
        for slot in begun
    ]


def ended_last(services: Sequence[Served], now: datetime) -> Served | None:
    """Return the service that ended last."""
    ended = [service for service in services if not service.runs(now)]
    return max(ended, key=lambda service: service.ends, default=None)


def runs_now(services: Sequence[Served], now: datetime) -> Served | None:
    """Return the service that runs now; of several the one that ends first."""
    running = [service for service in services if service.runs(now)]
    return min(running, key=lambda service: service.ends, default=None)
