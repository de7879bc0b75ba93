"""What each kind of entry may say: a form a kind, the one check for screens and programs alike."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.records.canonical import decimal_text
from kettlewell.records.numbers import NumberField, NumbersField

ANSWERS = (("yes", _("Yes")), ("no", _("No")), ("unknown", _("I don't know")))
SIGNS = (
    ("smell", _("Smell")),
    ("smoke", _("Smoke")),
    ("foam", _("Foam")),
    ("colour", _("Colour")),
    ("taste", _("Taste of the food")),
)
CARE = (
    ("skim", _("Skimmed")),
    ("filter", _("Filtered, own filter")),
    ("shared-filter", _("Filtered, shared filter")),
    ("adsorbent", _("Treated with filter powder")),
    ("boil-out", _("Boiled out")),
)
OIL_DONE = (
    ("drained", _("Drained and thrown away")),
    ("stored", _("Taken out and kept apart")),
    ("kept", _("Still in the fryer, fryer closed")),
    ("unknown", _("I don't know")),
)
FOOD_DONE = (
    ("thrown_away", _("Thrown away")),
    ("held", _("Kept apart until the chef decides")),
    ("served", _("Served already")),
    ("none", _("Nothing was fried")),
    ("unknown", _("I don't know")),
)
OIL_UNITS = (
    ("mark", _("To the mark")),
    ("jug", _("Jugs")),
    ("pack", _("Packs")),
    ("kg", "kg"),
    ("l", "l"),
)
FOOD_UNITS = (("kg", "kg"), ("portion", _("Portions")), ("basket", _("Baskets")))
STANDS = (("stands", _("It stands")), ("not", _("It does not stand")), ("unknown", _("I don't know")))
THINGS = (
    "kitchen",
    "fryers",
    "oils",
    "products",
    "meters",
    "reference_lots",
    "services",
    "limits",
    "people",
)

COMPARED = ("offset_pct", "offset_u_pct", "gain", "gain_u", "correlation")

MOST_KG = 10_000
MOST_CHECK_READINGS = 3  # as the core takes them, which records may not import; a test holds both together
LEAST = Decimal("0.000001")  # a computed number is written down to six decimals


class Payload(forms.Form):
    """What an entry says. Anything it does not know is refused."""

    def clean(self) -> dict[str, Any]:
        """Refuse what this kind does not know."""
        for name in set(self.data) - set(self.fields):
            self.add_error(None, _("“%(name)s” does not belong in such an entry.") % {"name": name[:40]})
        return self.cleaned_data

    def payload(self) -> dict[str, Any]:
        """Return what is written down: numbers as decimal strings, nothing for what was not said."""
        return {name: plain(value) for name, value in self.cleaned_data.items() if said(value)}


def plain(value: object) -> Any:  # noqa: ANN401 - JSON
    """Return a cleaned value as it stands in the ledger."""
    match value:
        case bool() | str() | None:
            return value
        case Decimal() | int() | float():
            return decimal_text(value)
        case UUID():
            return str(value)
        case date():
            return value.isoformat()
        case Mapping():
            return {str(key): plain(each) for key, each in value.items()}
        case list() | tuple():
            return [plain(each) for each in value]
    raise TypeError(f"{value!r} cannot be written down")


def said(value: object) -> bool:
    """Tell whether a field says anything."""
    return value is not None and value not in ("", [])


class OfFryer(Payload):
    """What happened at one fryer."""

    fryer = forms.CharField(max_length=40, label=_("Fryer"))


class ReadingPayload(OfFryer):
    """A measured TPC and how it was taken."""

    tpc_pct = NumberField(min_value=0, max_value=100, decimal_places=2, label=_("Polar compounds, %"))
    oil_temp_c = NumberField(
        min_value=0, max_value=300, decimal_places=1, required=False, label=_("Oil temperature, °C")
    )
    meter = forms.CharField(max_length=40, required=False, label=_("Meter"))
    no_food = forms.ChoiceField(choices=ANSWERS, label=_("No food in the bath"))
    no_bubbles = forms.ChoiceField(choices=ANSWERS, label=_("No bubbles rising"))
    probe_clear = forms.ChoiceField(
        choices=ANSWERS, label=_("Probe clear of metal, oil between its two marks")
    )
    steady = forms.ChoiceField(choices=ANSWERS, label=_("Temperature steady"))


class LaboratoryPayload(OfFryer):
    """A laboratory's TPC of a sample; ``u_pct`` is one standard uncertainty."""

    tpc_pct = NumberField(min_value=0, max_value=100, decimal_places=2, label=_("Polar compounds, %"))
    u_pct = NumberField(
        min_value=Decimal("0.01"),
        max_value=100,
        decimal_places=2,
        required=False,
        label=_("Its standard uncertainty, %"),
    )


class SensesPayload(OfFryer):
    """Smell, smoke, foam, colour, taste."""

    spoiled = forms.BooleanField(required=False, label=_("Spoiled"))
    signs = forms.MultipleChoiceField(choices=SIGNS, required=False, label=_("What did you notice?"))


class TopUpPayload(OfFryer):
    """Fresh oil added; ``mass_kg`` is what the amount comes to, unknown to the mark."""

    unit = forms.ChoiceField(choices=OIL_UNITS, label=_("Measured in"))
    amount = NumberField(
        min_value=0, max_value=MOST_KG, decimal_places=3, required=False, label=_("How much")
    )
    mass_kg = NumberField(min_value=0, max_value=MOST_KG, required=False)


class CarePayload(OfFryer):
    """Skimmed, filtered, treated or boiled out."""

    care = forms.ChoiceField(choices=CARE, label=_("What was done"))


class StorePayload(OfFryer):
    """Oil taken out of the bath and kept."""

    drained_by = forms.UUIDField(required=False, label=_("Who drained it?"))


class ChangePayload(StorePayload):
    """The bath emptied and filled fresh, with ``oil`` or the fryer's own."""

    oil = forms.CharField(max_length=40, required=False, label=_("Filled with"))


class MovePayload(OfFryer):
    """Oil pumped into another fryer; no mass means all that fits."""

    into = forms.CharField(max_length=40, label=_("Into fryer"))
    mass_kg = NumberField(
        min_value=0, max_value=MOST_KG, decimal_places=3, required=False, label=_("How much, kg")
    )

    def clean(self) -> dict[str, Any]:
        """Refuse oil moved into the bath it comes from."""
        cleaned = super().clean()
        if cleaned.get("into") and cleaned.get("into") == cleaned.get("fryer"):
            self.add_error("into", _("Choose another fryer: the oil comes from this one."))
        return cleaned


class LoadPayload(OfFryer):
    """Food fried; ``mass_kg`` is what the amount comes to, unknown where none was said."""

    product = forms.CharField(max_length=40, label=_("What was fried"))
    unit = forms.ChoiceField(choices=FOOD_UNITS, required=False, label=_("Measured in"))
    amount = NumberField(
        min_value=0, max_value=MOST_KG, decimal_places=3, required=False, label=_("How much")
    )
    mass_kg = NumberField(min_value=0, max_value=MOST_KG, required=False)


class HotHoursPayload(OfFryer):
    """How long the bath was hot in the running or last service."""

    hot_h = NumberField(min_value=0, max_value=24, decimal_places=2, label=_("Hours hot in this service"))
    oil_temp_c = NumberField(
        min_value=0, max_value=300, decimal_places=1, required=False, label=_("Oil temperature, °C")
    )


class OrderPayload(OfFryer):
    """The fryer is taken out of use, or put back."""

    back = forms.BooleanField(required=False, label=_("Back in use"))


class OfMeter(Payload):
    """What happened to a meter."""

    meter = forms.CharField(max_length=40, label=_("Meter"))


class MeterCheckPayload(OfMeter):
    """A meter read in a reference oil, as it was found, or ``adjusted`` as it was left."""

    lot = forms.CharField(max_length=40, label=_("Reference oil"))
    readings = NumbersField(
        most=MOST_CHECK_READINGS, min_value=0, max_value=100, decimal_places=2, label=_("Readings, %")
    )
    oil_temp_c = NumberField(
        min_value=0, max_value=300, decimal_places=1, required=False, label=_("Temperature of the oil, °C")
    )
    adjusted = forms.BooleanField(required=False, label=_("Read after adjusting"))


class MeterOrderPayload(OfMeter):
    """The meter is taken out of use, or put back."""

    back = forms.BooleanField(required=False, label=_("Back in use"))


class ComparisonPayload(OfMeter):
    """A comparison taken over: in ``oil`` the meter reads offset + gain · the other's value.

    ``against`` is another meter; where there is none, the laboratory.
    """

    against = forms.CharField(max_length=40, required=False, label=_("Compared with"))
    oil = forms.CharField(max_length=40, label=_("In"))
    offset_pct = NumberField(min_value=-100, max_value=100, decimal_places=6, label=_("Reads more by, %"))
    offset_u_pct = NumberField(
        min_value=LEAST, max_value=100, decimal_places=6, label=_("Standard uncertainty of that, %")
    )
    gain = NumberField(
        min_value=LEAST, max_value=100, decimal_places=6, label=_("Reads so many times as much")
    )
    gain_u = NumberField(
        min_value=LEAST, max_value=100, decimal_places=6, label=_("Standard uncertainty of that factor")
    )
    correlation = NumberField(
        min_value=LEAST - 1, max_value=1 - LEAST, decimal_places=6, label=_("Correlation of the two")
    )

    def clean(self) -> dict[str, Any]:
        """Refuse a meter compared with itself."""
        cleaned = super().clean()
        if cleaned.get("against") and cleaned.get("against") == cleaned.get("meter"):
            self.add_error("against", _("Choose another meter: this is the same one."))
        return cleaned


class CallPayload(OfFryer):
    """The chef is called; the act stays open until someone answers it."""


class AnswerPayload(OfFryer):
    """A call answered."""

    call = forms.UUIDField()


class SettledPayload(OfFryer):
    """What was done with the oil, and with the food fried since the last good reading."""

    verdict = forms.UUIDField()
    oil_done = forms.ChoiceField(choices=OIL_DONE, label=_("What was done with the oil?"))
    food_done = forms.ChoiceField(
        choices=FOOD_DONE, label=_("What was done with the food fried since the last good reading?")
    )
    drained_by = forms.UUIDField(required=False, label=_("Who drained it?"))


class ReliedPayload(OfFryer):
    """Whether a verdict stands that rested on a meter found off by a ``check``; if not, what was done."""

    verdict = forms.UUIDField()
    check = forms.UUIDField()
    stands = forms.ChoiceField(choices=STANDS, label=_("Does the verdict stand?"))
    oil_done = forms.ChoiceField(choices=OIL_DONE, required=False, label=_("What was done with the oil?"))
    food_done = forms.ChoiceField(choices=FOOD_DONE, required=False, label=_("What was done with the food?"))

    def clean(self) -> dict[str, Any]:
        """Ask what was done where the verdict does not stand, and only there."""
        cleaned = super().clean()
        fell = cleaned.get("stands") == "not"
        for name in ("oil_done", "food_done") if "stands" in cleaned else ():
            if name not in self.errors and bool(cleaned.get(name)) is not fell:
                self.add_error(
                    name, _("Say what was done.") if fell else _("Only if the verdict does not stand.")
                )
        return cleaned


class VerdictPayload(OfFryer):
    """What the program told, and what it told it from: written by the program alone."""

    verdict = forms.CharField(max_length=20)
    reason = forms.JSONField()
    changes_if = forms.JSONField()
    passing_probability = forms.DecimalField(min_value=0, max_value=1)
    passing_probability_next = forms.DecimalField(min_value=0, max_value=1)
    risk = forms.DecimalField(min_value=0, max_value=1)
    holds_until = forms.CharField(max_length=40)
    tpc_mean_pct = forms.DecimalField()
    tpc_sd_pct = forms.DecimalField()
    services = forms.JSONField(required=False)
    limits = forms.JSONField(required=False)
    taken_over_by = forms.JSONField(required=False)
    model_version = forms.CharField(max_length=20)
    head_seq = forms.CharField(max_length=20)
    head_hash = forms.CharField(max_length=64)
    answers = forms.UUIDField(required=False)
    recomputing = forms.BooleanField(required=False)


class SettingPayload(Payload):
    """The new values of one fryer, oil, product, meter, service, limit, person or of the kitchen."""

    thing = forms.ChoiceField(choices=[(thing, thing) for thing in THINGS])
    key = forms.CharField(max_length=60, required=False)
    values = forms.JSONField(required=False)
    removed = forms.BooleanField(required=False)


class UndonePayload(Payload):
    """The entry it replaces was a mistake: nothing happened."""


class ErasedPayload(Payload):
    """Names or notes of these entries were erased, as the person may ask."""

    entries = forms.JSONField()


KINDS: dict[str, type[Payload]] = {
    "reading": ReadingPayload,
    "laboratory": LaboratoryPayload,
    "senses": SensesPayload,
    "top_up": TopUpPayload,
    "care": CarePayload,
    "change": ChangePayload,
    "move": MovePayload,
    "store": StorePayload,
    "return": OfFryer,
    "load": LoadPayload,
    "hot_hours": HotHoursPayload,
    "order": OrderPayload,
    "meter_check": MeterCheckPayload,
    "meter_order": MeterOrderPayload,
    "comparison": ComparisonPayload,
    "call": CallPayload,
    "answer": AnswerPayload,
    "settled": SettledPayload,
    "relied": ReliedPayload,
    "setting": SettingPayload,
    "verdict": VerdictPayload,
    "undone": UndonePayload,
    "erased": ErasedPayload,
}
AT_A_FRYER = frozenset(
    {
        "reading",
        "laboratory",
        "senses",
        "top_up",
        "care",
        "change",
        "move",
        "store",
        "return",
        "load",
        "hot_hours",
        "order",
    }
)
AT_A_METER = frozenset({"meter_check", "meter_order", "comparison"})
COUNTING = AT_A_FRYER | AT_A_METER  # what the belief about the baths follows from
# the field that names the entry which one of this kind answers, and of which kinds that is
ABOUT = {"verdict": "answers", "settled": "verdict", "relied": "verdict", "answer": "call"}
ANSWERED = {
    "verdict": COUNTING | {"undone"},
    "settled": {"verdict"},
    "relied": {"verdict"},
    "answer": {"call"},
}
CORRECTABLE = COUNTING | {"call", "settled", "relied"}
