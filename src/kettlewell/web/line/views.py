"""The line, one fryer, and what-if."""

from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from kettlewell.book import Fryer, find
from kettlewell.bridge.fills import past_fills
from kettlewell.bridge.meters import meters_checked
from kettlewell.bridge.pictures import fryer_chart
from kettlewell.bridge.setups import setup_of
from kettlewell.bridge.standing import Standing, standing
from kettlewell.bridge.suppose import what_if
from kettlewell.core.outlook.cautions import POTATOES_BELOW_C
from kettlewell.core.outlook.values import Assessment, Caution
from kettlewell.records.access import Act
from kettlewell.records.selectors import always_answered, entries_of
from kettlewell.telling import N_, Reader
from kettlewell.telling.cards import meter_of_card, rows_of
from kettlewell.telling.cautions import POTATOES
from kettlewell.telling.together import cautions, limits
from kettlewell.telling.verdicts import (
    age_known,
    countable,
    named,
    picture_in_words,
    services_left,
    verdict_words,
)
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.lines import BookLine, book_lines, clock, days_of
from kettlewell.web.entry.names import names_of
from kettlewell.web.line.due import due_today, questions_of, to_look_over, waits
from kettlewell.web.line.facts import facts_of
from kettlewell.web.line.forms import WhatIfForm
from kettlewell.web.line.opened import opened_in
from kettlewell.web.line.strips import LifeShown, life_of, strip_at, strips_of

LAST_ENTRIES = 5


@require_safe
@in_kitchen(Act.READ)
def line(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show every fryer, the most urgent first, and what is due."""
    stands, reader = standing(visit.kitchen, visit.now), visit.reader
    questions, opened = questions_of(visit.kitchen, stands.assessments, reader), opened_in(visit)
    context = {
        "at": reader.moment(visit.now),
        "clock": clock(visit.now, reader),
        "running": running(stands, reader),
        "standing": stands,
        "problem": reader.tell(stands.problem) if stands.problem else "",
        "strips": strips_of(stands, visit, opened),
        "waits": list(waits(stands, visit, questions, opened)),
        "due": due_today(stands, visit),
        "questions": [*questions, *to_look_over(visit, names_of(visit.kitchen))],
        "cautions": cautions(stands.assessments, reader) if stands.assessments else [],
    }
    return render(request, "web/line/line.html", context)


def running(stands: Standing, reader: Reader) -> str:
    """Return which service runs, and until when."""
    for assessment in stands.assessments:
        for service in assessment.forecast[:1]:
            if service.begins_at <= stands.at < service.ends_at:
                until = clock(service.ends_at, reader)
                return reader.say(N_("{service} until {at}"), service=service.name, at=until)
    return ""


@require_safe
@in_kitchen(Act.READ)
def fryer(request: HttpRequest, visit: Visit, fryer: str) -> HttpResponse:
    """Show one fryer: its verdict, its chart, its facts, and what was written of it last."""
    stands, reader = standing(visit.kitchen, visit.now), visit.reader
    assessment = assessment_of(stands, fryer)
    if assessment is None:
        return without_answer(request, visit, stands, fryer)
    card, told = assessment.card, assessment.in_use and age_known(assessment)
    context = {
        "fryer": fryer,
        "standing": stands,
        "strip": strip_at(stands, fryer, visit),
        "next_fryer": following(stands.setup.kitchen.fryers, fryer),
        "untold": untold_last(visit, fryer) if assessment.in_use else None,
        "chart": fryer_chart(visit.kitchen, fryer, assessment, reader, name=f"chart-{fryer}"),
        "chart_words": picture_in_words(assessment, reader) if told else "",
        "facts": facts_of(assessment, stands.setup, reader),
        "limits": list(limits([assessment], stands.setup.kitchen, reader)),
        "form": WhatIfForm(None, find(stands.setup.kitchen.fryers, fryer), assessment),
        "card_for": meter_of_card(meters_checked(visit.kitchen, visit.now).in_use, reader),
        "card": [row.sentence(reader) for row in rows_of(card, reader)],
        "card_expires": reader.moment(card.expires_at),
        "questions": [
            *questions_of(visit.kitchen, [assessment], reader),
            *to_look_over(visit, names_of(visit.kitchen), fryer),
        ],
        "days": days_of(last_lines(visit, fryer), reader),
    }
    return render(request, "web/line/fryer.html", context)


def following(fryers: Sequence[Fryer], fryer: str) -> Fryer | None:
    """Return the fryer after one in the kitchen's order, after the last the first; None where it is alone."""
    here = [bath.key for bath in fryers].index(fryer)
    return fryers[(here + 1) % len(fryers)] if len(fryers) > 1 else None


def without_answer(request: HttpRequest, visit: Visit, stands: Standing, fryer: str) -> HttpResponse:
    """Show what a fryer lacks that has no answer; where the whole kitchen has none, the line says why."""
    strip = strip_at(stands, fryer, visit)
    if strip is None:
        return redirect("line", visit.kitchen.slug)
    context = {
        "fryer": fryer,
        "standing": stands,
        "strip": strip,
        "days": days_of(last_lines(visit, fryer), visit.reader),
    }
    return render(request, "web/line/unanswered.html", context)


@require_safe
@in_kitchen(Act.READ)
def fills(request: HttpRequest, visit: Visit, fryer: str) -> HttpResponse:
    """Show the fills a fryer had before this one, the newest first."""
    reader = visit.reader
    fryers = [bath for bath in setup_of(visit.kitchen).kitchen.fryers if bath.key == fryer]
    if not fryers:
        raise Http404
    rows = [
        {
            "filled": reader.calendar_day(fill.filled_at),
            "ended": reader.calendar_day(fill.ended_at),
            "days": reader.number(round(fill.days)),
            "last_pct": "" if fill.last_reading_pct is None else reader.number(fill.last_reading_pct),
        }
        for fill in past_fills(visit.kitchen, fryer, visit.now)
    ]
    return render(request, "web/line/fills.html", {"fryer": fryer, "name": named(fryers[0]), "fills": rows})


@require_safe
@in_kitchen(Act.READ)
def suppose(request: HttpRequest, visit: Visit, fryer: str) -> HttpResponse:
    """Show what a fryer's forecast would be; nothing is stored."""
    stands = standing(visit.kitchen, visit.now)
    now = assessment_of(stands, fryer)
    if now is None:
        return redirect("fryer", visit.kitchen.slug, fryer)
    bath = find(stands.setup.kitchen.fryers, fryer)
    form = WhatIfForm(request.GET or None, bath, now)
    supposed = None
    if form.is_valid():
        try:
            supposed = what_if(visit.kitchen, fryer, form.supposition(), visit.now)
        except ValidationError as error:
            form.add_error(None, error)
    context = {
        "fryer": fryer,
        "name": named(bath),
        "standing": stands,
        "form": form,
        "now": forecast_of(now, visit, name="now"),
        "supposed": forecast_of(supposed, visit, name="supposed") if supposed else None,
        "cautions": hotter_than_allowed(form, supposed, visit.reader) if supposed else [],
    }
    part = "_what_if" if request.headers.get("HX-Request") else "what_if"
    return render(request, f"web/line/{part}.html", context)


def hotter_than_allowed(form: WhatIfForm, supposed: Assessment, reader: Reader) -> list[str]:
    """Return the caution on potatoes, where a temperature is supposed that is too high for them."""
    if (form.cleaned_data["set_temp_c"] or 0) < POTATOES_BELOW_C:
        return []
    return [reader.say(POTATOES)] if Caution.POTATOES in supposed.cautions else []


def assessment_of(stands: Standing, fryer: str) -> Assessment | None:
    """Return what is told of one fryer; None while there is no answer, and the line says why.

    Raises Http404 where there is no such fryer.
    """
    if all(bath.key != fryer for bath in stands.setup.kitchen.fryers):
        raise Http404
    return next((assessment for assessment in stands.assessments if assessment.fryer == fryer), None)


def forecast_of(assessment: Assessment, visit: Visit, *, name: str) -> dict[str, str | LifeShown]:
    """Return a forecast in words and as a life line."""
    return {
        "verdict": verdict_words(assessment, visit.reader),
        "left": services_left(assessment, visit.reader) if countable(assessment) else "",
        "life": life_of(assessment, visit.reader, name=f"life-{name}-{assessment.fryer}"),
    }


def untold_last(visit: Visit, fryer: str) -> BookLine | None:
    """Return the last entry at a fryer on which a verdict is told each time, where none was."""
    last = always_answered(visit.kitchen, fryer)
    line = book_lines([last], names_of(visit.kitchen), visit)[0] if last else None
    return line if line and line.untold else None


def last_lines(visit: Visit, fryer: str) -> list[BookLine]:
    """Return the last entries that speak of a fryer."""
    entries = entries_of(visit.kitchen, fryer=fryer)[:LAST_ENTRIES]
    return book_lines(entries, names_of(visit.kitchen), visit)
