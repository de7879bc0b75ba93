"""What to suppose of a bath; nothing of it is stored."""

from collections.abc import Mapping
from decimal import Decimal

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.book import Fryer
from kettlewell.book.likely import usual_load_kg
from kettlewell.book.plain import decimal_text
from kettlewell.bridge.suppose import Supposition
from kettlewell.core.outlook.values import Assessment
from kettlewell.records.numbers import NumberField


class WhatIfForm(forms.Form):
    """The temperatures, and the food, hot hours and top-up of each service from now on."""

    # the coefficients of ageing were looked for at frying temperatures
    set_temp_c = NumberField(required=False, min_value=140, max_value=200, label=_("Set temperature, °C"))
    # fryers are turned down to 120 or 140 °C: from memory
    standby_temp_c = NumberField(
        required=False, min_value=100, max_value=200, label=_("Standby temperature, °C")
    )
    load_kg = NumberField(required=False, min_value=0, label=_("Food per service, kg"))
    hot_h = NumberField(required=False, min_value=0, max_value=24, label=_("Hours hot per service"))
    top_up_kg = NumberField(required=False, min_value=0, label=_("Top-up per service, kg"))

    def __init__(self, data: Mapping[str, str] | None, bath: Fryer, told: Assessment) -> None:
        """Begin with what is so today of a bath; what is not in ``data`` stays as it is."""
        today = {
            "set_temp_c": bath.set_temp_c,
            "standby_temp_c": bath.standby_temp_c,
            "load_kg": usual_load_kg(bath),
            "top_up_kg": told.turnover_per_service * bath.oil_mass_kg,
        }
        told_today = {name: tenths(value) for name, value in today.items() if value is not None}
        super().__init__(data, initial=told_today)

    def supposition(self) -> Supposition:
        """Return what is supposed to be other than today."""
        given = {
            name: float(value)
            for name in self.changed_data
            if (value := self.cleaned_data.get(name)) is not None
        }
        return Supposition(**given)


def tenths(value: float) -> Decimal:
    """Return a number as a form shows it."""
    return Decimal(decimal_text(round(value, 1)))
