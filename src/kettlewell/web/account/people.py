"""The people of a kitchen: who they are, what they may do, until when."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kettlewell.records.access import MAY, Act, lasts, seats_of
from kettlewell.records.models import Device, Person, Role, Seat
from kettlewell.records.people import (
    password_set,
    person_add,
    person_erase,
    pin_set,
    seat_remove,
    seat_set,
    signed_as,
)
from kettlewell.records.selectors import people_of
from kettlewell.records.settings import day_in
from kettlewell.records.signing import may_renew
from kettlewell.web.account.people_forms import NewPersonForm, PersonForm, SeatForm
from kettlewell.web.account.tablets import TabletForm, people_screen
from kettlewell.web.common import Visit


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
        "tablets": Device.objects.filter(kitchen=visit.kitchen, retired_at=None).order_by("name"),
        "tablet_form": TabletForm(),
    }
    return render(request, "web/account/people.html", context)


@people_screen
def person_new(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Give someone a seat, with a new account or the one from another kitchen of one's own."""
    form = NewPersonForm(request.POST or None, today=day_in(visit.kitchen, visit.now))
    if request.method == "POST" and form.is_valid():
        added = saved(form, lambda: person_admit(form, visit))
        if added:
            messages.success(request, _("%(name)s can sign in now.") % {"name": added})
            return redirect("people", visit.kitchen.slug)
    return render(request, "web/account/person.html", {"form": form})


@people_screen
def person(request: HttpRequest, visit: Visit, person: UUID) -> HttpResponse:
    """Change what someone is here; where allowed, name, password and PIN too."""
    seat = seat_or_404(visit, person)
    renew = may_renew(visit.place.person, seat.person, visit.now)
    form = (PersonForm if renew else SeatForm)(
        request.POST or None, initial=present(seat), today=day_in(visit.kitchen, visit.now)
    )
    if request.method == "POST" and form.is_valid() and saved(form, lambda: seat_change(form, seat, visit)):
        if seat.person == request.user:
            update_session_auth_hash(request, seat.person)
        messages.success(request, _("Saved."))
        return redirect("people", visit.kitchen.slug)
    return render(request, "web/account/person.html", {"form": form, "seat": seat, "renew": renew})


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
    messages.success(request, _("This person can no longer enter this kitchen."))
    if seat.person == request.user:
        return redirect("kitchens")
    return redirect("people", visit.kitchen.slug)


def person_admit(form: NewPersonForm, visit: Visit) -> Person:
    """Return who has a seat now; raises ValidationError by field."""
    said = form.cleaned_data
    sign_in = signed_as(said["sign_in"])
    if said["has_account"]:
        admitted = known_to(visit, sign_in)
    elif Person.objects.filter(sign_in=sign_in).exists():
        raise ValidationError({"sign_in": _("This sign-in name is taken: choose another.")})
    else:
        admitted = person_add(
            sign_in=sign_in, name=said["name"], password=said["password"] or None, pin=said["pin"] or None
        )
    seat_set(visit.kitchen, admitted, form.terms(), hand=visit.hand)
    return admitted


def known_to(visit: Visit, sign_in: str) -> Person:
    """Return who signs in so in another kitchen whose people the visitor looks after.

    Raises ValidationError by field. An account elsewhere is answered as none at all is.
    """
    seats = seats_of(visit.place.person, visit.now)
    own = [seat.kitchen_id for seat in seats if Act.PEOPLE in MAY[Role(seat.role)]]
    known = Person.objects.filter(sign_in=sign_in, is_active=True, seats__kitchen__in=own).first()
    if known is None:
        raise ValidationError({"sign_in": _("Nobody in your own kitchens signs in with this name.")})
    if Seat.objects.filter(kitchen=visit.kitchen, person=known).exists():
        raise ValidationError({"sign_in": _("This person works here already.")})
    return known


def seat_change(form: SeatForm, seat: Seat, visit: Visit) -> Seat:
    """Return the changed seat; raises ValidationError by field."""
    terms, said, renewed = form.terms(), form.cleaned_data, seat.person
    if isinstance(form, PersonForm):
        renewed.name = said["name"]
        if said["password"]:
            password_set(renewed, said["password"])
        if said["pin"]:
            pin_set(renewed, said["pin"])
        renewed.save()
    return seat_set(visit.kitchen, renewed, terms, hand=visit.hand)


def saved(form: SeatForm, save: Callable[[], Any]) -> Any:  # noqa: ANN401
    """Return what was saved, whole or not at all; None where the form now says what is wrong."""
    try:
        with transaction.atomic():
            return save()
    except ValidationError as error:
        form.add_error(None, error)
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
    return get_object_or_404(Seat.objects.select_related("person"), kitchen=visit.kitchen, person=person)
