"""One's own access: everyone changes the own password and PIN, giving the present one."""

from django import forms
from django.contrib import messages
from django.contrib.auth import authenticate, update_session_auth_hash
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from kettlewell import clock
from kettlewell.bridge.people import Renewal, access_renew
from kettlewell.records.access_log import Event
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Person
from kettlewell.records.people import PIN_DIGITS
from kettlewell.web.account.logged import tell_of
from kettlewell.web.account.tablets import BY_PIN, tablet_of
from kettlewell.web.refusals import refuse


class NewPinForm(forms.Form):
    """A new PIN, of who signed with the present one."""

    present = forms.CharField(
        max_length=PIN_DIGITS[1],
        label=gettext_lazy("Your present PIN"),
        widget=forms.PasswordInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    pin = forms.CharField(
        max_length=PIN_DIGITS[1],
        label=gettext_lazy("New PIN"),
        help_text=gettext_lazy("4 to 8 digits, to sign on a shared tablet."),
        widget=forms.PasswordInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )

    def renewal(self) -> Renewal:
        """Return what is to be new."""
        return Renewal(pin=self.cleaned_data["pin"])


class NewAccessForm(NewPinForm):
    """A new password, a new PIN or both, of who signed in with the present password."""

    present = forms.CharField(
        max_length=200,
        strip=False,
        label=gettext_lazy("Your present password"),
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    password = forms.CharField(
        required=False,
        max_length=200,
        strip=False,
        label=gettext_lazy("New password"),
        help_text=gettext_lazy("At least 10 characters. Empty: it stays as it is."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    field_order = ("present", "password", "pin")

    def __init__(self, data: QueryDict | None = None) -> None:
        """Let the PIN stay as it is."""
        super().__init__(data)
        self.fields["pin"].required = False
        self.fields["pin"].help_text = _("4 to 8 digits, for a shared tablet. Empty: it stays as it is.")

    def clean(self) -> dict[str, object]:
        """Ask for something that is to be new."""
        if not (self.cleaned_data.get("password") or self.cleaned_data.get("pin")):
            raise ValidationError(_("Give a new password, a new PIN, or both."))
        return self.cleaned_data

    def renewal(self) -> Renewal:
        """Return what is to be new."""
        return Renewal(password=self.cleaned_data["password"], pin=self.cleaned_data["pin"])


@login_required
@require_http_methods(["GET", "POST"])
def own(request: HttpRequest) -> HttpResponse:
    """Give oneself a new password or PIN; who signed with a PIN, a new PIN alone."""
    form = (NewPinForm if request.session.get(BY_PIN) else NewAccessForm)(request.POST or None)
    if request.method == "POST" and form.is_valid() and renewed(request, form):
        messages.success(request, _("Saved. Wherever else you were signed in, you are signed out now."))
        return redirect("own")
    return render(request, "web/account/own.html", {"form": form})


def renewed(request: HttpRequest, form: NewPinForm) -> bool:
    """Renew what the form asks for, and keep this session; tell whether it is so, as the form does."""
    present = form.cleaned_data["present"]
    by_pin = not isinstance(form, NewAccessForm)
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
