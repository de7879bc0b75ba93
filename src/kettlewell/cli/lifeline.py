"""The life line: a line from fresh to limit with the belief, the coming services and the wall.

A hump on the line says where the oil stands today, ticks where the coming services are
expected to end, thinner the less likely the oil is to be still inside the limit there.
"""

import math
from dataclasses import dataclass

from kettlewell.core.outlook.values import ServiceForecast

SAFE, LIKELY, UNLIKELY = 0.95, 0.5, 0.05
HUMP_REACH_SD = 2.5
APART = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """What the line is drawn with; ``hump`` from low to high, ``ticks`` from sure to faint."""

    hump: str
    ticks: str
    line: str
    wall: str


UNICODE = Signs(hump="▁▂▃▄▅▆▇█", ticks="│╵·", line="─", wall="║")
ASCII = Signs(hump=".:-=+*%@", ticks="|!'", line="-", wall="#")


@dataclass(frozen=True, slots=True, kw_only=True)
class LifeLine:
    """What is drawn: everything in % TPC; ``sd_pct`` is that of the belief about today."""

    fresh_pct: float
    limit_pct: float
    mean_pct: float
    sd_pct: float
    coming: tuple[ServiceForecast, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Labels:
    """The words under the line."""

    fresh: str
    now: str
    limit: str


def draw(life: LifeLine, labels: Labels, *, width: int, signs: Signs = UNICODE) -> tuple[str, str, str]:
    """Return the hump, the line and its labels as rows of at most ``width`` characters."""
    axis = Axis(life, width)
    wall = axis.column(life.limit_pct)
    hump = [_height(axis, life, column, signs.hump) for column in range(width)]
    line = [signs.line] * width
    for tick in reversed(life.coming):
        if sign := _tick(1 - tick.passing_probability, signs.ticks):
            column = axis.column(tick.tpc_mean_pct)
            line[column] = _stronger(line[column], sign, signs.ticks)
    hump[wall] = line[wall] = signs.wall
    places = [
        (axis.column(life.fresh_pct), labels.fresh),
        (axis.column(life.mean_pct), labels.now),
        (wall, labels.limit),
    ]
    return "".join(hump).rstrip(), "".join(line), _side_by_side(places, width)


class Axis:
    """From % TPC to columns: from fresh to the wall, and beyond either where the oil may stand."""

    def __init__(self, life: LifeLine, width: int) -> None:
        """Keep the ends of the line."""
        reach_pct = HUMP_REACH_SD * life.sd_pct
        self.low = max(min(life.fresh_pct, life.mean_pct - reach_pct), 0.0)
        self.high = max(life.limit_pct, life.mean_pct + reach_pct, self.low + 1.0)
        self.last = width - 1

    def column(self, tpc_pct: float) -> int:
        """Return the nearest column on the line."""
        share = (tpc_pct - self.low) / (self.high - self.low)
        return round(min(max(share, 0.0), 1.0) * self.last)

    def tpc_pct(self, column: int) -> float:
        """Return what a column stands for."""
        return self.low + (self.high - self.low) * column / self.last


def _height(axis: Axis, life: LifeLine, column: int, hump: str) -> str:
    # a belief narrower than a column is still one column wide
    sd = max(life.sd_pct, (axis.high - axis.low) / axis.last / 2)
    centre = axis.tpc_pct(axis.column(life.mean_pct))
    away = (axis.tpc_pct(column) - centre) / sd
    level = math.ceil(len(hump) * math.exp(-away * away / 2) - 0.5)
    return hump[level - 1] if level > 0 and abs(away) <= HUMP_REACH_SD else " "


def _tick(inside: float, ticks: str) -> str | None:
    for least, sign in zip((SAFE, LIKELY, UNLIKELY), ticks, strict=True):
        if inside >= least:
            return sign
    return None


def _stronger(there: str, new: str, ticks: str) -> str:
    return there if there in ticks and ticks.index(there) < ticks.index(new) else new


def _side_by_side(places: list[tuple[int, str]], width: int) -> str:
    """Return labels centred under their columns, pushed apart where they would meet.

    The first gives way if they do not all fit.
    """
    if sum(len(text) + APART for _, text in places) > width + APART:
        places = places[1:]
    ordered = sorted(places, key=lambda place: place[0])
    ends: list[int] = []
    for column, text in ordered:
        least = ends[-1] + APART if ends else 0
        ends.append(max(column - len(text) // 2, least) + len(text))
    row = [" "] * width
    room = width
    for end, (_, text) in zip(reversed(ends), reversed(ordered), strict=True):
        start = min(end, room) - len(text)
        row[start : start + len(text)] = text
        room = start - APART
    return "".join(row).rstrip()
