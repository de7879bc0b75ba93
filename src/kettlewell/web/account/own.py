"""One's own access: everyone changes the own password and PIN, giving the present one."""

from django import forms
from django.contrib import messages
from django.contrib.auth import authenticate, update_session_auth_hash
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from kettlewell import clock
from kettlewell.bridge.people import Renewal, access_renew
from kettlewell.records.access_log import Event
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Person
from kettlewell.records.second_factor import has_factor
from kettlewell.web.account.fields import NewSecrets, PasswordField, PinField
from kettlewell.web.account.logged import tell_of
from kettlewell.web.account.tablets import BY_PIN, tablet_of
from kettlewell.web.refusals import refuse


class NewPinForm(forms.Form):
    """A new PIN, of who signed with the present one."""

    present = PinField(label=gettext_lazy("Your present PIN"))
    pin = PinField(
        label=gettext_lazy("New PIN"), help_text=gettext_lazy("4 to 8 digits, to sign on a shared tablet.")
    )

    def renewal(self) -> Renewal:
        """Return what is to be new."""
        return Renewal(pin=self.cleaned_data["pin"])


class NewAccessForm(NewSecrets):
    """A new password, a new PIN or both, of who signed in with the present password."""

    present = PasswordField(label=gettext_lazy("Your present password"))
    field_order = ("present", "password", "pin")

    def clean(self) -> dict[str, object]:
        """Ask for something that is to be new."""
        if not (self.cleaned_data.get("password") or self.cleaned_data.get("pin")):
            raise ValidationError(_("Give a new password, a new PIN, or both."))
        return self.cleaned_data

    def renewal(self) -> Renewal:
        """Return what is to be new."""
        return Renewal(password=self.cleaned_data["password"], pin=self.cleaned_data["pin"])


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def own(request: HttpRequest) -> HttpResponse:
    """Give oneself a new password or PIN; who signed with a PIN, a new PIN alone."""
    form = (NewPinForm if request.session.get(BY_PIN) else NewAccessForm)(request.POST or None)
    if request.method == "POST" and form.is_valid() and renewed(request, form):
        messages.success(request, _("Saved. Wherever else you were signed in, you are signed out now."))
        return redirect("own")
    assert isinstance(request.user, Person)  # noqa: S101 - tells mypy
    context = {"form": form, "by_pin": request.session.get(BY_PIN), "code_is_on": has_factor(request.user)}
    return render(request, "web/account/own.html", context)


def renewed(request: HttpRequest, form: NewPinForm | NewAccessForm) -> bool:
    """Renew what the form asks for, and keep this session; tell whether it is so, as the form does."""
    present = form.cleaned_data["present"]
    by_pin = isinstance(form, NewPinForm)
    person = known_by_pin(request, present) if by_pin else known_by_password(request, present)
    if person is None:
        form.add_error("present", _("This is not your PIN.") if by_pin else _("This is not your password."))
        return False
    hand = Hand(person=person, now=clock.now(), device=tablet_of(request))
    try:
        access_renew(person, form.renewal(), hand=hand)
    except ValidationError as error:
        refuse(form, error)
        return False
    tell_of(request, Event.RENEWED, person, of=person.pk, what=form.renewal().what)
    update_session_auth_hash(request, person)
    return True


def known_by_password(request: HttpRequest, password: str) -> Person | None:
    """Return who is signed in, if this is the password; wrong ones are counted as at the sign-in."""
    assert isinstance(request.user, Person)  # noqa: S101 - tells mypy
    return authenticate(request, username=request.user.sign_in, password=password)


def known_by_pin(request: HttpRequest, pin: str) -> Person | None:
    """Return who is signed in here, if this is the PIN; wrong ones are counted as at the sign-in."""
    assert isinstance(request.user, Person)  # noqa: S101 - tells mypy
    return authenticate(request, username=request.user.sign_in, secret_pin=pin, device=tablet_of(request))
