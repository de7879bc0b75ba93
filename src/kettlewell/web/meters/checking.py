"""The guided check of a meter, what it found, and the look-back after one that failed."""

from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from kettlewell.book.setup import Setup
from kettlewell.bridge.meters import InDoubt, LookedBack, decided, looked_back
from kettlewell.bridge.setups import setup_of
from kettlewell.records.access import Act, act_of
from kettlewell.records.ids import uuid7
from kettlewell.records.models import Entry
from kettlewell.records.selectors import entry_in
from kettlewell.telling.meters import may_fall, rests_on
from kettlewell.web.common import Visit, in_kitchen, or_404
from kettlewell.web.entry.lines import replaced_by
from kettlewell.web.entry.meter_forms import CheckForm, ReliedForm
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.writing import say_written, written
from kettlewell.web.meters.found import answers_told, found_acts, found_words
from kettlewell.web.meters.rows import doubted_rows
from kettlewell.web.meters.shown import is_doubtful


@in_kitchen(act_of("meter_check"))
def check(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Ask for a check of a meter step by step, and lead to what it found."""
    setup = setup_of(visit.kitchen)
    adjusted = "adjusted" in request.GET
    meter = chosen(request.GET.get("meter"), setup.kitchen.meters)
    lot = chosen(request.GET.get("lot"), bottles(setup))
    initial = {"meter": meter, "lot": lot, "adjusted": adjusted}
    sent = request.POST if request.method == "POST" else None
    form = CheckForm(sent, initial=initial, setup=setup, fryer="")
    if request.method == "POST" and (recorded := written(request, visit, "meter_check", form)):
        say_written(request, visit, recorded.entry)
        return redirect("meter-found", visit.kitchen.slug, recorded.entry.pk)
    context = {
        "form": form,
        "name": names_of(visit.kitchen).of("meters", meter),
        "adjusted": adjusted,
        "ready": bool(meter and lot),
        "entry_id": uuid7(visit.now),
    }
    return render(request, "web/meters/check.html", context)


def bottles(setup: Setup) -> list[Any]:
    """Return the bottles of reference oil, the one opened last first."""
    return sorted(setup.kitchen.reference_lots, key=lambda lot: lot.opened or date.min, reverse=True)


def chosen(key: str | None, things: Sequence[Any]) -> str:
    """Return the key of one of these things, or of the first of them; "" where there is none."""
    keys = [str(thing.key) for thing in things]
    return key if key in keys else next(iter(keys), "")


@require_safe
@in_kitchen(Act.READ)
def found(request: HttpRequest, visit: Visit, entry: UUID) -> HttpResponse:
    """Show what a check found, and what to do now."""
    check = check_of(visit, entry)
    decision = decided(visit.kitchen, check)
    context = {
        "check": check,
        "name": names_of(visit.kitchen).of("meters", check.payload["meter"]),
        "found": found_words(check, decision, visit),
        "acts": list(found_acts(check, decision, visit)),
        "replaced": replaced_by(check),
        "answers": answers_told(check, visit),
        "entry_id": uuid7(visit.now),
    }
    return render(request, "web/meters/found.html", context)


@require_safe
@in_kitchen(Act.READ)
def back(request: HttpRequest, visit: Visit, entry: UUID) -> HttpResponse:
    """Show which verdicts a check calls in question."""
    check = check_of(visit, entry)
    told = looked_back(visit.kitchen, check)
    doubted = told.doubted if told else ()
    doubtful = [each for each in doubted if is_doubtful(each)]
    pressing = [each for each in doubtful if each.relied.in_doubt or each.settled]
    context = {
        "check": check,
        "name": names_of(visit.kitchen).of("meters", check.payload["meter"]),
        "at": visit.reader.date(visit.now),
        "checked": visit.reader.date(check.at),
        "summary": summary(told, doubtful, visit) if told and doubted else [],
        "pressing": doubted_rows(pressing, visit),
        "lesser": doubted_rows([each for each in doubtful if each not in pressing], visit),
        "others": doubted_rows([each for each in doubted if not is_doubtful(each)], visit),
        "replaced": replaced_by(check),
        "may_settle": visit.may(act_of("relied")) and not replaced_by(check),
    }
    return render(request, "web/meters/back.html", context)


def summary(told: LookedBack, doubtful: Sequence[InDoubt], visit: Visit) -> list[str]:
    """Return how many verdicts rest on the meter, and how many of them may not stand."""
    begins, reader = told.since, visit.reader
    rests = rests_on(len(told.doubted), begins=begins, after_good=told.good is not None, reader=reader)
    return [rests, may_fall([each.relied for each in doubtful], reader)]


@in_kitchen(act_of("relied"))
def settle(request: HttpRequest, visit: Visit, entry: UUID, relied: UUID) -> HttpResponse:
    """Ask whether a verdict stands that rested on a meter found off, and write it down."""
    check = check_of(visit, entry)
    doubted, verdict = doubted_of(visit, check, relied)
    initial = {"verdict": verdict.pk, "check": check.pk}
    sent = request.POST if request.method == "POST" else None
    form = ReliedForm(sent, initial=initial, setup=setup_of(visit.kitchen), fryer=verdict.fryer)
    if request.method == "POST" and (recorded := written(request, visit, "relied", form)):
        say_written(request, visit, recorded.entry)
        return redirect("look-back", visit.kitchen.slug, check.pk)
    (row,) = doubted_rows([doubted], visit)
    context = {"check": check, "row": row, "form": form, "entry_id": uuid7(visit.now)}
    return render(request, "web/meters/settle.html", context)


def doubted_of(visit: Visit, check: Entry, verdict: UUID) -> tuple[InDoubt, Entry]:
    """Return a verdict that a check calls in question; raises Http404 where it does not, or no more."""
    told = None if replaced_by(check) else looked_back(visit.kitchen, check)
    for each in told.doubted if told else ():
        if each.verdict is not None and each.verdict.pk == verdict:
            return each, each.verdict
    raise Http404


def check_of(visit: Visit, entry: UUID) -> Entry:
    """Return a meter check of this kitchen; raises Http404 where there is none."""
    return or_404(entry_in(visit.kitchen, entry, kind="meter_check"))
