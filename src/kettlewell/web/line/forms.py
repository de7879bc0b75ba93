"""What to suppose of a bath; nothing of it is stored."""

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.bridge.suppose import Supposition
from kettlewell.records.numbers import NumberField

USUAL = _("Empty: as now.")


class WhatIfForm(forms.Form):
    """The temperatures, and the food, hot hours and top-up of each service from now on."""

    # the coefficients of ageing were looked for at frying temperatures
    set_temp_c = NumberField(required=False, min_value=140, max_value=200, label=_("Set temperature, °C"))
    # fryers are turned down to 120 or 140 °C: from memory
    standby_temp_c = NumberField(
        required=False, min_value=100, max_value=200, label=_("Standby temperature, °C")
    )
    load_kg = NumberField(required=False, min_value=0, max_value=1000, label=_("Food per service, kg"))
    hot_h = NumberField(required=False, min_value=0, max_value=24, label=_("Hours hot per service"))
    top_up_kg = NumberField(required=False, min_value=0, max_value=1000, label=_("Top-up a service, kg"))

    def supposition(self) -> Supposition:
        """Return what is supposed."""
        given = {name: float(value) for name, value in self.cleaned_data.items() if value is not None}
        return Supposition(**given)
