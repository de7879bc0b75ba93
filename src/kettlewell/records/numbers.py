"""Numbers as people type them: "12,5" is "12.5"."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext_lazy as _

BOUNDS = {
    MinValueValidator: _("At least %(limit_value)s."),
    MaxValueValidator: _("At most %(limit_value)s."),
}


class NumberField(forms.DecimalField):
    """A number typed with a comma or a point, whatever the language of the screen."""

    widget = forms.TextInput

    def __init__(self, **kwargs: Any) -> None:  # noqa: ANN401 - what a form field takes
        """Ask the phone for its keys with digits."""
        super().__init__(**kwargs)
        for validator in self.validators:
            for bound, message in BOUNDS.items():
                if isinstance(validator, bound):
                    validator.message = message
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})

    def to_python(self, value: object) -> Decimal | None:  # type: ignore[override]  # the stubs say int
        """Return what was typed; raises ValidationError for what is no number."""
        if isinstance(value, str):
            value = value.strip().removesuffix("%").strip().replace(",", ".")
        return super().to_python(value)
