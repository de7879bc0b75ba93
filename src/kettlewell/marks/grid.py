"""What every chart over time stands on: levels with their figures, days under the time axis."""

from collections.abc import Callable, Iterator
from datetime import datetime
from xml.etree.ElementTree import Element
from zoneinfo import ZoneInfo

from kettlewell.marks.pen import FONT, Pen, width_of
from kettlewell.marks.scales import Linear, TimeScale, midnights, nice_ticks
from kettlewell.marks.theme import Part

DAY_BELOW = 34.0
MOST_LEVELS = 7


def level_grid(
    pen: Pen, x: Linear | TimeScale, y: Linear, *, figure: Callable[[float], str]
) -> Iterator[Element]:
    """Yield a line and a figure for each level."""
    for value in nice_ticks(y.low, y.high, most=MOST_LEVELS):
        height = y.place(value)
        yield pen.line(Part.GRID, (x.start, height), (x.end, height))
        yield pen.text(Part.FIGURE, (x.start - 5, height + FONT / 3), figure(value), anchor="end")


def day_grid(
    pen: Pen, x: TimeScale, y: Linear, *, zone: ZoneInfo, day: Callable[[datetime], str]
) -> Iterator[Element]:
    """Yield a line and the day for some midnights, as many as there is room for."""
    widest = width_of(day(x.begins)) + FONT
    edge = x.end + 6
    foot = y.start + DAY_BELOW
    for at in midnights(x.begins, x.ends, zone, most=max(int((x.end - x.start) / widest), 1)):
        place, words = x.place(at), day(at)
        half = width_of(words) / 2
        yield pen.line(Part.GRID, (place, y.end), (place, foot - FONT))
        yield pen.text(Part.FIGURE, (min(max(place, half), edge - half), foot), words, anchor="middle")
