"""The code at one's own sign-in: everyone who signs in with a password turns it on and off."""

from django import forms
from django.contrib import messages
from django.contrib.auth import authenticate
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from kettlewell import clock
from kettlewell.bridge.people import code_turn_off, code_turn_on
from kettlewell.marks.qr import qr
from kettlewell.records.access_log import Event
from kettlewell.records.ledger import Hand
from kettlewell.records.lettered import in_fours
from kettlewell.records.models import Person
from kettlewell.records.second_factor import (
    WrongCodeError,
    address_of,
    has_factor,
    recovery_left,
    secret_new,
)
from kettlewell.web.account.fields import CodeField, PasswordField
from kettlewell.web.account.logged import tell_of
from kettlewell.web.account.own import known_by_password
from kettlewell.web.account.tablets import password_needed, tablet_of
from kettlewell.web.refusals import refuse

SHARED = "shared"  # the secret that an app is to take over, while that is not confirmed


class TurnForm(forms.Form):
    """The present password, and a code."""

    present = PasswordField(label=gettext_lazy("Your present password"))
    code = CodeField()


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def own_code(request: HttpRequest) -> HttpResponse:
    """Turn the code at the own sign-in on or off; a PIN is not enough for it."""
    password_needed(request)
    assert isinstance(request.user, Person)  # noqa: S101 - tells mypy
    form = TurnForm(request.POST or None)
    if has_factor(request.user):
        return turning_off(request, request.user, form)
    return turning_on(request, request.user, form)


def turning_on(request: HttpRequest, person: Person, form: TurnForm) -> HttpResponse:
    """Show the secret until a code tells that an app has it; then the recovery codes, once."""
    secret = request.session.setdefault(SHARED, secret_new())
    if asked(request, form):
        try:
            code, hand = form.cleaned_data["code"], hand_of(request, person)
            codes = code_turn_on(person, secret, code, hand=hand, session=key_of(request))
        except ValidationError as error:
            refuse(form, error)
        else:
            del request.session[SHARED]
            tell_of(request, Event.RENEWED, person, of=person.pk, what="code_on")
            return render(request, "web/account/recovery_codes.html", {"codes": codes})
    address = address_of(secret, person)
    context = {"form": form, "address": address, "picture": qr(address), "letters": in_fours(secret, " ")}
    return render(request, "web/account/code_on.html", context)


def turning_off(request: HttpRequest, person: Person, form: TurnForm) -> HttpResponse:
    """Ask for the present password and a code, and then for no code any more."""
    if asked(request, form):
        code = form.cleaned_data["code"]
        if authenticate(request, username=person.sign_in, secret_code=code) is None:
            refuse(form, WrongCodeError())
        else:
            code_turn_off(person, hand=hand_of(request, person), session=key_of(request))
            tell_of(request, Event.RENEWED, person, of=person.pk, what="code_off")
            messages.success(request, _("You sign in without a code again."))
            return redirect("own")
    context = {"form": form, "left": recovery_left(person)}
    return render(request, "web/account/code_off.html", context)


def asked(request: HttpRequest, form: TurnForm) -> bool:
    """Tell whether something is asked with the present password; the form says it where not with that."""
    if request.method != "POST" or not form.is_valid():
        return False
    if known_by_password(request, form.cleaned_data["present"]) is None:
        form.add_error("present", _("This is not your password."))
        return False
    return True


def hand_of(request: HttpRequest, person: Person) -> Hand:
    """Return whose hand it is."""
    return Hand(person=person, now=clock.now(), device=tablet_of(request))


def key_of(request: HttpRequest) -> str | None:
    """Return the key of the session that goes on."""
    return request.session.session_key
