"""A meter's chart: what each check found, against what is permissible and what chance explains.

Time runs to the right, how much the meter read too high upwards. Limits of chance and the
weighted mean break off where the meter was adjusted or another bottle was opened.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby, pairwise
from xml.etree.ElementTree import Element
from zoneinfo import ZoneInfo

from kettlewell.marks.grid import day_grid, level_grid
from kettlewell.marks.legend import Entry, legend
from kettlewell.marks.pen import Pen
from kettlewell.marks.scales import Linear, TimeScale
from kettlewell.marks.signs import act_sign
from kettlewell.marks.svg import Caption, Point, Svg, node, picture
from kettlewell.marks.theme import Part, Theme, screen
from kettlewell.marks.values import RANGE_SD, ActKind

HEADROOM_PCT = 0.5
LONGEST_STUB = 9.0
SHORTEST = timedelta(days=7)

# The SVG's own units: one is a pixel where the picture is as wide as a phone's page.
WIDTH = 340.0
LEFT, RIGHT, TOP, FOOT = 30.0, 334.0, 24.0, 214.0
HEAD, LANE, LEGEND = 12.0, FOOT + 10.0, FOOT + 60.0
LABEL_ASIDE = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartedDeviation:
    """A check on the chart, in percentage points.

    What it found with its standard uncertainty, and in its run the centre, the weighted mean,
    and how far from the centre a check may lie by chance. ``adjusted``: the meter as it was left.
    """

    at: datetime
    pct: float
    u_pct: float
    run: int
    centre_pct: float
    limit_pct: float
    mean_pct: float
    adjusted: bool = False
    signalled: bool = False

    @property
    def low_pct(self) -> float:
        """Lower end of the range."""
        return self.pct - RANGE_SD * self.u_pct

    @property
    def high_pct(self) -> float:
        """Upper end of the range."""
        return self.pct + RANGE_SD * self.u_pct


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlChart:
    """The checks of a meter in order of time, one at least, and what is permissible either way."""

    zone: ZoneInfo
    checks: tuple[ChartedDeviation, ...]
    permissible_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlLabels:
    """The words of the chart; ``day`` writes a day, ``figure`` a number beside an axis."""

    deviation: str
    permissible: str
    check: str
    signal: str
    mean: str
    chance: str
    adjusted: str
    bottle: str
    day: Callable[[datetime], str]
    figure: Callable[[float], str]


def draw_control_chart(
    chart: ControlChart, labels: ControlLabels, caption: Caption, *, theme: Theme = screen
) -> Svg:
    """Return a meter's chart as SVG."""
    sheet = Sheet(chart, Pen(theme=theme, caption=caption))
    below, foot = legend(sheet.pen, sheet.entries(labels), (WIDTH, LEGEND))
    shapes = [
        node("defs", {}, sheet.pen.hatching(), sheet.pen.clip((LEFT, TOP), (RIGHT - LEFT, FOOT - TOP))),
        *sheet.grid(labels),
        *sheet.walls(),
        sheet.pen.clipped(*sheet.runs()),
        *sheet.breaks(),
        sheet.pen.clipped(*sheet.checks()),
        sheet.named_wall(labels.permissible),
        *below,
    ]
    return picture(shapes, caption, size=(WIDTH, foot), look=theme(Part.CHART))


class Sheet:
    """The chart being drawn."""

    def __init__(self, chart: ControlChart, pen: Pen) -> None:
        """Lay out both scales, 0 in the middle of the upright one."""
        self.chart, self.pen = chart, pen
        first, last = chart.checks[0].at, chart.checks[-1].at
        aside = max(last - first, SHORTEST) / 20
        self.x = TimeScale(
            begins=first - aside, ends=max(last, first + SHORTEST) + aside, start=LEFT, end=RIGHT
        )
        reach = HEADROOM_PCT + max(
            chart.permissible_pct, *(max(-check.low_pct, check.high_pct) for check in chart.checks)
        )
        self.y = Linear(low=-reach, high=reach, start=FOOT, end=TOP)
        self.by_run = [list(of_it) for _, of_it in groupby(chart.checks, key=lambda check: check.run)]

    def point(self, at: datetime, pct: float) -> Point:
        """Return where a value stands."""
        return self.x.place(at), self.y.place(pct)

    def grid(self, labels: ControlLabels) -> Iterator[Element]:
        """Yield levels and days with their figures, and the line of a meter that reads right."""
        yield self.pen.text(Part.FIGURE, (0, HEAD), labels.deviation)
        yield from level_grid(self.pen, self.x, self.y, figure=labels.figure)
        yield from day_grid(self.pen, self.x, self.y, zone=self.chart.zone, day=labels.day)
        yield self.pen.line(Part.AXIS, (LEFT, self.y.place(0.0)), (RIGHT, self.y.place(0.0)))

    def walls(self) -> Iterator[Element]:
        """Yield the permissible deviation either way, hatched beyond."""
        most = self.chart.permissible_pct
        high, low = self.y.place(most), self.y.place(-most)
        yield self.pen.hatched((LEFT, TOP), (RIGHT - LEFT, high - TOP))
        yield self.pen.hatched((LEFT, low), (RIGHT - LEFT, FOOT - low))
        yield from (self.pen.line(Part.LIMIT, (LEFT, y), (RIGHT, y)) for y in (high, low))

    def named_wall(self, words: str) -> Element:
        """Return the words above the upper wall, over all that crosses them."""
        high = self.y.place(self.chart.permissible_pct)
        return self.pen.text(Part.STRONG, (LEFT + LABEL_ASIDE, high - LABEL_ASIDE), words)

    def runs(self) -> Iterator[Element]:
        """Yield what chance explains in each run, and its weighted mean."""
        for of_it in self.by_run:
            for way in (1, -1):
                edge = [self.point(check.at, check.centre_pct + way * check.limit_pct) for check in of_it]
                yield self.pen.line(Part.BOUND, *self.lengthened(edge))
            yield self.pen.line(Part.MEAN, *(self.point(check.at, check.mean_pct) for check in of_it))

    def lengthened(self, points: list[Point]) -> list[Point]:
        """Return a line drawn a little beyond both its ends, so that one of a single check is seen."""
        (first, y), (last, z) = points[0], points[-1]
        stub = min(LONGEST_STUB, first - LEFT, RIGHT - last)
        return [(first - stub, y), *points, (last + stub, z)]

    def breaks(self) -> Iterator[Element]:
        """Yield where a run began anew: a diamond for an adjustment, an arrow head for another bottle."""
        for before, after in pairwise(self.by_run):
            x = (self.x.place(before[-1].at) + self.x.place(after[0].at)) / 2
            yield self.pen.line(Part.CHANGE_LINE, (x, TOP), (x, FOOT))
            yield break_sign(self.pen, (x, LANE), adjusted=after[0].adjusted)

    def checks(self) -> Iterator[Element]:
        """Yield what was found, with bars as wide as the ranges."""
        for check in self.chart.checks:
            yield self.pen.line(
                Part.ERROR_BAR, self.point(check.at, check.low_pct), self.point(check.at, check.high_pct)
            )
            yield from check_sign(self.pen, self.point(check.at, check.pct), signalled=check.signalled)

    def entries(self, labels: ControlLabels) -> Iterator[Entry]:
        """Yield what the signs mean that are on the chart."""
        pen, later = self.pen, [of_it[0].adjusted for of_it in self.by_run[1:]]
        bar = pen.line(Part.ERROR_BAR, (0, -8), (0, 8))
        yield [bar, *check_sign(pen, (0, 0), signalled=False)], labels.check
        if any(check.signalled for check in self.chart.checks):
            yield [*check_sign(pen, (0, 0), signalled=True)], labels.signal
        yield [pen.line(Part.MEAN, (-10, 0), (10, 0))], labels.mean
        yield [pen.line(Part.BOUND, (-10, 0), (10, 0))], labels.chance
        for adjusted, words in ((True, labels.adjusted), (False, labels.bottle)):
            if adjusted in later:
                yield [break_sign(pen, (0, 0), adjusted=adjusted)], words


def check_sign(pen: Pen, centre: Point, *, signalled: bool) -> Iterator[Element]:
    """Yield a dot for a check, with a ring where it signals."""
    yield pen.dot(Part.READING, centre, 3)
    if signalled:
        yield pen.dot(Part.SIGNAL, centre, 6.5)


def break_sign(pen: Pen, centre: Point, *, adjusted: bool) -> Element:
    """Return a diamond for an adjustment, an arrow head for another bottle."""
    return act_sign(pen, ActKind.CHANGE if adjusted else ActKind.MOVE, centre)
