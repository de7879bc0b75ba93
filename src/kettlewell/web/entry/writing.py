"""Writing down what a form says, and going on from there."""

from dataclasses import replace

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponseRedirect
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _

from kettlewell.book.kinds import CORRECTABLE
from kettlewell.bridge.verdicts import Recorded, record
from kettlewell.records.models import Entry
from kettlewell.telling import N_
from kettlewell.web.common import Visit
from kettlewell.web.entry.forms import OnScreen
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.sent import told_of
from kettlewell.web.entry.sentences import doubts, sentence

COUNTS_LESS = N_("It counts for less.")


def written(request: HttpRequest, visit: Visit, kind: str, form: OnScreen) -> Recorded | None:
    """Write down what a form says; None where it cannot be, and the form then says why."""
    if not form.is_valid():
        return None
    try:
        told = told_of(
            request, visit, kind=kind, payload=form.payload(), note=form.note, at=form.at, photo=form.photo
        )
        return record(visit.kitchen, replace(told, sure=form.is_sure), visit.hand)
    except ValidationError as error:
        form.refuse(error)
        return None


def say_written(request: HttpRequest, visit: Visit, entry: Entry) -> None:
    """Say on the next page what was written down, and where it can be undone, if it can."""
    said = sentence(entry.kind, entry.payload, names_of(visit.kitchen), visit.reader)
    if why := doubts(entry.kind, entry.payload, visit.reader):
        said = " ".join([said, visit.reader.say(COUNTS_LESS), *why])
    if entry.kind not in CORRECTABLE:
        messages.success(request, said)
        return
    url = reverse("undo", args=(visit.kitchen.slug, entry.pk))
    messages.success(request, format_html('{} <a class="button" href="{}">{}</a>', said, url, _("Undo")))


def go_on(visit: Visit, recorded: Recorded) -> HttpResponseRedirect:
    """Lead to the verdict that was told, after something told late to more of it; else to fryer or line."""
    slug = visit.kitchen.slug
    if recorded.late:
        return redirect("late", slug)
    if recorded.verdict:
        return redirect("told", slug, recorded.verdict.pk)
    if recorded.assessment:
        return redirect("fryer", slug, recorded.entry.fryer)
    return redirect("line", slug)
