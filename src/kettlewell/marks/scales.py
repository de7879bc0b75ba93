"""From values to places in a picture, and where ticks and labels stand."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

MONDAY = date(2000, 1, 3)
DAY_STEPS = (1, 2, 7, 14, 28, 56, 91, 182, 364)


@dataclass(frozen=True, slots=True, kw_only=True)
class Linear:
    """A straight scale: ``low`` … ``high`` of any unit to ``start`` … ``end`` in the picture."""

    low: float
    high: float
    start: float
    end: float

    def place(self, value: float) -> float:
        """Return where a value stands, beyond the ends too."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeScale:
    """A straight scale of times."""

    begins: datetime
    ends: datetime
    start: float
    end: float

    def place(self, at: datetime) -> float:
        """Return where a time stands, beyond the ends too."""
        return self.start + (at - self.begins) / (self.ends - self.begins) * (self.end - self.start)


def nice_ticks(low: float, high: float, *, most: int) -> list[float]:
    """Return at most ``most`` multiples of 1, 2 or 5 times a power of ten within ``low`` … ``high``."""
    power = 10.0 ** math.floor(math.log10((high - low) / most))
    for step in (power, 2 * power, 5 * power, 10 * power, 20 * power):
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        if last - first < most:
            break
    return [n * step for n in range(first, last + 1)]


def midnights(begins: datetime, ends: datetime, zone: ZoneInfo, *, most: int) -> list[datetime]:
    """Return at most ``most`` midnights of ``zone``, equally many days apart; whole weeks begin on Monday."""
    first, last = begins.astimezone(zone).date(), ends.astimezone(zone).date()
    found: list[datetime] = []
    for step in DAY_STEPS:
        ahead = -(first - MONDAY).days % step
        days = range(ahead, (last - first).days + 1, step)
        found = [datetime.combine(first + timedelta(days=n), time(), zone).astimezone(UTC) for n in days]
        found = [at for at in found if begins <= at <= ends]
        if len(found) <= most:
            break
    return found[:most]


def apart(places: Sequence[tuple[float, float]], *, room: float, gap: float) -> list[float]:
    """Return where things of (centre, length) begin between 0 and ``room``, pushed ``gap`` apart.

    ``places`` go by their centres. What does not fit begins before 0.
    """
    starts: list[float] = []
    least = 0.0
    for centre, length in places:
        starts.append(max(centre - length / 2, least))
        least = starts[-1] + length + gap
    for n in reversed(range(len(places))):
        starts[n] = min(starts[n], room - places[n][1])
        room = starts[n] - gap
    return starts
