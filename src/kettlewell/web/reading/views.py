"""Taking a reading, other acts at a fryer, and what was told."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from kettlewell.book import find
from kettlewell.book.fields import CARE
from kettlewell.book.kinds import AT_A_FRYER
from kettlewell.book.setup import Setup
from kettlewell.bridge.accounts import empty_baths, oil_is_kept
from kettlewell.bridge.setups import setup_of
from kettlewell.bridge.standing import standing
from kettlewell.records.access import Act
from kettlewell.records.ids import uuid7
from kettlewell.records.models import Entry
from kettlewell.records.selectors import (
    entry_in,
    is_written,
    open_calls,
    settled_by,
)
from kettlewell.telling.together import cautions
from kettlewell.telling.verdicts import named
from kettlewell.web.common import Visit, in_kitchen, or_404
from kettlewell.web.entry.asking import form_of
from kettlewell.web.entry.forms import OnScreen
from kettlewell.web.entry.lines import book_lines
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.writing import go_on, say_written, written
from kettlewell.web.line.meters import at_fryers, meterless
from kettlewell.web.line.strips import most_urgent_first, strip_at, words_of
from kettlewell.web.reading.acts import TITLES, groups
from kettlewell.web.reading.cautions import ONE_TAP, act_cautions
from kettlewell.web.reading.settling import asked_on, form_on
from kettlewell.web.reading.told import assessment_at, next_acts, verdict_at, verdict_shown

CHOSEN_BY_TILE = {"care": tuple(dict(CARE)), "back": ("1",)}
BY_ONE_FORM = AT_A_FRYER - {"reading"} | {"call"}


@require_safe
@in_kitchen(Act.RECORD)
def reading(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show every fryer, the most urgent first, to be read."""
    stands = standing(visit.kitchen, visit.now)
    fryers = {fryer.key: fryer for fryer in stands.setup.kitchen.fryers}
    told = most_urgent_first(stands)
    listed = [(each.fryer, named(fryers[each.fryer]), words_of(each, visit.reader)) for each in told]
    if stands.problem:
        listed = [(key, named(fryer), "") for key, fryer in fryers.items()]
    context = {"fryers": listed, "standing": stands}
    return render(request, "web/reading/reading.html", context)


@in_kitchen(Act.RECORD)
def reading_at(request: HttpRequest, visit: Visit, fryer: str) -> HttpResponse:
    """Ask for a reading, and lead to what it means."""
    setup = setup_with(visit, fryer)
    if "without" in request.GET or (request.method == "GET" and meterless(visit)):
        return without_reading(request, visit, fryer)
    form = form_for("reading", request, visit, fryer)
    if request.method == "POST" and (recorded := written(request, visit, "reading", form)):
        say_written(request, visit, recorded.entry)
        return go_on(visit, recorded)
    context = {
        "fryer": fryer,
        "name": name_of(setup, fryer),
        "form": form,
        "meters": at_fryers(visit),
        "entry_id": uuid7(visit.now),
        "call_id": uuid7(visit.now),
    }
    return render(request, "web/reading/reading_at.html", context)


def without_reading(request: HttpRequest, visit: Visit, fryer: str) -> HttpResponse:
    """Show what stands of a fryer, for someone who has no reading of it."""
    stands = standing(visit.kitchen, visit.now)
    assessment = assessment_at(stands, fryer)
    context: dict[str, object] = {
        "fryer": fryer,
        "name": name_of(stands.setup, fryer),
        "standing": stands,
        "strip": strip_at(stands, fryer, visit),
        "meters": at_fryers(visit),
        "cautions": cautions([assessment], visit.reader) if assessment else [],
    }
    return render(request, "web/reading/without.html", context)


@require_safe
@in_kitchen(Act.RECORD)
def acts(request: HttpRequest, visit: Visit, fryer: str) -> HttpResponse:
    """Show what else can be written of a fryer."""
    setup = setup_with(visit, fryer)
    assessment = assessment_at(standing(visit.kitchen, visit.now), fryer)
    in_use = assessment is None or assessment.in_use
    kept = oil_is_kept(visit.kitchen, fryer, visit.now)
    context = {
        "fryer": fryer,
        "name": name_of(setup, fryer),
        "groups": groups(visit, fryer, in_use=in_use, kept=kept),
        "caution": visit.reader.say(ONE_TAP),
    }
    return render(request, "web/reading/acts.html", context)


@in_kitchen(Act.RECORD)
def act(request: HttpRequest, visit: Visit, fryer: str, kind: str) -> HttpResponse:
    """Ask for what an entry of one kind says, and write it down."""
    setup = setup_with(visit, fryer)
    if kind not in BY_ONE_FORM:
        raise Http404
    asked = request.GET.dict()
    chosen = {name: asked[name] for name, known in CHOSEN_BY_TILE.items() if asked.get(name) in known}
    form = form_for(kind, request, visit, fryer, **chosen)
    cannot = "" if sent_before(request, visit) else impossible(visit, fryer, kind)
    if request.method == "POST" and not cannot and (recorded := written(request, visit, kind, form)):
        say_written(request, visit, recorded.entry)
        boiled_out = recorded.entry.payload.get("care") == "boil-out" and not recorded.late
        if boiled_out and fryer not in empty_baths(visit.kitchen, visit.now):
            return redirect("boiled-out", visit.kitchen.slug, fryer)
        if kind == "complaint":
            return redirect("fryer", visit.kitchen.slug, fryer)
        return go_on(visit, recorded)
    context = {
        "fryer": fryer,
        "name": name_of(setup, fryer),
        "kind": kind,
        "title": TITLES[kind],
        "form": form,
        "cautions": act_cautions(setup, fryer, kind, visit.reader, care=chosen.get("care", "")),
        "impossible": cannot,
        "entry_id": uuid7(visit.now),
        "call_id": uuid7(visit.now),
    }
    return render(request, "web/reading/act.html", context)


@require_safe
@in_kitchen(Act.RECORD)
def boiled_out(request: HttpRequest, visit: Visit, fryer: str) -> HttpResponse:
    """Ask where the oil of a bath went that was boiled out: the day book holds that it is still there."""
    context = {"fryer": fryer, "name": name_of(setup_with(visit, fryer), fryer)}
    return render(request, "web/reading/boiled_out.html", context)


def impossible(visit: Visit, fryer: str, kind: str) -> str:
    """Return why something cannot have been done at a fryer, by the book; "" where it can."""
    if kind == "return" and not oil_is_kept(visit.kitchen, fryer, visit.now):
        return _("According to the day book no oil of this fryer is kept.")
    if kind in ("store", "move") and fryer in empty_baths(visit.kitchen, visit.now):
        return _("According to the day book this fryer is empty.")
    return ""


def sent_before(request: HttpRequest, visit: Visit) -> bool:
    """Tell whether a form is sent once more, after what it says was written down."""
    given = request.POST.get("entry_id", "")
    try:
        return bool(given) and is_written(visit.kitchen, UUID(given))
    except ValueError:
        return False


@require_safe
@in_kitchen(Act.READ)
def told(request: HttpRequest, visit: Visit, entry: UUID) -> HttpResponse:
    """Show a verdict as it was told."""
    verdict, settled = verdict_at(visit, entry), False
    shown = verdict_shown(verdict, visit)
    context = {"verdict": verdict, "told": shown, "meters": at_fryers(visit)}
    if verdict.asks:
        settled = settled_by(verdict) is not None
        if shown.stands and not settled and visit.may(Act.RECORD):
            context |= asked_on(verdict, visit, form_on(verdict, request, visit))
    asked = "form" in context
    context["acts"] = list(next_acts(verdict, visit, settled=settled, asked=asked))
    return render(request, "web/reading/told.html", context)


@in_kitchen(Act.RECORD)
def answer_call(request: HttpRequest, visit: Visit, entry: UUID) -> HttpResponse:
    """Ask what was answered to a call, and close it. A call that somebody answered stays so."""
    call = entry_of_kind(visit, entry, "call")
    slug = visit.kitchen.slug
    form = form_for("answer", request, visit, call.fryer, call=call.pk)
    if call not in open_calls(visit.kitchen):
        messages.info(request, _("This call is answered."))
        return redirect("line", slug)
    if request.method == "POST" and (recorded := written(request, visit, "answer", form)):
        say_written(request, visit, recorded.entry)
        return redirect("line", slug)
    [line] = book_lines([call], names_of(visit.kitchen), visit)
    at = visit.reader.date(call.at)
    context = {"call": call, "line": line, "at": at, "form": form, "entry_id": uuid7(visit.now)}
    return render(request, "web/reading/answer.html", context)


def setup_with(visit: Visit, fryer: str) -> Setup:
    """Return the kitchen's settings; raises Http404 where it has no such fryer."""
    setup = setup_of(visit.kitchen)
    if not any(bath.key == fryer for bath in setup.kitchen.fryers):
        raise Http404
    return setup


def name_of(setup: Setup, fryer: str) -> str:
    """Return what the kitchen calls a fryer."""
    return named(find(setup.kitchen.fryers, fryer))


def form_for(kind: str, request: HttpRequest, visit: Visit, fryer: str, **initial: object) -> OnScreen:
    """Return the form for a kind of entry, filled in with what was sent."""
    return form_of(
        kind, visit, fryer, sent=request.POST if request.method == "POST" else None, initial=initial
    )


def entry_of_kind(visit: Visit, entry: UUID, kind: str) -> Entry:
    """Return an entry of this kitchen; raises Http404 where there is none of this kind."""
    return or_404(entry_in(visit.kitchen, entry, kind=kind))
