"""The signs for what was measured and what was done, told apart by shape."""

from xml.etree.ElementTree import Element

from kettlewell.marks.pen import Pen
from kettlewell.marks.svg import Point
from kettlewell.marks.theme import Part
from kettlewell.marks.values import ActKind, MeasuredKind


def measured_sign(pen: Pen, kind: MeasuredKind, centre: Point) -> Element:
    """Return a dot for a reading, hollow if it was not sound, and a square for a laboratory's result."""
    x, y = centre
    if kind is MeasuredKind.LABORATORY:
        return pen.box(Part.LABORATORY, (x - 4, y - 4), (8, 8))
    return pen.dot(Part.READING if kind is MeasuredKind.READING else Part.UNSOUND, centre, 3)


def beyond_sign(pen: Pen, at: Point) -> Element:
    """Return an arrow that points from ``at`` up out of the chart, for what was measured above its top."""
    x, y = at
    return pen.area(Part.UNSOUND, [(x - 4, y + 8), (x, y), (x + 4, y + 8)])


def act_sign(pen: Pen, kind: ActKind, centre: Point) -> Element:
    """Return a stroke for a top-up, an arrow head for a move, and a diamond for a change."""
    x, y = centre
    if kind is ActKind.TOP_UP:
        return pen.line(Part.TOP_UP, (x, y - 5), (x, y + 5))
    if kind is ActKind.MOVE:
        return pen.area(Part.MOVE, [(x - 5, y - 5), (x + 5, y), (x - 5, y + 5)])
    return pen.area(Part.CHANGE, [(x, y - 6), (x + 6, y), (x, y + 6), (x - 6, y)])
