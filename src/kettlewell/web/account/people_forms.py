"""Forms for the people of a kitchen."""

from typing import Any

from django import forms
from django.contrib.auth.forms import UsernameField
from django.utils.translation import gettext_lazy as _

from kettlewell.bridge.people import Newcomer
from kettlewell.records.models import Role
from kettlewell.records.people import SeatTerms
from kettlewell.web.account.fields import NewSecrets, PasswordField

ROLES = (
    (Role.COOK.value, _("Cook: takes readings and writes in the day book")),
    (Role.OWNER.value, _("Owner: everything, the people too")),
    (Role.AREA_MANAGER.value, _("Area manager: as an owner, in several kitchens")),
    (Role.INSPECTOR.value, _("Inspector: reads, until a day you name")),
)


class SeatForm(forms.Form):
    """What someone is in this kitchen."""

    role = forms.ChoiceField(
        choices=ROLES, widget=forms.RadioSelect, initial=Role.COOK.value, label=_("Role")
    )
    ends_on = forms.DateField(
        required=False,
        label=_("Last day"),
        help_text=_("An inspector needs one. For the others leave it empty."),
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
    )
    trained_to_drain = forms.BooleanField(
        required=False,
        label=_("Trained to drain hot oil"),
        help_text=_("Nobody else is ever told to drain a fryer."),
    )

    def terms(self) -> SeatTerms:
        """Return what the seat gives."""
        return SeatTerms(
            role=Role(self.cleaned_data["role"]),
            ends_on=self.cleaned_data["ends_on"],
            trained_to_drain=self.cleaned_data["trained_to_drain"],
        )


class AccountFields(NewSecrets):
    """How someone is called and signs in."""

    name = forms.CharField(max_length=100, label=_("Name"))


class PersonForm(SeatForm, AccountFields):
    """Someone of this kitchen, whose name and passwords its owner may renew."""

    present = PasswordField(
        required=False,
        label=_("Your own password"),
        help_text=_("Only for a new password or PIN: so that it is you who gives it."),
    )
    field_order = ("name", "role", "ends_on", "trained_to_drain", "password", "pin", "present")


class NewPersonForm(SeatForm, AccountFields):
    """Someone new in this kitchen."""

    sign_in = UsernameField(
        max_length=150,
        label=_("Sign-in name"),
        help_text=_("Short and without spaces is easiest to type."),
    )
    has_account = forms.BooleanField(
        required=False,
        label=_("Has an account already"),
        help_text=_("From another of your kitchens: signs in as there, so give no password and no PIN."),
    )
    field_order = ("name", "sign_in", "has_account", "password", "pin", "role", "ends_on", "trained_to_drain")

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        """Ask for a first password, not for a new one."""
        super().__init__(*args, **kwargs)
        self.fields["name"].required = False
        self.fields["password"].label = _("Password")
        self.fields["password"].help_text = _("At least 10 characters. May stay empty where there is a PIN.")
        self.fields["pin"].label = _("PIN")
        self.fields["pin"].help_text = _("4 to 8 digits, to sign on a shared tablet.")

    def newcomer(self) -> Newcomer:
        """Return who is to have a seat."""
        names = ("sign_in", "name", "password", "pin", "has_account")
        return Newcomer(**{name: self.cleaned_data[name] for name in names})
