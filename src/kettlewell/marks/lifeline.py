"""The life line: a line from fresh to limit with the belief, the coming services and the wall.

A hump on the line says where the oil stands today, ticks where the coming services are
expected to end, thinner the less likely the oil is to be still inside the limit there.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum
from xml.etree.ElementTree import Element

from kettlewell.core.outlook.values import ServiceForecast
from kettlewell.marks.pen import Pen, width_of
from kettlewell.marks.scales import Linear, apart
from kettlewell.marks.svg import Caption, Point, Svg, node, picture
from kettlewell.marks.theme import Part, Theme, screen

HUMP_REACH_SD = 2.5

# The SVG's own units: one is a pixel where the picture is as wide as a phone's page.
WIDTH, HEIGHT = 340.0, 74.0
LEFT, RIGHT, BEYOND = 8.0, 324.0, 10.0
TOP, FOOT, WALL_FOOT, LABEL_FOOT = 4.0, 36.0, 54.0, 69.0
WALL_WIDTH = 5.0
NARROWEST_SD = 1.5
HUMP_POINTS = 20
LABEL_GAP = 8.0
TICKS_APART = 3.5
Named = tuple[float, str, Part]


class Strength(IntEnum):
    """How strong a service's tick is drawn."""

    FAINT = 1
    LIKELY = 2
    SURE = 3


# the least probability to be inside the limit at the end of the service (our own choice)
LEAST_INSIDE = {Strength.SURE: 0.95, Strength.LIKELY: 0.5, Strength.FAINT: 0.05}
TICKS = {
    Strength.SURE: (Part.TICK_SURE, 14.0),
    Strength.LIKELY: (Part.TICK_LIKELY, 10.0),
    Strength.FAINT: (Part.TICK_FAINT, 6.0),
}


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


def span_pct(life: LifeLine) -> tuple[float, float]:
    """Return the ends of the line: fresh and the wall, or beyond where the oil may stand."""
    reach_pct = HUMP_REACH_SD * life.sd_pct
    low = max(min(life.fresh_pct, life.limit_pct, life.mean_pct - reach_pct), 0.0)
    return low, max(life.limit_pct, life.mean_pct + reach_pct, low + 1.0)


def strength_of(service: ServiceForecast) -> Strength | None:
    """Return how strong a service's tick is; None where the oil will hardly last so long."""
    inside = 1 - service.passing_probability
    return next((strength for strength, least in LEAST_INSIDE.items() if inside >= least), None)


def draw_life_line(
    life: LifeLine,
    labels: Labels,
    caption: Caption,
    *,
    span: tuple[float, float] | None = None,
    theme: Theme = screen,
) -> Svg:
    """Return the life line as SVG; ``span`` are the ends of the line where others share them, in % TPC."""
    pen = Pen(theme=theme, caption=caption)
    low, high = span or span_pct(life)
    scale = Linear(low=low, high=high, start=LEFT, end=RIGHT)
    wall = scale.place(life.limit_pct)
    ticks = [pen.line(part, (x, FOOT), (x, FOOT + length)) for x, (part, length) in _ticks(life, scale)]
    shapes = [
        node("defs", {}, pen.hatching()),
        pen.hatched((wall, TOP), (RIGHT + BEYOND - wall, WALL_FOOT - TOP)),
        pen.line(Part.AXIS, (LEFT, FOOT), (RIGHT + BEYOND, FOOT)),
        *ticks,
        pen.area(Part.HUMP, _hump(life, scale)),
        pen.box(Part.WALL, (wall - WALL_WIDTH / 2, TOP), (WALL_WIDTH, WALL_FOOT - TOP)),
        *_labels(pen, labels, [scale.place(life.fresh_pct), scale.place(life.mean_pct), wall]),
    ]
    return picture(shapes, caption, size=(WIDTH, HEIGHT), look=theme(Part.LIFE))


def _ticks(life: LifeLine, scale: Linear) -> Iterator[tuple[float, tuple[Part, float]]]:
    """Yield places and looks of the ticks; of those in one place the surest alone."""
    taken: list[float] = []
    for service in life.coming:
        strength, x = strength_of(service), scale.place(service.tpc_mean_pct)
        if strength and x <= RIGHT and all(abs(x - other) >= TICKS_APART for other in taken):
            taken.append(x)
            yield x, TICKS[strength]


def _hump(life: LifeLine, scale: Linear) -> list[Point]:
    # a belief too narrow to be seen is drawn as wide as a stroke
    sd = max(scale.place(scale.low + life.sd_pct) - scale.start, NARROWEST_SD)
    centre = scale.place(life.mean_pct)
    away = [HUMP_REACH_SD * n / HUMP_POINTS for n in range(-HUMP_POINTS, HUMP_POINTS + 1)]
    top = [(centre + z * sd, FOOT - (FOOT - TOP) * math.exp(-z * z / 2)) for z in away]
    inside = [(min(max(x, 1.0), WIDTH - 1.0), y) for x, y in top]
    return [(inside[0][0], FOOT), *inside, (inside[-1][0], FOOT)]


def _labels(pen: Pen, labels: Labels, centres: list[float]) -> Iterator[Element]:
    """Yield the words under their places; ``fresh`` gives way where one would be pushed off its own."""
    parts = (Part.TEXT, Part.STRONG, Part.TEXT)
    named = list(zip(centres, (labels.fresh, labels.now, labels.limit), parts, strict=True))
    placed = _placed(named)
    if any(not start <= centre <= start + width_of(words) for start, (centre, words, _) in placed):
        placed = _placed(named[1:])
    for start, (_, words, part) in placed:
        yield pen.text(part, (start + width_of(words) / 2, LABEL_FOOT), words, anchor="middle")


def _placed(named: list[Named]) -> list[tuple[float, Named]]:
    """Return where words begin that keep apart."""
    named = sorted(named, key=lambda label: label[0])
    starts = apart([(centre, width_of(words)) for centre, words, _ in named], room=WIDTH, gap=LABEL_GAP)
    return list(zip(starts, named, strict=True))
