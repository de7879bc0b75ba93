"""The answer to `meter show`: how each meter stands, its checks, and what its readings are worth."""

from collections.abc import Iterator, Sequence

from kettlewell.book import Kitchen, find
from kettlewell.cli.screen import Line, Weight, table
from kettlewell.cli.strip import INDENT
from kettlewell.core.metering.checks import DecisionKey
from kettlewell.core.outlook.meters import ChartedCheck, MeterReport
from kettlewell.telling import N_, Reader
from kettlewell.telling.checks import remark_message
from kettlewell.telling.meters import CALM, DECISIONS, meter_words, off_by, off_chance, signals, when_next
from kettlewell.telling.verdicts import named
from kettlewell.telling.worth import accepted_words, believed, known_to, misled, sampled

CHECKS_TOLD = 12
COVERAGE = 2.0  # 19 of 20

NO_METER = N_("This kitchen has no meter.")
CHECKED = N_("Checked {at}, in {lot}. {found} {chance}")
HEADS = (N_("check"), N_("off by (19 of 20)"), N_("what to do"))
OFF = N_("{deviation} ± {reach} points")
AS_LEFT = N_("Adjusted: {decision}")


def meters_shown(
    reports: Sequence[MeterReport], kitchen: Kitchen, reader: Reader, *, width: int
) -> Iterator[Line]:
    """Yield every line of the answer."""
    yield Line(text=f"{kitchen.name}, {reader.date(reader.now)}", weight=Weight.BOLD)
    if not reports:
        yield Line(text=reader.say(NO_METER))
    for report in reports:
        yield Line(text="")
        title = f"── {named(report.meter)} "
        yield Line(text=title + "─" * (width - len(title)), weight=Weight.BOLD, picture=True)
        yield from _meter(report, kitchen, reader)


def _meter(report: MeterReport, kitchen: Kitchen, reader: Reader) -> Iterator[Line]:
    weight = Weight.BOLD if needs_care(report, reader) else Weight.PLAIN
    yield Line(text=meter_words(report, reader), weight=weight, indent=INDENT)
    if report.last:
        yield from (_told(text) for text in check_words(report.last, kitchen, reader))
    if not report.in_use:
        return
    yield _told(when_next(report, reader))
    if report.last:
        yield from (_told(text) for text in signals(report, reader) or [reader.say(CALM)])
        yield Line(text="")
        rows = [_cells(charted, reader) for charted in report.checks[-CHECKS_TOLD:]]
        yield from table([[reader.say(head) for head in HEADS], *rows], indent=INDENT)
    yield from _worth(report, kitchen, reader)


def needs_care(report: MeterReport, reader: Reader) -> bool:
    """Tell whether a meter in use did not pass its last check, or is due for the next."""
    if not report.in_use:
        return False
    due, last = report.next_check.at, report.last
    return (due is not None and due <= reader.now) or (
        last is not None and last.decision.key is not DecisionKey.FIT
    )


def check_words(charted: ChartedCheck, kitchen: Kitchen, reader: Reader) -> Iterator[str]:
    """Yield what a check found, how probably the meter is off, and the remarks."""
    yield reader.say(
        CHECKED,
        at=reader.date(charted.check.at),
        lot=find(kitchen.reference_lots, charted.check.lot).name,
        found=off_by(charted.decision.deviation, reader),
        chance=off_chance(charted.decision, kitchen.permissible_pct, reader),
    )
    yield from (reader.tell(remark_message(remark)) for remark in charted.decision.remarks)


def _cells(charted: ChartedCheck, reader: Reader) -> list[str]:
    found, decision = charted.decision.deviation, reader.say(DECISIONS[charted.decision.key])
    reach = reader.number(COVERAGE * found.u_pct, digits=1)
    return [
        reader.date(charted.check.at),
        reader.say(OFF, deviation=signed(found.pct, reader), reach=reach),
        reader.say(AS_LEFT, decision=decision) if charted.check.adjusted else decision,
    ]


def signed(pct: float, reader: Reader) -> str:
    """Return a difference to a tenth, with its sign."""
    shown = round(pct, 1) + 0.0
    return f"{'+' if shown > 0 else ''}{reader.number(shown, digits=1)}"


def _worth(report: MeterReport, kitchen: Kitchen, reader: Reader) -> Iterator[Line]:
    for worth in report.relied_on:
        yield Line(text="")
        yield Line(text=worth.oil.name, weight=Weight.BOLD, indent=INDENT)
        for told in (accepted_words, known_to, misled, believed):
            yield _told(told(worth, reader))
        yield _told(sampled(worth, kitchen, reader))


def _told(text: str) -> Line:
    return Line(text=text, indent=INDENT)
