"""What the line says of each fryer, ready to be shown."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby

from django.urls import reverse
from django.utils.translation import gettext as _

from kettlewell.book import Fryer, Kitchen, find
from kettlewell.book.setup import Setup
from kettlewell.bridge.pictures import life_line
from kettlewell.bridge.standing import Standing
from kettlewell.core.decision import VerdictKey
from kettlewell.core.outlook.values import Assessment, Unanswered
from kettlewell.marks.svg import Svg
from kettlewell.records.access import Act
from kettlewell.telling import Reader
from kettlewell.telling.allergens import bath_warnings, take_over
from kettlewell.telling.cooling import BRIEFLY, at_once, cools
from kettlewell.telling.glance import last_read, now_beside_limit, then
from kettlewell.telling.reasons import reason_message
from kettlewell.telling.together import warnings
from kettlewell.telling.unanswered import NO_ANSWER, lack_message
from kettlewell.telling.verdicts import (
    AGE_UNKNOWN,
    age_known,
    countable,
    named,
    next_act,
    picture_in_words,
    services_left,
    verdict_words,
    why,
)
from kettlewell.web.common import Visit
from kettlewell.web.entry.links import Link
from kettlewell.web.line.draining import off_since, whom_to_call
from kettlewell.web.line.opened import Opened, notices_at, opened_in

NOT_IN_USE = "not_in_use"
UNANSWERED = "unanswered"


@dataclass(frozen=True, slots=True, kw_only=True)
class LifeShown:
    """A life line and the sentence that says the same; no picture where the book says too little."""

    svg: Svg | str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One fryer on the line."""

    key: str
    name: str
    fries: str
    url: str
    verdict: str
    reason: str
    now: str = ""
    read: str = ""
    then: str = ""
    life: LifeShown | None = None
    left: str = ""
    next: str = ""
    caution: str = ""
    briefly: str = ""
    cools: str = ""
    call: str = ""
    notices: Sequence[Link] = ()
    takes_over: str | None = None
    warnings: Sequence[str] = ()
    acts: Sequence[Link] = ()


def strip_of(assessment: Assessment, stands: Standing, visit: Visit, opened: Opened) -> Strip:
    """Return a fryer's strip; ``opened`` is what waits at the fryers."""
    reader, kitchen, fryer = visit.reader, stands.setup.kitchen, assessment.fryer
    bath, key = find(kitchen.fryers, fryer), assessment.verdict.key
    acts = acts_at(assessment, visit, opened)
    idle = Strip(
        key=NOT_IN_USE,
        name=named(bath),
        fries=foods(bath, kitchen),
        url=reverse("fryer", args=(visit.kitchen.slug, fryer)),
        verdict=verdict_words(assessment, reader),
        reason=reader.tell(reason_message(assessment.verdict.reason)),
        caution=at_once(assessment, reader),
        briefly=at_once(assessment, reader, BRIEFLY),
        cools=cools(assessment, reader, off_at=off_since(assessment, visit, opened.changes)),
        call=whom_to_call(assessment, visit),
        notices=list(notices_at(fryer, visit, opened)),
        takes_over=take_over(assessment, kitchen, reader),
        acts=[act for act in acts if act.primary],
    )
    if not assessment.in_use:
        return idle
    return replace(
        idle,
        key=key.value,
        reason="" if key is VerdictKey.FRY_ON else why(assessment, reader),
        now=now_beside_limit(assessment, reader),
        read=last_read(assessment, reader),
        then=then(assessment, reader),
        life=life_of(assessment, reader, name=f"life-{fryer}", beside=in_use(stands)),
        left=services_left(assessment, reader) if countable(assessment) else "",
        next=next_act(assessment, reader),
        warnings=[*warnings(assessment, reader), *bath_warnings(assessment, kitchen, reader)],
        acts=acts,
    )


def strips_of(stands: Standing, visit: Visit, opened: Opened) -> list[Strip]:
    """Return the strips of a kitchen, the most urgent first."""
    return [strip_told(told, stands, visit, opened) for told in most_urgent_first(stands)]


def strips_by_fryer(visit: Visit, stands: Standing, fryers: Collection[str]) -> dict[str, Strip]:
    """Return the strips of some fryers, by their keys; none where the whole kitchen has no answer."""
    opened = opened_in(visit, fryers)
    found: list[Assessment | Unanswered] = [*stands.assessments, *stands.unanswered]
    return {told.fryer: strip_told(told, stands, visit, opened) for told in found if told.fryer in fryers}


def in_use(stands: Standing) -> list[Assessment]:
    """Return what is told of the fryers whose life lines stand beside each other."""
    return [told for told in stands.assessments if told.in_use and age_known(told)]


def strip_at(stands: Standing, fryer: str, visit: Visit) -> Strip | None:
    """Return the strip of one fryer; None where the whole kitchen has no answer."""
    return strips_by_fryer(visit, stands, (fryer,)).get(fryer)


def strip_told(told: Assessment | Unanswered, stands: Standing, visit: Visit, opened: Opened) -> Strip:
    """Return the strip of a fryer, whether it has an answer or none."""
    if isinstance(told, Assessment):
        return strip_of(told, stands, visit, opened)
    notices = list(notices_at(told.fryer, visit, opened))
    return replace(strip_without(told, stands.setup, visit), notices=notices)


def most_urgent_first(stands: Standing) -> list[Assessment | Unanswered]:
    """Return what is told of each fryer; what has no answer stands behind what is to be changed at once."""
    told = in_order(stands.assessments)
    before = sum(each.in_use and each.verdict.key is VerdictKey.CHANGE_BEFORE for each in told)
    return [*told[:before], *stands.unanswered, *told[before:]]


def words_of(told: Assessment | Unanswered, reader: Reader) -> str:
    """Return the verdict on a fryer in words, or that it has none."""
    return verdict_words(told, reader) if isinstance(told, Assessment) else reader.say(NO_ANSWER)


def strip_without(unanswered: Unanswered, setup: Setup, visit: Visit) -> Strip:
    """Return the strip of a fryer that has no answer: what it lacks, and what can be done meanwhile."""
    kitchen, slug, key = setup.kitchen, visit.kitchen.slug, unanswered.fryer
    bath = find(kitchen.fryers, key)
    acts = []
    if visit.may(Act.SET_UP):
        url = reverse("kitchen", args=(slug,))
        acts.append(Link(label=_("Set up the kitchen"), url=url, primary=True, picture="kitchen"))
    if visit.may(Act.RECORD):
        acts.append(look_at(key, visit, metered=False))
        acts.append(Link(label=_("Call the chef"), url=reverse("act", args=(slug, key, "call"))))
    return Strip(
        key=UNANSWERED,
        name=named(bath),
        fries=foods(bath, kitchen),
        url=reverse("fryer", args=(slug, key)),
        verdict=visit.reader.say(NO_ANSWER),
        reason=visit.reader.tell(lack_message(unanswered)),
        acts=acts,
    )


def foods(bath: Fryer, kitchen: Kitchen) -> str:
    """Return what a bath fries."""
    return ", ".join(find(kitchen.products, food).name for food in bath.fries)


def in_order(assessments: Iterable[Assessment]) -> list[Assessment]:
    """Return fryers, which come most urgent verdict first, by when their next act is due within one."""
    verdicts = groupby(assessments, key=lambda assessment: (assessment.in_use, assessment.verdict.key))
    return [assessment for _verdict, of_it in verdicts for assessment in sorted(of_it, key=due_at)]


def life_of(
    assessment: Assessment, reader: Reader, *, name: str, beside: Sequence[Assessment] = ()
) -> LifeShown:
    """Return the life line of a fryer in use, on one scale with those ``beside`` it, or why there is none."""
    if not age_known(assessment):
        return LifeShown(svg="", words=reader.say(AGE_UNKNOWN))
    svg = life_line(assessment, reader, name=name, beside=beside)
    return LifeShown(svg=svg, words=picture_in_words(assessment, reader))


def acts_at(assessment: Assessment, visit: Visit, opened: Opened) -> list[Link]:
    """Return what whoever may write can do at a fryer: what is still open, and its next reading."""
    if not visit.may(Act.RECORD):
        return []
    slug, fryer, key = visit.kitchen.slug, assessment.fryer, assessment.verdict.key
    acts = []
    if fryer in opened.changes:
        url = reverse("settle", args=(slug, opened.changes[fryer].pk))
        acts.append(Link(label=_("Say what was done"), url=url, primary=True, picture="drain"))
    elif key is VerdictKey.CHANGE_BEFORE:
        url = reverse("act", args=(slug, fryer, "change"))
        acts.append(Link(label=_("Filled with fresh oil"), url=url, primary=True, picture="pack"))
    looks = [look_at(fryer, visit, metered=True)] if assessment.metered else []
    return [*acts, *looks, look_at(fryer, visit, metered=False)]


def look_at(fryer: str, visit: Visit, *, metered: bool) -> Link:
    """Return how to see what the oil of a fryer is like: by a meter, without one in use by the senses."""
    slug = visit.kitchen.slug
    if metered:
        url, picture = reverse("reading-at", args=(slug, fryer)), "reading"
        return Link(label=_("Take a reading"), url=url, picture=picture)
    url = reverse("act", args=(slug, fryer, "senses"))
    return Link(label=_("Smell it and look at it"), url=url, picture="smell")


def due_at(assessment: Assessment) -> datetime:
    """Return by when the next act at a fryer is due."""
    coming = assessment.forecast[0] if assessment.forecast else None
    match assessment.verdict.key:
        case VerdictKey.FRY_ON:
            return assessment.read_by
        case VerdictKey.CHANGE_AFTER if coming:
            return coming.ends_at
    return coming.begins_at if coming else assessment.at
