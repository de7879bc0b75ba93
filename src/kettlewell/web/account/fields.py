"""Fields for secrets, which no form shows again."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.records.people import PIN_DIGITS


class PasswordField(forms.CharField):
    """A password; ``use`` tells the browser whether it is the present one or a new one."""

    def __init__(self, *, use: str = "current-password", **more: Any) -> None:  # noqa: ANN401
        """Take every sign as it was typed, blanks too."""
        widget = forms.PasswordInput(attrs={"autocomplete": use})
        super().__init__(max_length=200, strip=False, widget=widget, **more)


class PinField(forms.CharField):
    """A PIN."""

    def __init__(self, **more: Any) -> None:  # noqa: ANN401
        """Ask for digits, which no browser remembers."""
        widget = forms.PasswordInput(attrs={"inputmode": "numeric", "autocomplete": "off"})
        super().__init__(max_length=PIN_DIGITS[1], widget=widget, **more)


class CodeField(forms.CharField):
    """The code of an app, or a recovery code."""

    def __init__(self) -> None:
        """Let letters be typed too, and the browser keep none."""
        attrs = {"autocomplete": "one-time-code", "autocapitalize": "none", "spellcheck": "false"}
        super().__init__(max_length=60, label=_("Code"), widget=forms.TextInput(attrs=attrs))


class NewSecrets(forms.Form):
    """A new password, a new PIN, or both."""

    password = PasswordField(
        use="new-password",
        required=False,
        label=_("New password"),
        help_text=_("At least 10 characters. Empty: it stays as it is."),
    )
    pin = PinField(
        required=False,
        label=_("New PIN"),
        help_text=_("4 to 8 digits, for a shared tablet. Empty: it stays as it is."),
    )
