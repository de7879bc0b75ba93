"""How the parts of a picture look: class names on the screen, plain attributes in print.

The pages' security policy forbids inline style, so on the screen ``marks.css`` dresses the
classes. Nothing is told by colour alone: parts differ by weight, dashes, shape and hatching.
"""

from collections.abc import Callable, Mapping
from enum import StrEnum

Look = Mapping[str, str | float]


class Part(StrEnum):
    """What a picture is made of."""

    LIFE = "life"
    CHART = "chart"
    TEXT = "text"
    STRONG = "strong"
    FIGURE = "figure"
    AXIS = "axis"
    GRID = "grid"
    HATCH = "hatch"
    HUMP = "hump"
    WALL = "wall"
    TICK_SURE = "tick-sure"
    TICK_LIKELY = "tick-likely"
    TICK_FAINT = "tick-faint"
    LIMIT = "limit"
    NOW = "now"
    PAST = "past"
    PAST_RANGE = "past-range"
    AHEAD = "ahead"
    AHEAD_RANGE = "ahead-range"
    HERE = "here"
    HERE_RANGE = "here-range"
    READING = "reading"
    UNSOUND = "unsound"
    LABORATORY = "laboratory"
    ERROR_BAR = "error-bar"
    TOP_UP = "top-up"
    MOVE = "move"
    CHANGE = "change"
    CHANGE_LINE = "change-line"
    BOUND = "bound"
    MEAN = "mean"
    SIGNAL = "signal"


Theme = Callable[[Part], Look]


def screen(part: Part) -> Look:
    """Return the class name that ``marks.css`` knows the part by."""
    root = "mark " if part in (Part.LIFE, Part.CHART) else ""
    return {"class": f"{root}mark-{part}"}


def printed(part: Part) -> Look:
    """Return how the part looks in black on white."""
    return PRINTED[part]


def _stroke(colour: str, width: float, **more: str | float) -> Look:
    others = {name.replace("_", "-"): value for name, value in more.items()}
    return {"fill": "none", "stroke": colour, "stroke-width": width, **others}


INK, SOFT, FAINT = "#000", "#555", "#bbb"
ROOT: Look = {"font-family": "Atkinson Hyperlegible, Verdana, sans-serif", "font-size": 13}
OVER_LINES: Look = {"stroke": "#fff", "stroke-width": 3, "paint-order": "stroke", "stroke-linejoin": "round"}

PRINTED: Mapping[Part, Look] = {
    Part.LIFE: ROOT,
    Part.CHART: ROOT,
    Part.TEXT: {"fill": INK, **OVER_LINES},
    Part.STRONG: {"fill": INK, "font-weight": "bold", **OVER_LINES},
    Part.FIGURE: {"fill": SOFT},
    Part.AXIS: _stroke(INK, 1.5),
    Part.GRID: _stroke(FAINT, 0.5),
    Part.HATCH: _stroke(SOFT, 1),
    Part.HUMP: {"fill": "#888", "stroke": INK, "stroke-width": 1.5},
    Part.WALL: {"fill": INK},
    Part.TICK_SURE: _stroke(INK, 3),
    Part.TICK_LIKELY: _stroke(INK, 1.5),
    Part.TICK_FAINT: _stroke(SOFT, 0.75),
    Part.LIMIT: _stroke(INK, 2.5),
    Part.NOW: _stroke(INK, 1, stroke_dasharray="2 3"),
    Part.PAST: _stroke(INK, 1.5, stroke_linecap="round"),
    Part.PAST_RANGE: {"fill": "#ccc"},
    Part.AHEAD: _stroke(INK, 2, stroke_dasharray="6 4"),
    Part.AHEAD_RANGE: {
        "fill": "#eee",
        "stroke": SOFT,
        "stroke-width": 0.75,
        "stroke-dasharray": "1.5 2.5",
    },
    Part.HERE: {"fill": "#fff", "stroke": INK, "stroke-width": 3},
    Part.HERE_RANGE: _stroke(INK, 3),
    Part.READING: {"fill": INK},
    Part.UNSOUND: {"fill": "#fff", "stroke": INK, "stroke-width": 1.5},
    Part.LABORATORY: {"fill": INK},
    Part.ERROR_BAR: _stroke(INK, 1),
    Part.TOP_UP: _stroke(INK, 1.5),
    Part.MOVE: {"fill": "#fff", "stroke": INK, "stroke-width": 1.5},
    Part.CHANGE: {"fill": INK},
    Part.CHANGE_LINE: _stroke(SOFT, 1, stroke_dasharray="6 3 1 3"),
    Part.BOUND: _stroke(SOFT, 1.25, stroke_dasharray="4 3"),
    Part.MEAN: _stroke(INK, 1.5, stroke_linejoin="round", stroke_linecap="round"),
    Part.SIGNAL: _stroke(INK, 2),
}
