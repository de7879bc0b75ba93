"""What is written down of the people of a kitchen, and why: for them to read."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from kettlewell.records.access import Act, lasts
from kettlewell.records.models import Role, Seat
from kettlewell.records.retention import MONTHS, keeping_of
from kettlewell.records.roster import people_of
from kettlewell.records.settings import kitchen_name
from kettlewell.web.common import Visit, in_kitchen


@require_safe
@in_kitchen(Act.READ)
def notice(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Tell what is recorded of whoever works here, what for, how long, and whom to ask."""
    owners = [seat.person for seat in people_of(visit.kitchen) if is_owner_now(seat, visit)]
    context = {"owners": owners, "name": kitchen_name(visit.kitchen), **kept_months(visit)}
    return render(request, "web/account/notice.html", context)


def is_owner_now(seat: Seat, visit: Visit) -> bool:
    """Tell whether a seat is an owner's that has not ended."""
    return seat.role == Role.OWNER and lasts(seat, visit.now)


def kept_months(visit: Visit) -> dict[str, Any]:
    """Return after how many months each sort of thing is erased, and how long all of it is kept at least."""
    keeping = keeping_of(visit.kitchen)
    after = {name: keeping.erased_after_months(name) for name in MONTHS[1:]}
    told = {"records_months": keeping.least_months, **after}
    return {name: None if months is None else round(months) for name, months in told.items()}
