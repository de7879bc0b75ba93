"""The fryer's chart: what was measured, what is believed of the oil, and what is to come.

Time runs to the right, polar compounds upwards.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from xml.etree.ElementTree import Element

from kettlewell.marks.grid import day_grid, level_grid
from kettlewell.marks.legend import entries, legend
from kettlewell.marks.pen import FONT, Pen, width_of
from kettlewell.marks.scales import Linear, TimeScale, apart
from kettlewell.marks.signs import act_sign, beyond_sign, measured_sign
from kettlewell.marks.svg import Caption, Point, Svg, node, picture
from kettlewell.marks.theme import Part, Theme, screen
from kettlewell.marks.values import ActKind, Chart, ChartLabels, DrawnLevel

HEADROOM_PCT = 3.0
SHORTEST = timedelta(days=1)

# The SVG's own units: one is a pixel where the picture is as wide as a phone's page.
WIDTH = 340.0
LEFT, RIGHT, TOP, FOOT = 26.0, 334.0, 34.0, 244.0
HEAD, NOW_FOOT = 12.0, 29.0
LANE = FOOT + 10.0
LEGEND = FOOT + 60.0
LABEL_ROOM, LABEL_ASIDE = 18.0, 4.0


NEW_OIL = (ActKind.MOVE, ActKind.CHANGE)


def draw_chart(chart: Chart, labels: ChartLabels, caption: Caption, *, theme: Theme = screen) -> Svg:
    """Return the fryer's chart as SVG."""
    sheet = Sheet(chart, Pen(theme=theme, caption=caption))
    below, foot = legend(
        sheet.pen, entries(sheet.pen, chart, labels, beyond=bool(sheet.above)), (WIDTH, LEGEND)
    )
    shapes = [
        node("defs", {}, sheet.pen.hatching(), sheet.pen.clip((LEFT, TOP), (RIGHT - LEFT, FOOT - TOP))),
        *sheet.grid(labels),
        sheet.pen.clipped(*sheet.levels()),
        *sheet.acts(),
        *sheet.limits(),
        sheet.pen.clipped(*sheet.measured()),
        *sheet.beyond(labels),
        *sheet.now(labels.now),
        *below,
    ]
    return picture(shapes, caption, size=(WIDTH, foot), look=theme(Part.CHART))


class Sheet:
    """The chart being drawn."""

    def __init__(self, chart: Chart, pen: Pen) -> None:
        """Lay out both scales."""
        self.chart, self.pen = chart, pen
        begins, ends = span(chart)
        self.x = TimeScale(begins=begins, ends=ends, start=LEFT, end=RIGHT)
        self.y = Linear(low=0.0, high=top_pct(chart), start=FOOT, end=TOP)
        self.above = [point for point in chart.measured if point.tpc_pct > self.y.high]

    def point(self, at: datetime, tpc_pct: float) -> Point:
        """Return where a value stands."""
        return self.x.place(at), self.y.place(tpc_pct)

    def grid(self, labels: ChartLabels) -> Iterator[Element]:
        """Yield levels and days with their figures, and the axis."""
        pen = self.pen
        yield pen.text(Part.FIGURE, (0, HEAD), labels.tpc_pct)
        yield from level_grid(pen, self.x, self.y, figure="{:g}".format)
        yield from day_grid(pen, self.x, self.y, zone=self.chart.zone, day=labels.day)
        yield pen.line(Part.AXIS, (LEFT, FOOT), (RIGHT, FOOT))

    def levels(self) -> Iterator[Element]:
        """Yield what is believed of past, present and future, ranges below lines."""
        chart = self.chart
        past = unbroken([*chart.past, chart.here], [act.at for act in chart.acts if act.kind in NEW_OIL])
        ahead = [chart.here, *chart.coming]
        yield from (self.range(Part.PAST_RANGE, levels) for levels in past)
        yield self.range(Part.AHEAD_RANGE, ahead)
        yield from (self.means(Part.PAST, levels) for levels in past)
        yield self.means(Part.AHEAD, ahead)

    def range(self, part: Part, levels: Sequence[DrawnLevel]) -> Element:
        """Return the band that holds the true TPC."""
        high = [self.point(level.at, level.high_pct) for level in levels]
        low = [self.point(level.at, level.low_pct) for level in levels]
        return self.pen.area(part, [*high, *reversed(low)])

    def means(self, part: Part, levels: Sequence[DrawnLevel]) -> Element:
        """Return the line of the means."""
        return self.pen.line(part, *(self.point(level.at, level.tpc_mean_pct) for level in levels))

    def limits(self) -> Iterator[Element]:
        """Yield the lines of the limits, hatched above the lowest, and their words."""
        limits = sorted(self.chart.limits, key=lambda limit: -limit.tpc_pct)
        if not limits:
            return
        lines = [self.y.place(limit.tpc_pct) for limit in limits]
        yield self.pen.hatched((LEFT, TOP), (RIGHT - LEFT, lines[-1] - TOP))
        yield from (self.pen.line(Part.LIMIT, (LEFT, y), (RIGHT, y)) for y in lines)
        # above its line, or below where another line is too near
        rooms = [y - above for above, y in pairwise([TOP, *lines])]
        middles = [y - 10 if room > LABEL_ROOM else y + 10 for y, room in zip(lines, rooms, strict=True)]
        starts = apart([(middle, FONT) for middle in middles], room=FOOT, gap=1.0)
        # at the left, or at the right where the line of the present would run through them
        widest = max(width_of(limit.label) for limit in limits)
        young = LEFT <= self.x.place(self.chart.here.at) <= LEFT + 2 * LABEL_ASIDE + widest
        x, anchor = (RIGHT - LABEL_ASIDE, "end") if young else (LEFT + LABEL_ASIDE, "start")
        for start, limit in zip(starts, limits, strict=True):
            yield self.pen.text(Part.STRONG, (x, start + FONT - 2), limit.label, anchor=anchor)

    def measured(self) -> Iterator[Element]:
        """Yield what was measured, with bars as wide as the ranges."""
        for point in self.chart.measured:
            if point in self.above:
                continue
            low, high = self.point(point.at, point.low_pct), self.point(point.at, point.high_pct)
            yield self.pen.line(Part.ERROR_BAR, low, high)
            yield measured_sign(self.pen, point.kind, self.point(point.at, point.tpc_pct))

    def beyond(self, labels: ChartLabels) -> Iterator[Element]:
        """Yield an arrow with its figure for each measured value that lies above the chart."""
        for point in self.above:
            x, words = self.x.place(point.at), labels.figure(point.tpc_pct)
            yield beyond_sign(self.pen, (x, TOP + 1))
            left = x + 6 + width_of(words) > RIGHT
            yield self.pen.text(
                Part.STRONG,
                (x - 6 if left else x + 6, TOP + FONT - 2),
                words,
                anchor="end" if left else "start",
            )

    def acts(self) -> Iterator[Element]:
        """Yield the signs of what was done, in a lane below the levels; a change cuts through them."""
        for act in self.chart.acts:
            x = self.x.place(act.at)
            if act.kind is ActKind.CHANGE:
                yield self.pen.line(Part.CHANGE_LINE, (x, TOP), (x, FOOT))
            yield act_sign(self.pen, act.kind, (x, LANE))

    def now(self, words: str) -> Iterator[Element]:
        """Yield the line of the present with the belief about it."""
        here = self.chart.here
        x, half = self.x.place(here.at), width_of(words) / 2
        yield self.pen.line(Part.NOW, (x, TOP), (x, FOOT))
        yield self.pen.text(Part.STRONG, (min(max(x, half), WIDTH - half), NOW_FOOT), words, anchor="middle")
        low, high = self.point(here.at, here.low_pct), self.point(here.at, here.high_pct)
        yield self.pen.line(Part.HERE_RANGE, low, high)
        yield self.pen.dot(Part.HERE, self.point(here.at, here.tpc_mean_pct), 5)


def span(chart: Chart) -> tuple[datetime, datetime]:
    """Return from when to when the chart reaches."""
    levels = (chart.here, *chart.past, *chart.coming)
    times = [
        *(level.at for level in levels),
        *(point.at for point in chart.measured),
        *(act.at for act in chart.acts),
    ]
    return min(times), max(*times, min(times) + SHORTEST)


def top_pct(chart: Chart) -> float:
    """Return the highest level shown: of what is believed, and of the limits.

    A forecast may leave the chart, and so may what was measured and is not believed.
    """
    believed = [level.high_pct for level in (chart.here, *chart.past)]
    return max([*believed, *(limit.tpc_pct for limit in chart.limits)]) + HEADROOM_PCT


def unbroken(levels: Sequence[DrawnLevel], breaks: Sequence[datetime]) -> list[list[DrawnLevel]]:
    """Return the levels in stretches between which the bath got other oil."""
    stretches = [[levels[0]]]
    for before, level in pairwise(levels):
        if any(before.at < at <= level.at for at in breaks):
            stretches.append([])
        stretches[-1].append(level)
    return stretches
