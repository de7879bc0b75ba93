"""Two meters side by side, and taking over what was found."""

from urllib.parse import urlencode

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kettlewell.bridge.meter_pictures import difference_plot
from kettlewell.bridge.meters import compared, comparison_payload, meters_standing
from kettlewell.bridge.setups import setup_of
from kettlewell.bridge.verdicts import record
from kettlewell.core.metering.pairs import LEAST_TO_ADOPT, SideBySide
from kettlewell.records.access import Act, act_of
from kettlewell.records.ids import uuid7
from kettlewell.records.models import Entry
from kettlewell.records.selectors import adopted_of
from kettlewell.telling.cautions import SAMPLE
from kettlewell.telling.meters import differs_by, pairs_missing, reads_as, why_not
from kettlewell.telling.worth import believed
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.lines import book_lines
from kettlewell.web.entry.names import Names, names_of
from kettlewell.web.entry.sent import told_of
from kettlewell.web.entry.writing import say_written
from kettlewell.web.meters.forms import CompareForm


@require_safe
@in_kitchen(Act.READ)
def compare(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show a meter beside another or the laboratory, in one oil."""
    setup = setup_of(visit.kitchen)
    form = CompareForm(request.GET, setup=setup)
    context: dict[str, object] = {
        "form": form,
        "none": not setup.kitchen.meters,
        "may_adopt": visit.may(act_of("comparison")),
        "least": LEAST_TO_ADOPT,
        "entry_id": uuid7(visit.now),
    }
    if not context["none"] and form.is_valid():
        side = compared(visit.kitchen, visit.now, **form.asked)
        context |= side_by_side(side, names_of(visit.kitchen), visit)
    return render(request, "web/meters/compare.html", context)


def side_by_side(side: SideBySide, names: Names, visit: Visit) -> dict[str, object]:
    """Return two instruments side by side, for the screen."""
    reader = visit.reader
    other = names.of("meters", side.against) if side.against else _("the laboratory")
    meter = names.of("meters", side.meter)
    rows = [
        (
            reader.date(pair.at),
            names.of("fryers", pair.fryer),
            *(reader.number(value) for value in (pair.other_pct, pair.meter_pct)),
            reader.number(round(pair.meter_pct - pair.other_pct, 2)),
        )
        for pair in side.pairs
    ]
    adopted = adopted_of(visit.kitchen, meter=side.meter, against=side.against, oil=side.oil)
    drawn = side.differences and difference_plot(side, side.differences, reader, title=f"{meter} · {other}")
    return {
        "side": side,
        "sample_caution": reader.say(SAMPLE),
        "meter": meter,
        "other": other,
        "rows": rows,
        "plot": drawn,
        "plot_words": differs_by(side.differences, reader) if side.differences else "",
        "line": reads_as(side, other, reader) if side.differences else "",
        "missing": pairs_missing(side, reader),
        "why_not": why_not(side, reader),
        "believed": believed_now(side, visit),
        "adopted": book_lines(adopted, names, visit),
    }


def believed_now(side: SideBySide, visit: Visit) -> str:
    """Return how the meter is believed to read the oil now; "" where no bath holds it."""
    report = meters_standing(visit.kitchen, visit.now).of(side.meter)
    worths = [worth for worth in report.oils if worth.oil.key == side.oil] if report else []
    return believed(worths[0], visit.reader) if worths else ""


@require_POST
@in_kitchen(act_of("comparison"))
def adopt(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Take over what a comparison found: from now on the meter is believed to read so."""
    form = CompareForm(request.POST, setup=setup_of(visit.kitchen))
    if entry := taken_over(request, visit, form):
        say_written(request, visit, entry)
    else:
        messages.error(request, _("Nothing was taken over. Look at the pairs again."))
    asked = {name: request.POST[name] for name in form.fields if name in request.POST}
    return redirect(f"{reverse('compare', args=(visit.kitchen.slug,))}?{urlencode(asked)}")


def taken_over(request: HttpRequest, visit: Visit, form: CompareForm) -> Entry | None:
    """Write a comparison down; None where it cannot be."""
    if not form.is_valid():
        return None
    side = compared(visit.kitchen, visit.now, **form.asked)
    try:
        payload = comparison_payload(side, visit.now)
    except ValueError:  # it may not be taken over, or no more
        return None
    try:
        told = told_of(request, visit, kind="comparison", payload=payload)
        return record(visit.kitchen, told, visit.hand).entry
    except ValidationError:
        return None
