"""What each kind of entry may say: a form a kind, the one check for screens and programs alike."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.records.canonical import decimal_text
from kettlewell.records.numbers import NumberField

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
THINGS = ("kitchen", "fryers", "oils", "products", "meters", "services", "limits", "people")

MOST_KG = 10_000


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
    "call": CallPayload,
    "answer": AnswerPayload,
    "settled": SettledPayload,
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
# the field that names the entry which one of this kind answers, and of which kinds that is
ABOUT = {"verdict": "answers", "settled": "verdict", "answer": "call"}
ANSWERED = {"verdict": AT_A_FRYER | {"undone"}, "settled": {"verdict"}, "answer": {"call"}}
CORRECTABLE = AT_A_FRYER | {"call", "settled"}
