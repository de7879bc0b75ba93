"""Numbers as people type them: "12,5" is "12.5"; and as their language writes them."""

from decimal import Decimal, InvalidOperation
from math import inf
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import BaseValidator, MaxValueValidator, MinValueValidator
from django.utils.formats import number_format
from django.utils.functional import lazy
from django.utils.translation import gettext_lazy as _


class MoreThanValidator(MinValueValidator):
    """A bound that is too little itself."""

    def compare(self, a: Any, b: Any) -> bool:  # noqa: ANN401 - as Django's validators
        """Tell whether a number is refused."""
        return bool(a <= b)


BOUNDS = {
    MinValueValidator: _("At least %(limit_value)s."),
    MaxValueValidator: _("At most %(limit_value)s."),
    MoreThanValidator: _("More than %(limit_value)s."),
}


class NumberField(forms.DecimalField):
    """A number typed with a comma or a point, whatever the language of the screen."""

    widget = forms.TextInput

    def __init__(self, **kwargs: Any) -> None:  # noqa: ANN401 - what a form field takes
        """Ask the phone for its keys with digits."""
        super().__init__(**kwargs)
        for validator in self.validators:
            if isinstance(validator, BaseValidator) and type(validator) in BOUNDS:
                say_bound(validator)
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})

    def keep_within(self, low: float, high: float, *, above: bool) -> None:
        """Refuse what lies outside; the lowest number too with ``above``."""
        lowest = (MoreThanValidator if above else MinValueValidator)(low)
        bounds = [lowest] if high == inf else [lowest, MaxValueValidator(high)]
        for bound in bounds:
            say_bound(bound)
        self.validators += bounds

    def to_python(self, value: object) -> Decimal | None:  # type: ignore[override]  # the stubs say int
        """Return what was typed; raises ValidationError for what is no number."""
        if isinstance(value, str):
            value = value.strip().removesuffix("%").strip().replace(",", ".")
        return super().to_python(value)

    def run_validators(self, value: Any) -> None:  # noqa: ANN401 - as Django's fields
        """Ask, of a number that is too large, whether it is the one with the comma further left."""
        try:
            super().run_validators(value)
        except ValidationError as error:
            too_large = any(each.code == "max_value" for each in error.error_list)
            if too_large and (meant := next(filter(self.is_fine, (value / 10, value / 100)), None)):
                asked = _("Did you mean %(number)s?") % {"number": number_format(meant)}
                error.error_list.append(ValidationError(asked, code="meant"))
            raise

    def is_fine(self, value: Decimal) -> bool:
        """Tell whether a number lies within the bounds."""
        try:
            super().run_validators(value)
        except ValidationError:
            return False
        return True

    def prepare_value(self, value: object) -> object:
        """Return a number as the reader's language writes it, anything else as it is."""
        try:
            number = Decimal(value) if isinstance(value, str | Decimal) else None
        except InvalidOperation:
            return value
        return value if number is None or not number.is_finite() else number_format(number)


class NumbersField(forms.Field):
    """A few numbers, one at least, each typed as for a NumberField; empty ones are left out."""

    widget = forms.MultipleHiddenInput

    def __init__(self, *, most: int, label: Any, **kwargs: Any) -> None:  # noqa: ANN401 - what a form field takes
        """Take at most so many numbers, each within the bounds of a NumberField."""
        super().__init__(label=label)
        self.most, self.number = most, NumberField(**kwargs)

    def clean(self, value: object) -> list[Decimal]:
        """Return what was typed; raises ValidationError with what is wrong with the first bad number."""
        typed = value if isinstance(value, list | tuple) else [value]
        said = [number for number in typed if number not in self.empty_values]
        if not said:
            raise ValidationError(self.error_messages["required"], code="required")
        if len(said) > self.most:
            raise ValidationError(_("At most %(most)s numbers."), code="most", params={"most": self.most})
        return [self.number.clean(number) for number in said]


def say_bound(validator: BaseValidator) -> None:
    """Let a bound name its number as the reader's language writes it."""
    text, bound = BOUNDS[type(validator)], validator.limit_value
    shown = int(bound) if bound == int(bound) else bound
    validator.message = lazy(lambda: text % {"limit_value": number_format(shown)}, str)()
