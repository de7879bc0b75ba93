"""What was done with oil and food after a verdict to change, and the fresh fill with it."""

from dataclasses import replace
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from kettlewell.bridge.setups import setup_of
from kettlewell.bridge.verdicts import Recorded, RefusedPartError, record_together
from kettlewell.records.access import Act
from kettlewell.records.ids import uuid7
from kettlewell.records.models import Entry
from kettlewell.records.selectors import settled_by
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.asking import form_of
from kettlewell.web.entry.sent import entry_id, told_of
from kettlewell.web.entry.settling_forms import SettledForm
from kettlewell.web.entry.writing import go_on, say_written, written
from kettlewell.web.reading.cautions import act_cautions
from kettlewell.web.reading.told import verdict_at, verdict_shown


@in_kitchen(Act.RECORD)
def settle(request: HttpRequest, visit: Visit, entry: UUID) -> HttpResponse:
    """Ask what was done with the oil and the food after a verdict to change, and write it down."""
    verdict = verdict_at(visit, entry)
    if not verdict.asks:
        raise Http404
    form = form_on(verdict, request, visit)
    before = settled_by(verdict)
    if request.method == "POST" and before and str(before.pk) != request.POST.get("entry_id"):
        messages.info(request, _("Somebody said already what was done."))
        return redirect("entry", visit.kitchen.slug, before.pk)
    if request.method == "POST" and (recorded := settling_written(request, visit, form)):
        say_written(request, visit, recorded.entry)
        return go_on(visit, recorded) if form.refilled else after_settling(visit, recorded.entry)
    told = verdict_shown(verdict, visit)
    context = {"name": told.name, "verdict": verdict, "told": told, "before": before}
    return render(request, "web/reading/settle.html", {**context, **asked_on(verdict, visit, form)})


def form_on(verdict: Entry, request: HttpRequest, visit: Visit) -> SettledForm:
    """Return the form that asks what was done after a verdict, with what was sent."""
    sent = request.POST if request.method == "POST" else None
    form = form_of("settled", visit, verdict.fryer, sent=sent, initial={"verdict": verdict.pk})
    assert isinstance(form, SettledForm)  # noqa: S101 - tells mypy
    return form


def asked_on(verdict: Entry, visit: Visit, form: SettledForm) -> dict[str, Any]:
    """Return what a page shows that asks what was done after a verdict."""
    cautions = act_cautions(setup_of(visit.kitchen), verdict.fryer, "change", visit.reader)
    ids = {"entry_id": uuid7(visit.now), "fill_id": uuid7(visit.now)}
    return {"form": form, "cautions": cautions, **ids}


def settling_written(request: HttpRequest, visit: Visit, form: SettledForm) -> Recorded | None:
    """Write down what was done, and the fresh fill with it if it is told; None where it cannot be."""
    if not form.is_valid() or not form.refilled:
        return written(request, visit, "settled", form)
    try:
        told = told_of(request, visit, kind="settled", payload=form.payload(), note=form.note, at=form.at)
        fill = told_of(request, visit, kind="change", payload=form.fill(), at=form.at)
        fill = replace(fill, id=entry_id(request, visit.now, "fill_id"))
        return record_together(visit.kitchen, [told, fill], visit.hand)
    except ValidationError as error:
        form.refuse(error)
    except RefusedPartError as refused:
        form.refuse(refused.error)
    return None


def after_settling(visit: Visit, entry: Entry) -> HttpResponse:
    """Lead to what has to be written next: a bath that was emptied is filled again."""
    follows = {"drained": "change", "stored": "store"}.get(entry.payload["oil_done"])
    slug = visit.kitchen.slug
    return redirect("act", slug, entry.fryer, follows) if follows else redirect("fryer", slug, entry.fryer)
