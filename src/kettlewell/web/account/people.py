"""The people of a kitchen: who they are, what they may do, until when."""

from collections.abc import Callable
from typing import TypeVar
from uuid import UUID

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kettlewell.bridge.people import Renewal, person_admit, seat_change
from kettlewell.records.access import lasts
from kettlewell.records.access_log import Event
from kettlewell.records.models import Seat
from kettlewell.records.people import person_erase, seat_remove
from kettlewell.records.roster import people_of, seat_in, tablets_of
from kettlewell.records.selectors import trainings_of
from kettlewell.records.signing import may_renew
from kettlewell.web.account.logged import tell_of
from kettlewell.web.account.own import known_by_password
from kettlewell.web.account.people_forms import NewPersonForm, PersonForm, SeatForm
from kettlewell.web.account.tablets import TabletForm, people_screen
from kettlewell.web.account.training import trained_of
from kettlewell.web.common import Visit, or_404
from kettlewell.web.refusals import refuse

T = TypeVar("T")


@require_safe
@people_screen
def people(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show everyone with a seat, and the kitchen's tablets."""
    context = {
        "seats": [
            {
                "seat": seat,
                "last_day": visit.reader.written_day(seat.ends_on) if seat.ends_on else "",
                "ended": not lasts(seat, visit.now),
            }
            for seat in people_of(visit.kitchen)
        ],
        "tablets": tablets_of(visit.kitchen),
        "tablet_form": TabletForm(),
    }
    return render(request, "web/account/people.html", context)


@people_screen
def person_new(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Give someone a seat, with a new account or the one from another kitchen of one's own."""
    form = NewPersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        added = saved(
            form, lambda: person_admit(visit.kitchen, form.newcomer(), form.terms(), hand=visit.hand)
        )
        if added:
            tell_seat(request, visit, Event.ACCESS_CHANGED, added.pk, role=form.terms().role)
            messages.success(request, _("%(name)s can sign in now.") % {"name": added})
            return redirect("people", visit.kitchen.slug)
    return render(request, "web/account/person.html", {"form": form})


@people_screen
def person(request: HttpRequest, visit: Visit, person: UUID) -> HttpResponse:
    """Change what someone is here; where allowed, name, password and PIN too."""
    seat = seat_or_404(visit, person)
    renew = may_renew(visit.place.person, seat.person, visit.now)
    form = (PersonForm if renew else SeatForm)(request.POST or None, initial=present(seat))
    asked = request.method == "POST" and form.is_valid() and is_known_to_ask(request, form)
    if asked and saved(form, lambda: change(form, seat, visit)) is not None:
        tell_changed(request, visit, form, person)
        if seat.person == request.user:
            update_session_auth_hash(request, seat_or_404(visit, person).person)
        messages.success(request, _("Saved."))
        return redirect("people", visit.kitchen.slug)
    trained = trained_of(trainings_of(visit.kitchen, person), visit)
    context = {"form": form, "seat": seat, "renew": renew, "trainings": trained}
    return render(request, "web/account/person.html", context)


@require_POST
@people_screen
def person_remove(request: HttpRequest, visit: Visit, person: UUID) -> HttpResponse:
    """Take a seat away, and where ticked erase the name from this day book for good."""
    seat = seat_or_404(visit, person)
    remove = person_erase if request.POST.get("erase") == "yes" else seat_remove
    try:
        remove(visit.kitchen, seat.person, hand=visit.hand)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("person", visit.kitchen.slug, person)
    tell_seat(request, visit, Event.ACCESS_REMOVED, person)
    messages.success(request, _("This person can no longer enter this kitchen."))
    if seat.person == request.user:
        return redirect("kitchens")
    return redirect("people", visit.kitchen.slug)


def is_known_to_ask(request: HttpRequest, form: SeatForm) -> bool:
    """Tell whether who gives a new password or PIN gave the own one; the form says it where not."""
    said = form.cleaned_data
    if not isinstance(form, PersonForm) or not (said["password"] or said["pin"]):
        return True
    if said["present"] and known_by_password(request, said["present"]):
        return True
    form.add_error("present", _("This is not your password."))
    return False


def change(form: SeatForm, seat: Seat, visit: Visit) -> Seat:
    """Return the changed seat; raises ValidationError by field."""
    terms, renewal = form.terms(), renewal_of(form)
    return seat_change(visit.kitchen, seat.person, terms, hand=visit.hand, renewal=renewal)


def tell_changed(request: HttpRequest, visit: Visit, form: SeatForm, person: UUID) -> None:
    """Tell the log what somebody is now, and what is new of the secrets."""
    tell_seat(request, visit, Event.ACCESS_CHANGED, person, role=form.terms().role)
    renewal = renewal_of(form)
    if renewal and renewal.what:
        tell_seat(request, visit, Event.RENEWED, person, what=renewal.what)


def tell_seat(request: HttpRequest, visit: Visit, event: Event, person: UUID, **more: object) -> None:
    """Tell the log what happened to somebody's access in this kitchen."""
    tell_of(request, event, visit.place.person, kitchen=visit.kitchen.slug, of=person, **more)


def renewal_of(form: SeatForm) -> Renewal | None:
    """Return how somebody is to be called and to sign in; None where that is not asked."""
    said = form.cleaned_data
    if not isinstance(form, PersonForm):
        return None
    return Renewal(name=said["name"], password=said["password"], pin=said["pin"])


def saved(form: SeatForm, save: Callable[[], T]) -> T | None:
    """Return what was saved; None where the form now says what is wrong."""
    try:
        return save()
    except ValidationError as error:
        refuse(form, error)
        return None


def present(seat: Seat) -> dict[str, object]:
    """Return what the form shows first."""
    return {
        "name": seat.person.name,
        "role": seat.role,
        "ends_on": seat.ends_on,
        "trained_to_drain": seat.trained_to_drain,
    }


def seat_or_404(visit: Visit, person: UUID) -> Seat:
    """Return someone's seat in this kitchen; raises Http404 where there is none."""
    return or_404(seat_in(visit.kitchen, person))
