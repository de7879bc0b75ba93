"""The page that asks for an inspector's book, and the book."""

from collections.abc import Callable, Iterator, Mapping

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from kettlewell.pages.blocks import Block, Sheet
from kettlewell.records.access import Act
from kettlewell.records.settings import kitchen_name
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.paper import as_pdf, in_its_language, sheet_of
from kettlewell.web.inspection import findings, place
from kettlewell.web.inspection.disposal import disposal
from kettlewell.web.inspection.forms import InspectionForm, MonthForm
from kettlewell.web.inspection.front import chain, first_page
from kettlewell.web.inspection.gathered import Gathered
from kettlewell.web.inspection.month import last_of, month_sheet
from kettlewell.web.inspection.printing import blank_sheet, label_sheet, labels_of
from kettlewell.web.inspection.training import training_sheet

PARTS: Mapping[str, Callable[[Gathered], Iterator[Block]]] = {
    "kitchen": place.kitchen,
    "procedure": place.procedure,
    "people": place.people,
    "readings": findings.readings,
    "deviations": findings.deviations,
    "changes": findings.changes,
    "meters": place.meters,
    "old_oil": disposal,
    "corrections": findings.corrections,
}


@require_safe
@in_kitchen(Act.READ)
def inspection(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Ask for a period and parts."""
    return asked(request, visit)


@require_safe
@in_kitchen(Act.READ)
def inspection_book(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Give the book as a PDF; where what is asked cannot be, ask again."""
    form = InspectionForm(request.GET, today=visit.reader.today)
    if not form.is_valid():
        return asked(request, visit, form=form)
    since, until = form.cleaned_data["since"], form.cleaned_data["until"]
    with in_its_language(visit) as told:
        gathered = Gathered(visit=told, since=since, until=until)
        return as_pdf(book_of(gathered, form.cleaned_data["parts"]), f"{since}-{until}", told)


@require_safe
@in_kitchen(Act.READ)
def inspection_month(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Give the month sheet of a fryer, or of all, as a PDF."""
    form = MonthForm(request.GET, names=names_of(visit.kitchen), reader=visit.reader)
    if not form.is_valid():
        return asked(request, visit, months=form)
    with in_its_language(visit) as told:
        gathered = Gathered(visit=told, since=form.first_day, until=last_of(form.first_day))
        keys = [form.cleaned_data["fryer"]] if form.cleaned_data["fryer"] else fryers_in(gathered)
        blocks = [block for key in keys for block in month_sheet(gathered, key)]
        sheet = sheet_of(told, _("Month sheet"), blocks, landscape=True)
        return as_pdf(sheet, f"{gathered.since:%Y-%m}", told)


@require_safe
@in_kitchen(Act.READ)
def blank(_request: HttpRequest, visit: Visit) -> HttpResponse:
    """Give a sheet to write on by hand."""
    with in_its_language(visit) as told:
        sheet = sheet_of(told, _("Written by hand"), list(blank_sheet()), landscape=True)
        return as_pdf(sheet, "blank", told)


@require_safe
@in_kitchen(Act.READ)
def teaching(_request: HttpRequest, visit: Visit) -> HttpResponse:
    """Give the sheet to teach from."""
    with in_its_language(visit) as told:
        sheet = sheet_of(told, _("Training sheet"), list(training_sheet(told.reader)))
        return as_pdf(sheet, "training", told)


@require_safe
@in_kitchen(Act.READ)
def labels(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Give labels for fryers and meters; say why there are none where phones cannot reach the server."""
    with in_its_language(visit) as told:
        if found := labels_of(request, told):
            return as_pdf(sheet_of(told, _("Labels"), list(label_sheet(found))), "labels", told)
    messages.error(request, _("No address is known here that phones could reach this server at."))
    return redirect("inspection", visit.kitchen.slug)


def asked(
    request: HttpRequest,
    visit: Visit,
    *,
    form: InspectionForm | None = None,
    months: MonthForm | None = None,
) -> HttpResponse:
    """Show what may be asked for, and what was wrong with what was."""
    context = {
        "form": form or InspectionForm(None, today=visit.reader.today),
        "months": months or MonthForm(None, names=names_of(visit.kitchen), reader=visit.reader),
    }
    return render(request, "web/inspection/asked.html", context, status=422 if form or months else 200)


def book_of(gathered: Gathered, parts: list[str]) -> Sheet:
    """Return a book of these parts, its first page and the page on its check code."""
    front = first_page(gathered, kitchen_name(gathered.visit.kitchen))
    told = [block for key in PARTS if key in parts for block in PARTS[key](gathered)]
    blocks = [*front, *told, *chain(gathered)]
    return sheet_of(gathered.visit, _("Records of frying oil"), blocks, contents=_("In this book"))


def fryers_in(gathered: Gathered) -> list[str]:
    """Return the fryers of the kitchen, and those something was written of."""
    there = {key for key, _name in gathered.names.fryers()}
    return sorted(there & {entry.fryer for entry in gathered.entries}) or sorted(there)
