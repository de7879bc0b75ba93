"""The wall card: a page to be printed, of all fryers or of one."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from kettlewell.bridge.cards import card_answers
from kettlewell.bridge.meters import meters_checked
from kettlewell.bridge.standing import Standing, standing
from kettlewell.records.access import Act
from kettlewell.telling.cards import Sheet, sheets_of
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.codes import noted
from kettlewell.web.entry.paper import as_pdf, in_its_language, sheet_of
from kettlewell.web.line.pocket import pocket_of
from kettlewell.web.line.views import assessment_of

LARGE_UP_TO, MIDDLE_UP_TO = 9, 18


@require_safe
@in_kitchen(Act.READ)
def card(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show the card of every fryer, a sheet for each service until the next day's first."""
    stands = standing(visit.kitchen, visit.now)
    if not stands.assessments:
        return redirect("line", visit.kitchen.slug)
    return shown(request, visit, stands)


@require_safe
@in_kitchen(Act.READ)
def fryer_card(request: HttpRequest, visit: Visit, fryer: str) -> HttpResponse:
    """Show the card of one fryer."""
    stands = standing(visit.kitchen, visit.now)
    if assessment_of(stands, fryer) is None:
        return redirect("fryer", visit.kitchen.slug, fryer)
    return shown(request, visit, stands, fryer)


@require_safe
@in_kitchen(Act.READ)
def pocket_card(_request: HttpRequest, visit: Visit, fryer: str = "") -> HttpResponse:
    """Give the card of every fryer, or of one, in a size for a pocket, as a PDF."""
    stands = standing(visit.kitchen, visit.now)
    if not stands.assessments:
        return redirect("line", visit.kitchen.slug)
    if fryer and assessment_of(stands, fryer) is None:
        return redirect("fryer", visit.kitchen.slug, fryer)
    with in_its_language(visit) as told:
        cards = pocket_of(sheets_for(told, stands, fryer), noted(visit.kitchen))
        return as_pdf(sheet_of(told, _("Wall card for a pocket"), [cards]), "pocket", told)


def sheets_for(visit: Visit, stands: Standing, fryer: str) -> list[Sheet]:
    """Return the sheets of a card as the reader is told them, of every fryer or of one."""
    answers = card_answers(visit.kitchen, stands, of=(fryer,) if fryer else None)
    report = meters_checked(visit.kitchen, visit.now).in_use
    return sheets_of(answers, stands.setup.kitchen, report, visit.reader)


def shown(request: HttpRequest, visit: Visit, stands: Standing, fryer: str = "") -> HttpResponse:
    """Show the sheets of a card, the letters as large as a page has room for."""
    with in_its_language(visit) as told:
        printed = {
            "printed_in": get_language(),
            "noted": noted(visit.kitchen),
            "sheets": [(sheet, letters(sheet)) for sheet in sheets_for(told, stands, fryer)],
        }
    context = {
        **printed,
        "standing": stands,
        "fryer": fryer,
        "fryers": stands.setup.kitchen.fryers,
    }
    return render(request, "web/line/card.html", context)


def letters(sheet: Sheet) -> str:
    """Return how large the letters of a sheet are, by how many lines it has: counted on A4 pages."""
    lines = sum(1 + len(bath.rows) for bath in sheet.baths)
    if lines <= LARGE_UP_TO:
        return "large"
    return "middle" if lines <= MIDDLE_UP_TO else "small"
