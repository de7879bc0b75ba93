"""The day book: its pages, one entry, its correction and its undoing."""

from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import Any
from urllib.parse import urlencode
from uuid import UUID
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from kettlewell.book.kinds import CORRECTABLE
from kettlewell.bridge.reviews import open_reviews
from kettlewell.bridge.standing import standing
from kettlewell.bridge.verdicts import record
from kettlewell.records.access import Act, act_of
from kettlewell.records.ids import uuid7
from kettlewell.records.models import Entry
from kettlewell.records.retention import keeping_of, words_erase
from kettlewell.records.selectors import entries_of, entry_in, has_photo, has_words, is_erased, reviews_of
from kettlewell.web.account.tablets import people_screen
from kettlewell.web.book.details import details_of, settings_of_its_day, verdict_details
from kettlewell.web.book.forms import FilterForm, ReasonForm
from kettlewell.web.common import Visit, in_kitchen, or_404
from kettlewell.web.entry.asking import FORMS, form_of
from kettlewell.web.entry.codes import beginning
from kettlewell.web.entry.forms import OnScreen
from kettlewell.web.entry.lines import BookLine, book_lines, days_of, replaced_by
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.sent import told_of
from kettlewell.web.entry.sentences import typed
from kettlewell.web.refusals import refuse

A_PAGE = 50


@require_safe
@in_kitchen(Act.READ)
def book(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show the entries of a kitchen, the newest first."""
    names = names_of(visit.kitchen)
    form = FilterForm(request.GET, names=names)
    pages = Paginator(entries_of(visit.kitchen, **between(form.asked, visit.reader.zone)), A_PAGE)
    page = pages.get_page(request.GET.get("page"))
    lines = book_lines(page.object_list, names, visit)
    context = {
        "form": form,
        "page": page,
        "days": days_of(lines, visit.reader),
        "asked": urlencode(form.asked),
        "asked_words": form.in_words(visit.reader),
        "at": visit.reader.date(visit.now),
        "head_seq": visit.kitchen.head_seq,
        "head": beginning(visit.kitchen.head_hash),
    }
    return render(request, "web/book/book.html", context)


def between(asked: dict[str, Any], zone: ZoneInfo) -> dict[str, Any]:
    """Return what is asked for with the times at which its days begin and end."""
    times: dict[str, Any] = {
        name: datetime.combine(asked[name], time(), zone) for name in ("since", "until") if name in asked
    }
    if "until" in times:
        times["until"] += timedelta(days=1)
    return {**asked, **times}


@require_safe
@in_kitchen(Act.READ)
def entry(request: HttpRequest, visit: Visit, entry: UUID) -> HttpResponse:
    """Show everything about one entry."""
    found, line = found_line(visit, entry)
    return render(request, "web/book/entry.html", entry_context(visit, found, line))


@in_kitchen(Act.RECORD)
def correct(request: HttpRequest, visit: Visit, entry: UUID) -> HttpResponse:
    """Ask for the right values, and write the entry that replaces this one."""
    found, line = found_line(visit, entry)
    if found.kind not in FORMS or not may_change(visit, found):
        raise PermissionDenied
    if replaced_by(found):
        return changed_before(request, visit, found)
    form, why = correction_form(request, visit, line), ReasonForm(request.POST or None)
    if request.method == "POST" and form.is_valid() and why.is_valid():
        try:
            told = told_of(
                request,
                visit,
                kind=found.kind,
                payload=form.payload(),
                note=form.note,
                replaces=found.pk,
                reason=why.cleaned_data["reason"],
                at=corrected_time(form.at, line.entry.at),
            )
            recorded = record(visit.kitchen, replace(told, sure=form.is_sure), visit.hand)
        except ValidationError as error:
            form.refuse(error)
        else:
            messages.success(request, _("The correction is in the day book."))
            return redirect("entry", visit.kitchen.slug, recorded.entry.pk)
    context = {"line": line, "form": form, "why": why, "entry_id": uuid7(visit.now)}
    return render(request, "web/book/correct.html", context)


def correction_form(request: HttpRequest, visit: Visit, line: BookLine) -> OnScreen:
    """Return the form of an entry's act, with its old values filled in."""
    entry = line.entry
    was = {**typed(entry.payload, visit.reader), "note": line.note, "at": entry.at}
    return form_of(entry.kind, visit, entry.fryer, sent=request.POST or None, initial=was)


def corrected_time(given: datetime | None, was: datetime) -> datetime:
    """Return when it happened: a form knows no seconds, so that the same minute is the same time."""
    return was if given is None or given == was.replace(second=0, microsecond=0) else given


@in_kitchen(Act.RECORD)
def undo(request: HttpRequest, visit: Visit, entry: UUID) -> HttpResponse:
    """Ask why an entry is undone, and write down that it did not happen."""
    found, line = found_line(visit, entry)
    if not may_change(visit, found):
        raise PermissionDenied
    if replaced_by(found):
        return changed_before(request, visit, found)
    form = ReasonForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        reason = form.cleaned_data["reason"]
        try:
            told = told_of(request, visit, kind="undone", payload={}, replaces=found.pk, reason=reason)
            record(visit.kitchen, told, visit.hand)
        except ValidationError as error:
            refuse(form, error)
        else:
            messages.success(request, _("The entry is undone."))
            return redirect("entry", visit.kitchen.slug, found.pk)
    context = {"line": line, "form": form, "entry_id": uuid7(visit.now)}
    return render(request, "web/book/undo.html", context)


@people_screen
def erase(request: HttpRequest, visit: Visit, entry: UUID) -> HttpResponse:
    """Ask first, then erase what was written and photographed with an entry."""
    found, line = found_line(visit, entry)
    if not has_words(found):
        return redirect("entry", visit.kitchen.slug, found.pk)
    if request.method == "POST":
        words_erase(found, hand=visit.hand)
        messages.success(request, _("It is erased."))
        return redirect("entry", visit.kitchen.slug, found.pk)
    months = round(keeping_of(visit.kitchen).least_months)
    return render(request, "web/book/erase.html", {"line": line, "months": months})


def may_change(visit: Visit, entry: Entry) -> bool:
    """Tell whether this person may correct or undo an entry of its kind."""
    return entry.kind in CORRECTABLE and visit.may(act_of(entry.kind))


def may_look_over(visit: Visit, entry: Entry) -> bool:
    """Tell whether this person may look over an act that somebody else wrote, and nobody has yet."""
    own = entry.person_id == visit.place.person.pk
    return visit.may(Act.SET_UP) and not own and entry in open_reviews(visit.kitchen, visit.now)


def changed_before(request: HttpRequest, visit: Visit, entry: Entry) -> HttpResponse:
    """Show an entry that was corrected before, perhaps by this very form, sent twice."""
    messages.info(request, _("This entry was corrected before."))
    return redirect("entry", visit.kitchen.slug, entry.pk)


def found_line(visit: Visit, entry: UUID) -> tuple[Entry, BookLine]:
    """Return an entry of this kitchen with its line; raises Http404."""
    found = or_404(entry_in(visit.kitchen, entry))
    return found, book_lines([found], names_of(visit.kitchen), visit)[0]


def entry_context(visit: Visit, entry: Entry, line: BookLine) -> dict[str, object]:
    """Return what the page of one entry shows."""
    open_to_change = may_change(visit, entry) and not line.corrected
    names = names_of(visit.kitchen)
    told = [answer.entry for answer in line.answers]
    verdict = entry if entry.kind == "verdict" else told[0] if len(told) == 1 else None
    return {
        "line": line,
        "day": days_of([line], visit.reader)[0][0],
        "received": visit.reader.date(entry.received_at),
        "corrected_since": replaced_by(entry.about) if entry.kind == "verdict" and entry.about else None,
        "details": details_of(entry, names, visit.reader),
        "verdict": verdict_details(verdict, visit.reader) if verdict else None,
        "recomputing": bool(verdict) and standing(visit.kitchen, visit.now).recomputing,
        "settings": settings_of_its_day(verdict, visit.reader) if verdict else [],
        "erased": is_erased(entry),
        "can_correct": open_to_change and entry.kind in FORMS,
        "can_undo": open_to_change,
        "can_erase": visit.may(Act.PEOPLE) and has_words(entry),
        "can_look_over": may_look_over(visit, entry),
        "receipt": has_photo(entry),
        "looked_over": book_lines(reviews_of(entry), names, visit),
    }
