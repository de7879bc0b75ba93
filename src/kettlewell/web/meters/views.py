"""The meters of a kitchen, and taking one out of use or putting it back."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kettlewell.bridge.meters import meters_standing
from kettlewell.bridge.setups import setup_of
from kettlewell.records.access import Act, act_of
from kettlewell.records.ids import uuid7
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.meter_forms import MeterOrderForm
from kettlewell.web.entry.writing import say_written, written
from kettlewell.web.meters.shown import meter_shown


@require_safe
@in_kitchen(Act.READ)
def meters(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show every meter: what its last check said, when to check it next, what its readings are worth."""
    standing = meters_standing(visit.kitchen, visit.now)
    kitchen = standing.setup.kitchen
    context = {
        "meters": [meter_shown(report, standing.setup, visit) for report in standing.reports],
        "problem": visit.reader.tell(standing.problem) if standing.problem else "",
        "none": not kitchen.meters,
        "no_bottle": not kitchen.reference_lots,
        "may_order": visit.may(act_of("meter_order")),
        "entry_id": uuid7(visit.now),
    }
    return render(request, "web/meters/meters.html", context)


@require_POST
@in_kitchen(act_of("meter_order"))
def order(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Take a meter out of use, or put it back."""
    form = MeterOrderForm(request.POST, setup=setup_of(visit.kitchen), fryer="")
    if recorded := written(request, visit, "meter_order", form):
        say_written(request, visit, recorded.entry)
    else:
        messages.error(request, _("Nothing was stored. Open the page anew and try again."))
    return redirect("meters", visit.kitchen.slug)
