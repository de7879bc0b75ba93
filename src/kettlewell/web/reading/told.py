"""A verdict as it was told, and what it leads to."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _

from kettlewell.book import find
from kettlewell.bridge.setups import setup_of
from kettlewell.bridge.standing import Standing, standing
from kettlewell.bridge.verdicts import told_message
from kettlewell.core.decision import VerdictKey
from kettlewell.core.outlook.values import Assessment
from kettlewell.records.access import Act
from kettlewell.records.models import Entry
from kettlewell.records.selectors import entry_in, is_overtaken
from kettlewell.telling.allergens import take_over
from kettlewell.telling.cooling import at_once, cools
from kettlewell.telling.together import cautions
from kettlewell.telling.verdicts import (
    VERDICTS,
    countable,
    named,
    next_act,
    services_left,
    verdict_words,
)
from kettlewell.web.common import Visit, or_404
from kettlewell.web.entry.links import Link
from kettlewell.web.line.draining import off_since, whom_to_call
from kettlewell.web.line.strips import LifeShown, life_of, look_at
from kettlewell.web.line.today import readings_today, still_to_do


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictShown:
    """A verdict for the screen. What only goes for the present is left out once it no longer stands."""

    key: str
    name: str
    words: str
    reason: str
    changes_if: str
    at: str
    until: str
    recomputing: bool
    stands: bool = False
    now: str = ""
    next: str = ""
    left: str = ""
    life: LifeShown | None = None
    caution: str = ""
    call: str = ""
    takes_over: str | None = None
    cools: str = ""
    cautions: Sequence[str] = ()


def verdict_at(visit: Visit, entry: UUID) -> Entry:
    """Return a verdict of this kitchen; raises Http404 where there is none."""
    return or_404(entry_in(visit.kitchen, entry, kind="verdict"))


def verdict_shown(verdict: Entry, visit: Visit) -> VerdictShown:
    """Return a verdict as it was told, with what it leads to where it still stands."""
    reader, payload = visit.reader, verdict.payload
    setup = setup_of(visit.kitchen, at_seq=int(payload["head_seq"]))
    key = VerdictKey(payload["verdict"])
    stands = standing(visit.kitchen, visit.now, of=[verdict.fryer])
    told = VerdictShown(
        key=key.value,
        name=named(find(setup.kitchen.fryers, verdict.fryer)),
        words=reader.say(VERDICTS[key]),
        reason=reader.tell(told_message(payload["reason"])),
        changes_if=reader.tell(told_message(payload["changes_if"])),
        at=reader.date(verdict.happened_at),
        until=reader.moment(datetime.fromisoformat(payload["holds_until"])),
        recomputing=stands.recomputing,
    )
    assessment = assessment_at(stands, verdict.fryer)
    if assessment is None or is_overtaken(verdict) or assessment.verdict.key is not key:
        return replace(told, now=verdict_words(assessment, reader) if assessment else "")
    kitchen = stands.setup.kitchen
    return replace(
        told,
        stands=True,
        words=verdict_words(assessment, reader),
        next=next_act(assessment, reader),
        left=services_left(assessment, reader) if countable(assessment) else "",
        life=life_of(assessment, reader, name="life"),
        takes_over=take_over(assessment, kitchen, reader),
        caution=at_once(assessment, reader),
        call=whom_to_call(assessment, visit),
        cools=cools(assessment, reader, off_at=off_since(assessment, visit, {verdict.fryer: verdict})),
        cautions=cautions([assessment], reader),
    )


def assessment_at(stands: Standing, fryer: str) -> Assessment | None:
    """Return what stands of a fryer; None where there is no answer yet."""
    return next((assessment for assessment in stands.assessments if assessment.fryer == fryer), None)


def next_fryer(fryer: str, visit: Visit) -> Link | None:
    """Return the way to the next fryer that nobody has read today; None after the last."""
    stands = standing(visit.kitchen, visit.now)
    fryers = stands.setup.kitchen.fryers
    here = next((n for n, bath in enumerate(fryers) if bath.key == fryer), -1) + 1
    left = still_to_do([*fryers[here:], *fryers[:here]], stands.assessments, {fryer, *readings_today(visit)})
    if not left:
        return None
    url = reverse("reading-at", args=(visit.kitchen.slug, left[0].key))
    return Link(label=_("Next fryer: %(name)s") % {"name": named(left[0])}, url=url)


def next_acts(verdict: Entry, visit: Visit, *, settled: bool, asked: bool) -> Iterator[Link]:
    """Yield what can be done after a verdict, what matters most first.

    Whether what was done is ``settled``, or ``asked`` on the page itself.
    """
    slug, fryer, key = visit.kitchen.slug, verdict.fryer, verdict.payload["verdict"]
    on = key == VerdictKey.FRY_ON
    following = next_fryer(fryer, visit) if visit.may(Act.RECORD) else None
    if following and on:
        yield replace(following, primary=True)
    if visit.may(Act.RECORD):
        if key == VerdictKey.CHANGE_BEFORE and not settled and not asked:
            url = reverse("settle", args=(slug, verdict.pk))
            yield Link(label=_("Say what was done"), url=url, primary=True)
        if key == VerdictKey.CHANGE_AFTER or settled:
            yield Link(label=_("Filled with fresh oil"), url=reverse("act", args=(slug, fryer, "change")))
        now = assessment_at(standing(visit.kitchen, visit.now, of=[fryer]), fryer)
        look = look_at(fryer, visit, metered=now is None or now.metered)
        yield replace(look, primary=key == VerdictKey.MEASURE_AGAIN)
        yield Link(label=_("Call the chef"), url=reverse("act", args=(slug, fryer, "call")))
    if following and not on:
        yield following
    yield Link(
        label=_("Back to the line"), url=reverse("line", args=(slug,)), primary=on and following is None
    )
