"""Two meters side by side: by how much one reads more than the other, pair by pair.

The mean of each pair runs to the right, the difference upwards.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from kettlewell.marks.grid import level_grid
from kettlewell.marks.pen import FONT, Pen, width_of
from kettlewell.marks.scales import Linear, apart, nice_ticks
from kettlewell.marks.svg import Caption, Point, Svg, picture
from kettlewell.marks.theme import Part, Theme, screen

HEADROOM_PCT = 0.5
MOST_FIGURES = 8

# The SVG's own units: one is a pixel where the picture is as wide as a phone's page.
WIDTH = 340.0
LEFT, RIGHT, TOP, FOOT = 30.0, 334.0, 24.0, 204.0
HEAD, FIGURES, NAMED = 12.0, FOOT + 18.0, FOOT + 36.0
LABEL_ASIDE = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DifferencePlot:
    """Pairs as (mean, difference), and between which limits 95 % of differences lie, all in % TPC."""

    pairs: tuple[Point, ...]
    mean_pct: float
    lower_pct: float
    upper_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DifferenceLabels:
    """The words of the plot: along its axes and beside its lines; ``figure`` writes a number."""

    difference: str
    mean_of_both: str
    mean: str
    lower: str
    upper: str
    figure: Callable[[float], str]


def draw_difference(
    plot: DifferencePlot, labels: DifferenceLabels, caption: Caption, *, theme: Theme = screen
) -> Svg:
    """Return the difference plot as SVG."""
    sheet = Sheet(plot, Pen(theme=theme, caption=caption))
    shapes = [*sheet.grid(labels), *sheet.lines(), *sheet.pairs(), *sheet.words(labels)]
    return picture(shapes, caption, size=(WIDTH, NAMED + FONT / 2), look=theme(Part.CHART))


class Sheet:
    """The plot being drawn."""

    def __init__(self, plot: DifferencePlot, pen: Pen) -> None:
        """Lay out both scales."""
        self.plot, self.pen = plot, pen
        across = [x for x, _ in plot.pairs]
        up = [0.0, plot.lower_pct, plot.upper_pct, *(y for _, y in plot.pairs)]
        self.x = Linear(low=min(across) - 1, high=max(across) + 1, start=LEFT, end=RIGHT)
        self.y = Linear(low=min(up) - HEADROOM_PCT, high=max(up) + HEADROOM_PCT, start=FOOT, end=TOP)

    def grid(self, labels: DifferenceLabels) -> Iterator[Element]:
        """Yield levels and figures, and the line on which both read alike."""
        pen = self.pen
        yield pen.text(Part.FIGURE, (0, HEAD), labels.difference)
        yield from level_grid(pen, self.x, self.y, figure=labels.figure)
        for pct in nice_ticks(self.x.low, self.x.high, most=MOST_FIGURES):
            yield pen.text(Part.FIGURE, (self.x.place(pct), FIGURES), labels.figure(pct), anchor="middle")
        yield pen.text(Part.FIGURE, (RIGHT, NAMED), labels.mean_of_both, anchor="end")
        yield pen.line(Part.AXIS, (LEFT, self.y.place(0.0)), (RIGHT, self.y.place(0.0)))

    def lines(self) -> Iterator[Element]:
        """Yield the mean difference and the limits of agreement."""
        for part, pct in self.levels():
            yield self.pen.line(part, (LEFT, self.y.place(pct)), (RIGHT, self.y.place(pct)))

    def levels(self) -> tuple[tuple[Part, float], ...]:
        """Return the lines by how they look and where they stand, from above."""
        plot = self.plot
        return ((Part.BOUND, plot.upper_pct), (Part.MEAN, plot.mean_pct), (Part.BOUND, plot.lower_pct))

    def pairs(self) -> Iterator[Element]:
        """Yield the pairs."""
        for x, y in self.plot.pairs:
            yield self.pen.dot(Part.READING, (self.x.place(x), self.y.place(y)), 3)

    def words(self, labels: DifferenceLabels) -> Iterator[Element]:
        """Yield the words beside the lines, apart from each other, where fewer pairs are in the way."""
        told = (labels.upper, labels.mean, labels.lower)
        heights = [self.y.place(pct) for _, pct in self.levels()]
        starts = apart([(height - FONT / 2, FONT) for height in heights], room=FOOT, gap=1.0)
        widest = max(width_of(words) for words in told)
        left = sum(self.x.place(x) < LEFT + widest for x, _ in self.plot.pairs)
        right = sum(self.x.place(x) > RIGHT - widest for x, _ in self.plot.pairs)
        place, anchor = (RIGHT - LABEL_ASIDE, "end") if right <= left else (LEFT + LABEL_ASIDE, "start")
        for start, words in zip(starts, told, strict=True):
            yield self.pen.text(Part.TEXT, (place, start + FONT - 3), words, anchor=anchor)
