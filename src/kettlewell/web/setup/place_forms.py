"""The forms of the kitchen itself: where it is, and who sets it up."""

from decimal import Decimal
from typing import Any

from django import forms
from django.contrib.auth.forms import UsernameField
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from kettlewell.records.models import Person
from kettlewell.records.numbers import NumberField
from kettlewell.records.people import first_owner_add
from kettlewell.web.setup.base_forms import ThingForm, number
from kettlewell.web.setup.known import (
    NOTHING_JUDGES,
    QUANTITIES,
    judged_in,
    places,
    quantity_rule,
    zone_choices,
)


class PlaceForm(ThingForm):
    """Where the kitchen is."""

    thing = "kitchen"
    name = forms.CharField(max_length=80, label=_("Name of the kitchen"))
    jurisdiction = forms.ChoiceField(
        required=False, label=_("Whose rules hold"), help_text=_("The country the kitchen stands in.")
    )
    timezone = forms.ChoiceField(label=_("Time zone"), help_text=_("Whose clocks the day book shows."))

    def offer(self) -> None:
        """Offer the places and zones there are."""
        self.choose("jurisdiction", places())
        self.fields["jurisdiction"].widget.attrs.update({"hx-get": reverse("set-up"), "hx-target": "#limits"})
        self.choose("timezone", zone_choices())

    def own_fields(self) -> list[forms.BoundField]:
        """Return the fields beside the place."""
        return [field for field in self if field.name not in PlaceForm.base_fields]


class KitchenForm(PlaceForm):
    """The kitchen's own settings."""

    risk = number(
        _("Accepted risk"),
        _(
            "How likely a limit may be passed before the oil is changed: 0.05 is one in twenty, "
            "the most for limits "
            "of the law. Empty: 0.05 (common practice, no source)."
        ),
    )
    permissible_pct = number(
        _("A meter may be off by, points"),
        _("In reference oil, either way, before it counts as wrong. Empty: 1 (common practice, no source)."),
    )
    laboratory_price = number(_("Price of a laboratory sample"), _("Empty: not known."))
    jug_l = number(_("Your jug, litres"), _("To write top-ups in jugs. Empty: none."))


class HousePlaceForm(PlaceForm):
    """The kitchen at its beginning: where it is, and its own limit."""

    house_limit_pct = NumberField(
        required=False,
        min_value=Decimal("0.1"),
        max_value=100,
        max_digits=5,
        label=_("Your own limit on polar compounds, %"),
        help_text=_("Needed where no verified limit is found. 24 and 25 are usual in the laws shown here."),
    )

    def clean(self) -> dict[str, Any]:
        """Ask for a limit of the house where no other judges the oil."""
        said: dict[str, Any] = super().clean() or self.cleaned_data
        lacking = "house_limit_pct" in said and said["house_limit_pct"] is None
        if lacking and not judged_in(said.get("jurisdiction")):
            self.add_error("house_limit_pct", NOTHING_JUDGES)
        return said

    def values(self) -> dict[str, Any]:
        """Return the kitchen's setting; the limit is a thing of its own."""
        return {name: value for name, value in super().values().items() if name != "house_limit_pct"}

    def house_limit(self) -> dict[str, Any] | None:
        """Return the limit of the house, if there is one."""
        value = self.cleaned_data["house_limit_pct"]
        if value is None:
            return None
        direction, unit = quantity_rule(QUANTITIES[0][0])
        return {"quantity": QUANTITIES[0][0], "unfit_when": direction, "value": value, "unit": unit}


class YouForm(forms.Form):
    """The first person: the owner."""

    name = forms.CharField(
        max_length=100, label=_("Your name"), widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    sign_in = UsernameField(
        max_length=150,
        label=_("Sign-in name"),
        help_text=_("Short and without spaces is easiest to type."),
    )
    password = forms.CharField(
        max_length=200,
        strip=False,
        label=_("Password"),
        help_text=_("At least 10 characters."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def person(self) -> Person:
        """Return the first person; raises ValidationError by field, and where somebody was quicker."""
        return first_owner_add(**self.cleaned_data)
