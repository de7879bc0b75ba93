"""What is said of each meter, ready to be shown."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kettlewell.book import Kitchen
from kettlewell.book.setup import Setup
from kettlewell.bridge.meter_pictures import meter_chart
from kettlewell.bridge.meters import InDoubt, looked_back
from kettlewell.core.metering.checks import DecisionKey
from kettlewell.core.outlook.meters import ChartedCheck, MeterReport
from kettlewell.core.outlook.worth import OilWorth
from kettlewell.marks.svg import Svg
from kettlewell.records.access import Act
from kettlewell.records.selectors import numbered
from kettlewell.telling import Reader
from kettlewell.telling.checks import remark_message
from kettlewell.telling.meters import (
    DOUBTFUL,
    FAILED,
    budget,
    chart_in_words,
    is_due,
    meter_words,
    off_by,
    off_chance,
    when_next,
)
from kettlewell.telling.worth import accepted_words, believed, known_to, misled, sampled
from kettlewell.web.common import Visit
from kettlewell.web.entry.links import Link


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """What a meter's readings are worth in one oil: for the chef, and in full."""

    oil: str
    plain: Sequence[str]
    full: Sequence[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterShown:
    """One meter: in words, what to do, and its chart where it was checked."""

    key: str
    name: str
    words: str
    in_use: bool
    when: str
    acts: Sequence[Link]
    worths: Sequence[Worth]
    found: Sequence[str] = ()
    remarks: Sequence[str] = ()
    chart: Svg | str = ""
    chart_words: str = ""
    budget: Sequence[tuple[str, str]] = ()


def meter_shown(report: MeterReport, setup: Setup, visit: Visit) -> MeterShown:
    """Return what the screen says of a meter."""
    reader, last, kitchen = visit.reader, report.last, setup.kitchen
    unchecked = MeterShown(
        key=report.meter.key,
        name=report.meter.name,
        words=meter_words(report, reader),
        in_use=report.in_use,
        when=when_next(report, reader),
        acts=list(meter_acts(report, visit, can_be_checked=bool(kitchen.reference_lots))),
        worths=worths_of(report, kitchen, reader),
    )
    if last is None:
        return unchecked
    deviation = last.decision.deviation
    return replace(
        unchecked,
        found=[off_by(deviation, reader), off_chance(last.decision, kitchen.permissible_pct, reader)],
        remarks=[reader.tell(remark_message(remark)) for remark in last.decision.remarks],
        chart=meter_chart(report, last, kitchen, reader),
        chart_words=chart_in_words(report, last, reader),
        budget=list(budget(deviation, reader)),
    )


def worths_of(report: MeterReport, kitchen: Kitchen, reader: Reader) -> list[Worth]:
    """Return what a meter's readings are worth, oil by oil, where they can be relied on."""
    return [worth_of(worth, kitchen, reader) for worth in report.relied_on]


def worth_of(worth: OilWorth, kitchen: Kitchen, reader: Reader) -> Worth:
    """Return what a meter's readings are worth in one oil."""
    return Worth(
        oil=worth.oil.name,
        plain=[accepted_words(worth, reader), misled(worth, reader), sampled(worth, kitchen, reader)],
        full=[believed(worth, reader), known_to(worth, reader)],
    )


def meter_acts(report: MeterReport, visit: Visit, *, can_be_checked: bool) -> Iterator[Link]:
    """Yield what can be done about a meter, what matters most first."""
    if visit.may(Act.RECORD) and can_be_checked:
        last, meter = report.last, report.meter.key
        again: list[Link] = []
        if last is not None:
            check = last.check
            again += follow_up(visit, last.decision.key, meter=meter, lot=check.lot, adjusted=check.adjusted)
        yield from again
        primary = not again and is_due(report, visit.reader)
        yield Link(label=_("Check this meter"), url=check_url(visit, meter), primary=primary)
    if failed := last_failed(report):
        yield back_link(report, failed, visit)


def back_link(report: MeterReport, failed: ChartedCheck, visit: Visit) -> Link:
    """Return the way to the look-back after a failed check, with how many verdicts wait there.

    They are counted only until a good check has followed: telling them anew takes seconds.
    """
    number = int(failed.check.ref.removeprefix("#"))
    entry = numbered(visit.kitchen, [number])[number]
    url, waiting = reverse("look-back", args=(visit.kitchen.slug, entry.pk)), 0
    if failed is as_found(report)[-1] and (back := looked_back(visit.kitchen, entry)):
        waiting = sum(is_open(doubted) for doubted in back.doubted)
    if not waiting:
        return Link(label=_("Look back"), url=url)
    label = ngettext(
        "Review %(number)s verdict from when the meter was off",
        "Review %(number)s verdicts from when the meter was off",
        waiting,
    )
    return Link(label=label % {"number": waiting}, url=url, primary=True)


def check_url(visit: Visit, meter: str, **about: str) -> str:
    """Return where a meter is checked; ``about`` is what is known of the check beforehand."""
    return f"{reverse('meter-check', args=(visit.kitchen.slug,))}?{urlencode({'meter': meter, **about})}"


def follow_up(visit: Visit, key: DecisionKey, *, meter: str, lot: str, adjusted: bool) -> Iterator[Link]:
    """Yield how a check is followed by another one: as an adjustment leaves the meter, or repeated."""
    if key is DecisionKey.ADJUST:
        url = check_url(visit, meter, lot=lot, adjusted="yes")
        yield Link(label=_("Read it again after adjusting"), url=url, primary=True)
    if key is DecisionKey.REPEAT:
        url = check_url(visit, meter, lot=lot, **({"adjusted": "yes"} if adjusted else {}))
        yield Link(label=_("Repeat the check"), url=url, primary=True)


def last_failed(report: MeterReport) -> ChartedCheck | None:
    """Return the last check that found a meter too far off."""
    return next((charted for charted in reversed(as_found(report)) if charted.decision.key in FAILED), None)


def as_found(report: MeterReport) -> list[ChartedCheck]:
    """Return the checks of a meter as it was found, not as it was left after an adjustment."""
    return [charted for charted in report.checks if not charted.check.adjusted]


def is_open(doubted: InDoubt) -> bool:
    """Tell whether a verdict may not stand, and nobody has said yet whether it does."""
    return is_doubtful(doubted) and doubted.verdict is not None and doubted.settled is None


def is_doubtful(doubted: InDoubt) -> bool:
    """Tell whether a verdict may not stand."""
    return doubted.relied.not_stand >= DOUBTFUL
