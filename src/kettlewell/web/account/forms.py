"""Forms to sign in: by name and password anywhere, by name and PIN on a shared tablet."""

from datetime import datetime
from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.contrib.auth.forms import AuthenticationForm, UsernameField
from django.core.exceptions import ValidationError
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from kettlewell.records.models import Device, Person
from kettlewell.records.people import signed_as
from kettlewell.records.roster import signing_on
from kettlewell.records.second_factor import WrongCodeError
from kettlewell.web.account.fields import CodeField, PasswordField, PinField


class SignInForm(AuthenticationForm):
    """Name and password."""

    error_messages = {  # noqa: RUF012 - declared so by Django
        "invalid_login": _(
            "This name and this password do not belong together. Look at both again. "
            "Who has a PIN alone can sign on the kitchen's shared tablet."
        ),
        "inactive": _("This account is closed."),
    }
    username = UsernameField(max_length=150, label=_("Sign-in name"))
    password = PasswordField(label=_("Password"))

    def clean_username(self) -> str:
        """Return the name as it is kept: capitals make no difference."""
        return signed_as(self.cleaned_data["username"])


class CodeForm(forms.Form):
    """The code, after the password."""

    code = CodeField()

    def __init__(
        self,
        request: HttpRequest,
        *args: Any,  # noqa: ANN401
        person: Person,
        **kwargs: Any,  # noqa: ANN401
    ) -> None:
        """Ask for the code of who gave the password."""
        super().__init__(*args, **kwargs)
        self.request, self.person = request, person
        self.user: Person | None = None

    def clean_code(self) -> str:
        """Check the code, and use it up; raises ValidationError where it is not this person's."""
        code: str = self.cleaned_data["code"]
        self.user = authenticate(self.request, username=self.person.sign_in, secret_code=code)
        if self.user is None:
            raise WrongCodeError().error_dict["code"][0]
        return code

    def get_user(self) -> Person | None:
        """Return who signed in."""
        return self.user


class PinForm(forms.Form):
    """Whose PIN, and the PIN."""

    person = forms.ChoiceField(widget=forms.RadioSelect, label=_("Who are you?"))
    pin = PinField(label=_("PIN"))

    def __init__(
        self,
        request: HttpRequest,
        *args: Any,  # noqa: ANN401
        device: Device,
        now: datetime,
        **kwargs: Any,  # noqa: ANN401
    ) -> None:
        """Offer everyone who works here now and has a PIN."""
        super().__init__(*args, **kwargs)
        self.request, self.device = request, device
        self.user: Person | None = None
        self.people = {str(person.pk): person for person in signing_on(device, now)}
        choices = self.fields["person"]
        assert isinstance(choices, forms.ChoiceField)  # noqa: S101 - tells mypy
        choices.choices = [(key, str(person)) for key, person in self.people.items()]

    def clean(self) -> dict[str, Any]:
        """Check the PIN; raises ValidationError where it is not this person's."""
        chosen = self.people.get(self.cleaned_data.get("person", ""))
        pin = self.cleaned_data.get("pin")
        if chosen is None or pin is None:
            return self.cleaned_data
        self.user = authenticate(self.request, username=chosen.sign_in, secret_pin=pin, device=self.device)
        if self.user is None:
            raise ValidationError(_("That is not the PIN of %(name)s.") % {"name": chosen})
        return self.cleaned_data

    def get_user(self) -> Person | None:
        """Return who signed."""
        return self.user
