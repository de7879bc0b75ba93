"""What the signs on a chart mean, row by row; only those that are on it."""

from collections.abc import Iterable, Iterator
from xml.etree.ElementTree import Element

from kettlewell.marks.pen import FONT, Pen, width_of
from kettlewell.marks.signs import act_sign, beyond_sign, measured_sign
from kettlewell.marks.svg import Point, node, written
from kettlewell.marks.theme import Part
from kettlewell.marks.values import ActKind, Chart, ChartLabels, MeasuredKind

ROW = 20.0
SIGN_WIDTH = 26.0

Entry = tuple[list[Element], str]


def legend(pen: Pen, entries: Iterable[Entry], corner: Point) -> tuple[list[Element], float]:
    """Return the legend and where it ends; ``corner`` is its right end and first foot line.

    Each entry is signs, drawn around 0, and what they mean.
    """
    (width, y), x = corner, 0.0
    shapes: list[Element] = []
    for signs, words in entries:
        if x and x + SIGN_WIDTH + width_of(words) > width:
            x, y = 0.0, y + ROW
        moved = f"translate({written(x + 10)} {written(y - FONT / 3)})"
        shapes += [
            node("g", {"transform": moved}, *signs),
            pen.text(Part.TEXT, (x + SIGN_WIDTH, y), words),
        ]
        x += SIGN_WIDTH + width_of(words) + FONT
    return shapes, y + FONT / 2


def entries(pen: Pen, chart: Chart, labels: ChartLabels, *, beyond: bool) -> Iterator[Entry]:
    """Yield each kind of sign on a fryer's chart, with its words; ``beyond`` where something is above it."""
    measured = {point.kind for point in chart.measured}
    done = {act.kind for act in chart.acts}
    for kind in MeasuredKind:
        if kind in measured:
            bar = pen.line(Part.ERROR_BAR, (0, -8), (0, 8))
            yield [bar, measured_sign(pen, kind, (0, 0))], labels.measured[kind]
    if beyond:
        yield [beyond_sign(pen, (0, -4))], labels.beyond
    if chart.past:
        yield _band(pen, Part.PAST_RANGE, Part.PAST), labels.past
    if chart.coming:
        yield _band(pen, Part.AHEAD_RANGE, Part.AHEAD), labels.forecast
    for act in ActKind:
        if act in done:
            yield [act_sign(pen, act, (0, 0))], labels.acts[act]


def _band(pen: Pen, around: Part, middle: Part) -> list[Element]:
    return [pen.box(around, (-10, -6), (20, 12)), pen.line(middle, (-10, 0), (10, 0))]
