"""The few shapes that the pictures are drawn with, dressed by a theme."""

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from kettlewell.marks.svg import Caption, Point, node, path
from kettlewell.marks.theme import Part, Theme

FONT = 13.0
# of the vendored face, on the generous side
LETTER_WIDTH = 0.56 * FONT
HATCH_APART = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """Draws shapes; ``caption`` names what they refer to."""

    theme: Theme
    caption: Caption

    def line(self, part: Part, *points: Point) -> Element:
        """Return a line through points; of one point, a dot where the look has round ends."""
        through = points if len(points) > 1 else points * 2
        return node("path", {"d": path(through), **self.theme(part)})

    def area(self, part: Part, points: Sequence[Point]) -> Element:
        """Return a closed shape."""
        return node("path", {"d": path(points, closed=True), **self.theme(part)})

    def dot(self, part: Part, centre: Point, radius: float) -> Element:
        """Return a round dot."""
        return node("circle", {"cx": centre[0], "cy": centre[1], "r": radius, **self.theme(part)})

    def box(self, part: Part, corner: Point, size: Point) -> Element:
        """Return a rectangle by its upper left corner."""
        return node("rect", {**_rectangle(corner, size), **self.theme(part)})

    def text(self, part: Part, at: Point, words: str, *, anchor: str = "start") -> Element:
        """Return words whose foot line runs through ``at``."""
        return node("text", {"x": at[0], "y": at[1], "text-anchor": anchor, **self.theme(part)}, text=words)

    def hatching(self) -> Element:
        """Return the pattern that ``hatched`` fills with."""
        stripe = self.line(Part.HATCH, (0, 0), (0, HATCH_APART))
        measures: dict[str, str | float] = {
            "id": self.caption.identifier("hatch"),
            "width": HATCH_APART,
            "height": HATCH_APART,
            "patternUnits": "userSpaceOnUse",
            "patternTransform": "rotate(45)",
        }
        return node("pattern", measures, stripe)

    def hatched(self, corner: Point, size: Point) -> Element:
        """Return a hatched rectangle."""
        fill = f"url(#{self.caption.identifier('hatch')})"
        return node("rect", {**_rectangle(corner, size), "fill": fill})

    def clip(self, corner: Point, size: Point) -> Element:
        """Return the frame that ``clipped`` keeps to."""
        return node(
            "clipPath", {"id": self.caption.identifier("frame")}, node("rect", _rectangle(corner, size))
        )

    def clipped(self, *shapes: Element) -> Element:
        """Return shapes of which only what lies within the frame is seen."""
        return node("g", {"clip-path": f"url(#{self.caption.identifier('frame')})"}, *shapes)


def width_of(words: str) -> float:
    """Return about how wide words stand."""
    return len(words) * LETTER_WIDTH


def _rectangle(corner: Point, size: Point) -> dict[str, str | float]:
    return {"x": corner[0], "y": corner[1], "width": max(size[0], 0.0), "height": max(size[1], 0.0)}
