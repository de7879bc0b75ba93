"""The tablets a kitchen shares: this one made known, any retired; and what a PIN on one is not enough for."""

from collections.abc import Callable
from typing import Concatenate, ParamSpec
from uuid import UUID

from django import forms
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from kettlewell.records.access import Act
from kettlewell.records.access_log import Event
from kettlewell.records.models import Device
from kettlewell.records.people import device_add, device_retire
from kettlewell.records.roster import tablet_with
from kettlewell.web.account.logged import tell_of
from kettlewell.web.common import DEVICE_COOKIE, Screen, Visit, in_kitchen, or_404

P = ParamSpec("P")
TABLET = "tablet"
BY_PIN = "by_pin"
IDLE_S = 15 * 60
COOKIE_AGE_S = 400 * 24 * 3600  # browsers keep none longer


class TabletForm(forms.Form):
    """What the kitchen calls the tablet."""

    tablet_name = forms.CharField(max_length=60, label=gettext_lazy("What do you call this tablet?"))


def tablet_of(request: HttpRequest) -> Device | None:
    """Return the shared tablet this is, of whichever kitchen."""
    key = request.get_signed_cookie(DEVICE_COOKIE, default="", salt=DEVICE_COOKIE)
    return tablet_with(key) if key else None


def session_bind(request: HttpRequest, *, by_pin: bool) -> None:
    """Make a new session on a shared tablet a short one; elsewhere it stays as it is."""
    device = tablet_of(request)
    if device is not None:
        request.session[TABLET] = str(device.pk)
        request.session[BY_PIN] = by_pin
        request.session.set_expiry(IDLE_S)


def password_needed(request: HttpRequest) -> None:
    """Raise PermissionDenied for who signed in with a PIN."""
    if request.session.get(BY_PIN):
        raise PermissionDenied(_("A PIN is not enough for this. Sign out, then sign in with your password."))


def people_screen(view: Screen[P]) -> Callable[Concatenate[HttpRequest, str, P], HttpResponse]:
    """Let a view in for who looks after the people here and signed in with the password, not a PIN."""

    def by_password(request: HttpRequest, visit: Visit, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        password_needed(request)
        return view(request, visit, *args, **kwargs)

    return in_kitchen(Act.PEOPLE)(by_password)


@require_POST
@people_screen
def tablet(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Make this device a tablet of the kitchen, and sign out: from now on people sign by PIN."""
    form = TabletForm(request.POST)
    try:
        name = form.cleaned_data["tablet_name"] if form.is_valid() else None
        device = device_add(visit.kitchen, name, hand=visit.hand) if name else None
    except ValidationError:
        device = None
    if device is None:
        messages.error(request, _("Give the tablet a name of at most 60 letters."))
        return redirect("people", visit.kitchen.slug)
    tell_tablet(request, visit, Event.TABLET_ADDED, device)
    logout(request)
    response = redirect("sign")
    response.set_signed_cookie(
        DEVICE_COOKIE,
        str(device.pk),
        salt=DEVICE_COOKIE,
        max_age=COOKIE_AGE_S,
        secure=settings.HTTPS,
        httponly=True,
        samesite="Lax",
    )
    return response


@require_POST
@people_screen
def tablet_retire(request: HttpRequest, visit: Visit, device: UUID) -> HttpResponse:
    """Retire a tablet: nobody signs on it any more, and who is signed in there is signed out."""
    found = or_404(tablet_with(str(device)))
    if found.kitchen != visit.kitchen:
        raise Http404
    device_retire(found, hand=visit.hand)
    tell_tablet(request, visit, Event.TABLET_RETIRED, found)
    messages.success(request, _("“%(name)s” is no longer a tablet of this kitchen.") % {"name": found.name})
    return redirect("people", visit.kitchen.slug)


def tell_tablet(request: HttpRequest, visit: Visit, event: Event, device: Device) -> None:
    """Tell the log what happened to a tablet."""
    tell_of(request, event, visit.place.person, kitchen=visit.kitchen.slug, tablet=device.pk)
