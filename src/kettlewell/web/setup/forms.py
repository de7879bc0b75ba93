"""The forms of a kitchen's things: what each may be set to, and the values it is kept as."""

from datetime import time
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.bridge.known import UNTOLD, assumed, quantity_rule
from kettlewell.web.entry.times import DayField
from kettlewell.web.setup.base_forms import (
    AllergenForm,
    ThingForm,
    WordsField,
    litre_kg_of,
    number,
    things_by_name,
)
from kettlewell.web.setup.known import DAYS, DRAINING, FOOD_KINDS, OIL_KINDS, PROMISED, QUANTITIES
from kettlewell.web.setup.place_forms import KitchenForm

OF_METER = _("From its instructions.")
OF_KIND = _("Usual value: that of the kind, see below.")


class OilForm(AllergenForm):
    """An oil one can buy."""

    thing = "oils"
    name = forms.CharField(max_length=60, label=_("Name of the oil"))
    kind = forms.ChoiceField(
        choices=OIL_KINDS,
        label=_("Kind"),
        help_text=_("It tells how fast the oil ages until your own readings do."),
    )
    pack_kg = number(_("Oil in a pack, kg"))
    price_per_kg = number(_("Price for a kg"))
    fresh_tpc_pct = number(_("Polar compounds when fresh, %"), OF_KIND)
    density_kg_per_l = number(_("Weight of a litre, kg"), _("Usual value: 0.92 kg at 20 °C."))
    parts = WordsField(
        required=False,
        max_length=200,
        label=_("Parts of a blend"),
        help_text=_("Kinds with their shares by mass, parted by commas: sunflower 60, palm-olein 40"),
    )
    more = ("pack_kg", "price_per_kg", "fresh_tpc_pct", "density_kg_per_l", "parts", "allergens", "further")


class ProductForm(AllergenForm):
    """A food that is fried."""

    thing = "products"
    name = forms.CharField(max_length=60, label=_("Name of the food"))
    kind = forms.ChoiceField(
        choices=FOOD_KINDS, label=_("Kind"), help_text=_("It tells how hard the food is on the oil.")
    )
    portion_kg = number(_("A portion, kg"))
    basket_kg = number(_("A basket, kg"))
    uptake_kg_per_kg = number(_("Oil taken up by a kg of food, kg"), OF_KIND)
    wear_factor = number(_("Wear on the oil (frozen fries: 1)"), OF_KIND)
    more = ("portion_kg", "basket_kg", "uptake_kg_per_kg", "wear_factor")


class FryerForm(ThingForm):
    """One bath."""

    thing = "fryers"
    key = forms.CharField(
        max_length=20,
        label=_("Fryer number"),
        help_text=_("Short, such as F1. It cannot be changed later."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    name = forms.CharField(max_length=60, label=_("What you call it"))
    oil = forms.ChoiceField(label=_("Oil"))
    oil_mass_kg = number(
        _("Oil at the cold-fill mark"), _("From the plate or the handbook; cold, at 20 °C."), required=True
    )
    unit = forms.ChoiceField(
        choices=[("kg", _("kg")), ("l", _("litres"))],
        initial="kg",
        required=False,
        label=_("The oil is given in"),
        help_text=_("Litres are weighed at the oil's own weight of a litre; usual value: 0.92 kg."),
    )
    minimum_mass_kg = number(
        _("Oil at the minimum mark"), _("In the same unit. Below it the elements lie bare. Empty: not known.")
    )
    set_temp_c = number(_("Set temperature, °C"), _("Fry potatoes below 175 °C."), required=True)
    standby_temp_c = number(
        _("Standby temperature, °C"),
        _("What you turn it down to while it is hot and nothing is fried. Empty: it stays as set."),
    )
    draining = forms.ChoiceField(choices=DRAINING, widget=forms.RadioSelect, label=_("How is it drained?"))
    fries = forms.MultipleChoiceField(
        required=False, widget=forms.CheckboxSelectMultiple, label=_("What it fries")
    )
    usual_load_kg = number(
        _("Food in a usual service, kg"),
        _("Usual value: half a kg for each kg of oil."),
    )
    protected = forms.MultipleChoiceField(
        required=False,
        choices=PROMISED,
        widget=forms.CheckboxSelectMultiple,
        label=_("Its food is sold as"),
        help_text=_("The program says when that no longer holds."),
    )
    more = ("standby_temp_c", "usual_load_kg", "protected")

    def offer(self) -> None:
        """Offer the kitchen's oils and foods; the mark of a fryer there is cannot be changed.

        How one is drained that has been there without an answer may stay open while it is edited.
        """
        self.choose("oil", things_by_name(self.things, "oils"))
        self.choose("fries", things_by_name(self.things, "products"))
        if self.kept_as is not None:
            del self.fields["key"]
            self.fields["draining"].required = "draining" in self.initial

    def clean(self) -> dict[str, Any]:
        """Weigh litres."""
        said: dict[str, Any] = super().clean() or self.cleaned_data
        if said.get("unit") == "l":
            litre_kg = Decimal(str(litre_kg_of(self.things, said.get("oil", ""))))
            for name in ("oil_mass_kg", "minimum_mass_kg"):
                if said.get(name) is not None:
                    said[name] = round(said[name] * litre_kg, 2)
        return said

    def values(self) -> dict[str, Any]:
        """Return the setting, in kg; its key is no part of it."""
        return {name: value for name, value in super().values().items() if name not in ("key", "unit")}


class MeterForm(ThingForm):
    """A hand meter."""

    thing = "meters"
    name = forms.CharField(max_length=60, label=_("What you call the meter"))
    resolution_pct = number(_("Smallest step of its display, %"), OF_METER, required=True)
    largest_error_pct = number(_("Largest error its maker states, %"), OF_METER, required=True)
    min_oil_temp_c = number(_("Coldest oil it may be read in, °C"), OF_METER, required=True)
    max_oil_temp_c = number(_("Hottest oil it may be read in, °C"), OF_METER, required=True)
    untold = forms.BooleanField(
        required=False, label=_("I don't know all of these: take wide figures of ours")
    )
    in_use_since = DayField(label=_("In use since"), help_text=_("It cannot have been checked before."))

    use_required_attribute = False  # a browser would insist on what nobody knows

    def offer(self) -> None:
        """Show whether figures were asked for that nobody knew."""
        self.initial[UNTOLD] = bool(self.initial.get(UNTOLD))

    def full_clean(self) -> None:
        """Ask for no figure that nobody knows."""
        if self.is_bound and self.data.get(self.add_prefix(UNTOLD)):
            for name in assumed(self.thing, {}):
                self.fields[name].required = False
        super().full_clean()

    def values(self) -> dict[str, Any]:
        """Return the setting, which says whether something was not known."""
        found = super().values()
        return {**found, UNTOLD: "figures"} if found.pop(UNTOLD) else found


class ReferenceLotForm(ThingForm):
    """A bottle of reference oil."""

    thing = "reference_lots"
    name = forms.CharField(
        max_length=60, label=_("Name of the bottle"), help_text=_("Such as the lot printed on it.")
    )
    tpc_pct = number(_("Value on the bottle, %"), required=True)
    expanded_u_pct = number(
        _("Its uncertainty U, %"), _("From the bottle or its certificate."), required=True
    )
    coverage_factor = number(_("Coverage factor k"), _("It stands beside U. Usual value: 2."))
    read_at_c = number(
        _("Temperature on its label, °C"), _("It is warmed to that before a meter is checked.")
    )
    opened = DayField(label=_("Opened"))
    best_before = DayField(label=_("Best before"))
    oil = forms.ChoiceField(
        required=False,
        label=_("A control oil of the house, of this oil"),
        help_text=_("Used oil near the limit, valued by the laboratory, read hot. Empty: reference oil."),
    )
    more = ("oil",)

    def offer(self) -> None:
        """Offer the kitchen's oils."""
        self.choose("oil", [("", _("None")), *things_by_name(self.things, "oils")])

    def values(self) -> dict[str, Any]:
        """Return the setting, which says whether its temperature was not known."""
        found = super().values()
        return found if "read_at_c" in found else {**found, UNTOLD: "temperature"}


class ServiceForm(ThingForm):
    """A stretch of frying that comes back every week."""

    thing = "services"
    name = forms.CharField(max_length=60, label=_("Name"))
    days = forms.MultipleChoiceField(choices=DAYS, widget=forms.CheckboxSelectMultiple, label=_("Days"))
    fryers = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label=_("Fryers in use"),
        help_text=_("None ticked: all of them."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - what a form takes
        """Ask for the hours too: ``from`` is no name for an attribute."""
        super().__init__(*args, **kwargs)
        hours = {"type": "time"}
        for name, label in (("from", _("From")), ("to", _("To"))):
            self.fields[name] = forms.TimeField(
                label=label, widget=forms.TimeInput(format="%H:%M", attrs=hours)
            )
        self.order_fields(["name", "days", "from", "to", "fryers"])

    def offer(self) -> None:
        """Offer the kitchen's fryers; a single one needs no choice."""
        fryers = things_by_name(self.things, "fryers")
        self.choose("fryers", fryers)
        if len(fryers) < 2:
            del self.fields["fryers"]

    def values(self) -> dict[str, Any]:
        """Return the setting, its times as HH:MM."""
        return {
            name: f"{value:%H:%M}" if isinstance(value, time) else value
            for name, value in super().values().items()
        }


class WantedServiceForm(ServiceForm):
    """A service suggested at the first start, to be kept or left out."""

    use_required_attribute = False  # a browser would insist on what is not wanted

    wanted = forms.BooleanField(required=False, label=_("We fry then"))

    def full_clean(self) -> None:
        """Ask nothing of what is not wanted."""
        if self.is_bound and not self.data.get(self.add_prefix("wanted")):
            for field in self.fields.values():
                field.required = False
        super().full_clean()

    def values(self) -> dict[str, Any]:
        """Return the setting."""
        return {name: value for name, value in super().values().items() if name != "wanted"}


class LimitForm(ThingForm):
    """A limit of the house."""

    thing = "limits"
    quantity = forms.ChoiceField(choices=QUANTITIES, label=_("Limit for"))
    value = number(_("Limit"), _("Polar compounds and polymers in %, temperatures in °C."), required=True)
    at_it = forms.BooleanField(required=False, label=_("Exactly at the limit already counts as unfit"))
    reason = forms.CharField(required=False, max_length=200, label=_("Why"))
    source = forms.CharField(required=False, max_length=200, label=_("Where it is written"))

    def offer(self) -> None:
        """Show how the limit compares now."""
        self.initial.setdefault("at_it", str(self.initial.get("unfit_when", "")).endswith("="))

    def values(self) -> dict[str, Any]:
        """Return the setting, with the direction and the unit of its quantity."""
        found = super().values()
        direction, unit = quantity_rule(found["quantity"])
        found["unfit_when"] = direction + ("=" if found.pop("at_it", False) else "")
        return {**found, "unit": unit}


FORMS: dict[str, type[ThingForm]] = {
    "fryers": FryerForm,
    "oils": OilForm,
    "products": ProductForm,
    "meters": MeterForm,
    "reference_lots": ReferenceLotForm,
    "services": ServiceForm,
    "limits": LimitForm,
    "kitchen": KitchenForm,
}
