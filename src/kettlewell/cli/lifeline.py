"""The life line in a terminal's signs."""

import math
from dataclasses import dataclass

from kettlewell.marks.lifeline import HUMP_REACH_SD, Labels, LifeLine, Strength, span_pct, strength_of
from kettlewell.marks.scales import Linear, apart

APART = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """What the line is drawn with; ``hump`` from low to high, ``ticks`` from faint to sure."""

    hump: str
    ticks: str
    line: str
    wall: str


UNICODE = Signs(hump="▁▂▃▄▅▆▇█", ticks="·╵│", line="─", wall="║")
ASCII = Signs(hump=".:-=+*%@", ticks="'!|", line="-", wall="#")


def draw(life: LifeLine, labels: Labels, *, width: int, signs: Signs = UNICODE) -> tuple[str, str, str]:
    """Return the hump, the line and its labels as rows of at most ``width`` characters."""
    axis = Axis(life, width)
    wall = axis.column(life.limit_pct)
    hump = [_height(axis, life, column, signs.hump) for column in range(width)]
    line = [signs.line] * width
    strongest: dict[int, Strength] = {}
    for service in life.coming:
        if strength := strength_of(service):
            column = axis.column(service.tpc_mean_pct)
            strongest[column] = max(strength, strongest.get(column, strength))
    for column, strength in strongest.items():
        line[column] = signs.ticks[strength - 1]
    hump[wall] = line[wall] = signs.wall
    places = [
        (axis.column(life.fresh_pct), labels.fresh),
        (axis.column(life.mean_pct), labels.now),
        (wall, labels.limit),
    ]
    return "".join(hump).rstrip(), "".join(line), _side_by_side(places, width)


class Axis:
    """From % TPC to columns."""

    def __init__(self, life: LifeLine, width: int) -> None:
        """Keep the ends of the line."""
        low, high = span_pct(life)
        self.last = width - 1
        self.scale = Linear(low=low, high=high, start=0, end=self.last)

    def column(self, tpc_pct: float) -> int:
        """Return the nearest column on the line."""
        return round(min(max(self.scale.place(tpc_pct), 0.0), float(self.last)))

    @property
    def column_pct(self) -> float:
        """How much one column stands for."""
        return (self.scale.high - self.scale.low) / self.last


def _height(axis: Axis, life: LifeLine, column: int, hump: str) -> str:
    # a belief narrower than a column is still one column wide
    sd = max(life.sd_pct, axis.column_pct / 2)
    away = (column - axis.column(life.mean_pct)) * axis.column_pct / sd
    level = math.ceil(len(hump) * math.exp(-away * away / 2) - 0.5)
    return hump[level - 1] if level > 0 and abs(away) <= HUMP_REACH_SD else " "


def _side_by_side(places: list[tuple[int, str]], width: int) -> str:
    """Return labels centred under their columns; the first gives way if they do not all fit."""
    if sum(len(text) + APART for _, text in places) > width + APART:
        places = places[1:]
    ordered = sorted(places, key=lambda place: place[0])
    starts = apart([(column, len(text)) for column, text in ordered], room=width, gap=APART)
    row = [" "] * width
    for start, (_, text) in zip(starts, ordered, strict=True):
        first = math.ceil(start)
        row[first : first + len(text)] = text
    return "".join(row).rstrip()
