"""The life line and the chart of a fryer, drawn from what the core says of it."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from kettlewell.book import Change, LabResult, Move, Reading, Return, Store, TopUp
from kettlewell.book import Kitchen as KitchenValue
from kettlewell.bridge.past import happened, past_of
from kettlewell.bridge.setups import setup_of
from kettlewell.core.metering import laboratory_u_pct, meter_read, reading_var
from kettlewell.core.outlook.values import Assessment
from kettlewell.marks.chart import draw_chart
from kettlewell.marks.lifeline import Labels, LifeLine, draw_life_line, span_pct
from kettlewell.marks.svg import Caption, Svg
from kettlewell.marks.values import (
    ActKind,
    Chart,
    ChartLabels,
    DrawnAct,
    DrawnLevel,
    LimitLine,
    Measured,
    MeasuredKind,
)
from kettlewell.records.models import Kitchen
from kettlewell.records.selectors import last_that_counts
from kettlewell.telling import N_, Reader
from kettlewell.telling.verdicts import limit_label, lowest_limit, lowest_limit_pct, picture_in_words

LONGEST_PAST = timedelta(days=21)
SHORTEST_PAST = timedelta(days=2)
SERVICES_AHEAD = 14
ACTS = {
    TopUp: ActKind.TOP_UP,
    Change: ActKind.CHANGE,
    Move: ActKind.MOVE,
    Store: ActKind.MOVE,
    Return: ActKind.MOVE,
}
ACT_WORDS = {
    ActKind.TOP_UP: N_("topped up"),
    ActKind.MOVE: N_("oil moved"),
    ActKind.CHANGE: N_("changed"),
}
MEASURED_WORDS = {
    MeasuredKind.READING: N_("reading"),
    MeasuredKind.UNSOUND: N_("reading not taken as it should be"),
    MeasuredKind.LABORATORY: N_("laboratory"),
}


def life_line(assessment: Assessment, reader: Reader, *, name: str, beside: Sequence[Assessment] = ()) -> Svg:
    """Return the life line of a fryer; ``name`` is the picture's own on its page.

    On one scale with the life lines of the fryers ``beside`` it.
    """
    lowest = lowest_limit(assessment)
    life = life_of(assessment)
    spans = [span_pct(life), *(span_pct(life_of(other)) for other in beside)]
    labels = Labels(
        fresh=reader.say(N_("fresh {number}"), number=assessment.fresh_tpc_pct),
        now=reader.say(N_("now {number}"), number=assessment.tpc_mean_pct),
        limit=limit_label(lowest, reader),
    )
    span = min(low for low, _ in spans), max(high for _, high in spans)
    return draw_life_line(life, labels, caption(assessment, reader, name), span=span)


def life_of(assessment: Assessment) -> LifeLine:
    """Return what the life line of a fryer shows."""
    return LifeLine(
        fresh_pct=assessment.fresh_tpc_pct,
        limit_pct=lowest_limit_pct(assessment),
        mean_pct=assessment.tpc_mean_pct,
        sd_pct=assessment.tpc_sd_pct,
        coming=assessment.forecast,
    )


def fryer_chart(kitchen: Kitchen, fryer: str, assessment: Assessment, reader: Reader, *, name: str) -> Svg:
    """Return the chart of a fryer's fill: what was read and believed, and what is expected."""
    value, now = setup_of(kitchen).kitchen, assessment.at
    begins = max(assessment.filled_at or now - LONGEST_PAST / 2, now - LONGEST_PAST)
    begins = min(begins, now - SHORTEST_PAST)
    head = last_that_counts(kitchen)
    own = happened(kitchen, fryer, begins=begins, now=now, head=head)
    chart = Chart(
        zone=ZoneInfo(value.timezone),
        here=DrawnLevel(at=now, tpc_mean_pct=assessment.tpc_mean_pct, tpc_sd_pct=assessment.tpc_sd_pct),
        past=tuple(
            DrawnLevel(at=level.at, tpc_mean_pct=level.tpc_mean_pct, tpc_sd_pct=level.tpc_sd_pct)
            for level in past_of(kitchen, fryer, begins=begins, now=now, head=head)
        ),
        coming=tuple(
            DrawnLevel(at=level.ends_at, tpc_mean_pct=level.tpc_mean_pct, tpc_sd_pct=level.tpc_sd_pct)
            for level in assessment.forecast[: SERVICES_AHEAD if assessment.in_use else 0]
        ),
        measured=tuple(measured(entry, value) for entry in own if isinstance(entry, Reading | LabResult)),
        acts=tuple(DrawnAct(at=entry.at, kind=ACTS[type(entry)]) for entry in own if type(entry) in ACTS),
        limits=limit_lines(assessment, reader),
    )
    return draw_chart(chart, chart_labels(reader), caption(assessment, reader, name))


def measured(entry: Reading | LabResult, value: KitchenValue) -> Measured:
    """Return a reading or laboratory result with its standard uncertainty."""
    if isinstance(entry, LabResult):
        u_pct = laboratory_u_pct(entry)
        return Measured(at=entry.at, tpc_pct=entry.tpc_pct, u_pct=u_pct, kind=MeasuredKind.LABORATORY)
    meter = meter_read(value, entry)
    kind = MeasuredKind.READING if entry.sound else MeasuredKind.UNSOUND
    u_pct = reading_var(entry, meter) ** 0.5
    return Measured(at=entry.at, tpc_pct=entry.tpc_pct, u_pct=u_pct, kind=kind)


def limit_lines(assessment: Assessment, reader: Reader) -> tuple[LimitLine, ...]:
    """Return the limits that judge the oil, each value once."""
    by_value = {judged.tpc_pct: judged for judged in assessment.limits}
    return tuple(
        LimitLine(tpc_pct=value, label=limit_label(by_value[value], reader)) for value in sorted(by_value)
    )


def chart_labels(reader: Reader) -> ChartLabels:
    """Return the words of the chart."""

    def day(at: datetime) -> str:
        return reader.calendar_day(at)

    return ChartLabels(
        tpc_pct=reader.say(N_("polar compounds, %")),
        now=reader.say(N_("now")),
        past=reader.say(N_("believed")),
        forecast=reader.say(N_("expected")),
        measured={kind: reader.say(words) for kind, words in MEASURED_WORDS.items()},
        acts={kind: reader.say(words) for kind, words in ACT_WORDS.items()},
        beyond=reader.say(N_("above the chart, with its figure")),
        day=day,
        figure=reader.number,
    )


def caption(assessment: Assessment, reader: Reader, name: str) -> Caption:
    """Return what a screen reader says of a picture."""
    return Caption(name=name, title=assessment.name, desc=picture_in_words(assessment, reader))
