"""What a check of a meter found, and what it leads to."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _

from kettlewell.bridge.meters import meters_checked
from kettlewell.bridge.setups import setup_of
from kettlewell.core.metering.checks import Decision, DecisionKey
from kettlewell.records.access import Act
from kettlewell.records.models import Entry
from kettlewell.records.selectors import is_last_check, verdicts_on
from kettlewell.telling.meters import DECISIONS, FAILED, off_by, off_chance, when_next
from kettlewell.web.common import Visit
from kettlewell.web.entry.links import Link
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.sentences import sentence
from kettlewell.web.meters.shown import follow_up


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckFound:
    """A check in words; ``next`` and ``out`` (it can be taken out of use now) only where it is the last."""

    key: str
    words: str
    said: str
    found: Sequence[str]
    remarks: Sequence[str]
    last: bool
    next: str = ""
    out: bool = False


def found_words(check: Entry, decision: Decision, visit: Visit) -> CheckFound:
    """Return what a check found."""
    reader, setup = visit.reader, setup_of(visit.kitchen)
    report = meters_checked(visit.kitchen, visit.now).of(check.payload["meter"])
    last = report is not None and is_last_check(check)
    return CheckFound(
        key=decision.key.value,
        words=reader.say(DECISIONS[decision.key]),
        said=sentence(check.kind, check.payload, names_of(visit.kitchen), reader),
        found=[
            off_by(decision.deviation, reader),
            off_chance(decision, setup.kitchen.permissible_pct, reader),
        ],
        remarks=[reader.tell(remark.message) for remark in decision.remarks],
        last=last,
        next=when_next(report, reader) if report and last else "",
        out=bool(report and last and report.in_use and decision.key is DecisionKey.OUT),
    )


def found_acts(check: Entry, decision: Decision, visit: Visit) -> Iterator[Link]:
    """Yield what can be done after a check, what matters most first."""
    slug, key, said = visit.kitchen.slug, decision.key, check.payload
    if visit.may(Act.RECORD) and is_last_check(check):
        yield from follow_up(visit, key, meter=said["meter"], lot=said["lot"], adjusted=said["adjusted"])
    if key in FAILED and not said["adjusted"]:
        yield Link(label=_("Look back at its verdicts"), url=reverse("look-back", args=(slug, check.pk)))
    yield Link(label=_("To the meters"), url=reverse("meters", args=(slug,)), primary=key is DecisionKey.FIT)


def answers_told(check: Entry, visit: Visit) -> list[Link]:
    """Return what was told of the fryers in answer to a check."""
    names = names_of(visit.kitchen)
    return [
        Link(
            label=sentence(verdict.kind, verdict.payload, names, visit.reader),
            url=reverse("told", args=(visit.kitchen.slug, verdict.pk)),
        )
        for verdict in verdicts_on(check)
    ]
