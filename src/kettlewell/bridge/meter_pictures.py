"""The chart of a meter and of two instruments side by side, drawn from what the core says of them."""

from zoneinfo import ZoneInfo

from kettlewell.book import Kitchen
from kettlewell.core.metering.comparison import Agreement
from kettlewell.core.metering.pairs import SideBySide
from kettlewell.core.outlook.meters import ChartedCheck, MeterReport
from kettlewell.marks.control_chart import (
    ChartedDeviation,
    ControlChart,
    ControlLabels,
    draw_control_chart,
)
from kettlewell.marks.difference import DifferenceLabels, DifferencePlot, draw_difference
from kettlewell.marks.svg import Caption, Svg
from kettlewell.marks.theme import Theme, screen
from kettlewell.telling import N_, Reader
from kettlewell.telling.meters import chart_in_words, differs_by, points

MOST_CHECKS = 24  # on a phone more would lie over each other


def meter_chart(
    report: MeterReport, last: ChartedCheck, kitchen: Kitchen, reader: Reader, *, theme: Theme = screen
) -> Svg:
    """Return the chart of a meter's checks, of which ``last`` is the last."""
    chart = ControlChart(
        zone=ZoneInfo(kitchen.timezone),
        checks=tuple(charted_deviation(check) for check in report.checks[-MOST_CHECKS:]),
        permissible_pct=kitchen.permissible_pct,
    )
    desc = chart_in_words(report, last, reader)
    caption = Caption(name=f"meter-{report.meter.key}", title=report.meter.name, desc=desc)
    return draw_control_chart(chart, control_labels(kitchen, reader), caption, theme=theme)


def charted_deviation(charted: ChartedCheck) -> ChartedDeviation:
    """Return a check as the chart shows it."""
    return ChartedDeviation(
        at=charted.check.at,
        pct=charted.decision.deviation.pct,
        u_pct=charted.decision.deviation.u_pct,
        run=charted.run,
        centre_pct=charted.centre_pct,
        limit_pct=charted.limit_pct,
        mean_pct=charted.centre_pct + charted.ewma_pct,
        adjusted=charted.check.adjusted,
        signalled=bool(charted.signals),
    )


def control_labels(kitchen: Kitchen, reader: Reader) -> ControlLabels:
    """Return the words of a meter's chart."""
    most = points(kitchen.permissible_pct, reader)
    return ControlLabels(
        deviation=reader.say(N_("reads too high by, points")),
        permissible=reader.say(N_("may be off by up to {points}"), points=most),
        check=reader.say(N_("check")),
        signal=reader.say(N_("more than chance")),
        mean=reader.say(N_("weighted mean")),
        chance=reader.say(N_("limits of chance")),
        adjusted=reader.say(N_("adjusted")),
        bottle=reader.say(N_("another bottle")),
        day=reader.calendar_day,
        figure=reader.number,
    )


def difference_plot(side: SideBySide, differences: Agreement, reader: Reader, *, title: str) -> Svg:
    """Return the difference plot of a meter and another instrument."""
    plot = DifferencePlot(
        pairs=tuple(
            ((pair.meter_pct + pair.other_pct) / 2, pair.meter_pct - pair.other_pct) for pair in side.pairs
        ),
        mean_pct=differences.mean,
        lower_pct=differences.lower,
        upper_pct=differences.upper,
    )
    caption = Caption(name="difference", title=title, desc=differs_by(differences, reader))
    return draw_difference(plot, difference_labels(differences, reader), caption)


def difference_labels(differences: Agreement, reader: Reader) -> DifferenceLabels:
    """Return the words of a difference plot."""

    def tenth(value: float) -> str:
        return reader.number(round(value, 1) + 0.0)

    return DifferenceLabels(
        difference=reader.say(N_("meter less the other, points")),
        mean_of_both=reader.say(N_("mean of both, %")),
        mean=reader.say(N_("mean {number}"), number=tenth(differences.mean)),
        lower=reader.say(N_("limit {number}"), number=tenth(differences.lower)),
        upper=reader.say(N_("limit {number}"), number=tenth(differences.upper)),
        figure=reader.number,
    )
