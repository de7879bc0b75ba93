"""The words of the set-up: kinds, places, time zones, and what a packaged limit says."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any
from unicodedata import combining, normalize

from babel import Locale, UnknownLocaleError
from django.conf import settings
from django.http import HttpRequest
from django.utils.translation import get_language, pgettext_lazy, to_locale
from django.utils.translation import gettext_lazy as _

from kettlewell.book import Draining, FoodKind, Force, Grade, Limit, OilKind, Polymers, Protection, Readings
from kettlewell.book.allergens import Allergen
from kettlewell.bridge.known import (
    TPC,
    UNTOLD,
    KindDefault,
    assumed,
    food_default,
    is_judged_in,
    jurisdictions,
    limits_for,
    oil_default,
)
from kettlewell.telling import Reader
from kettlewell.telling.message import N_

Choices = list[tuple[str, Any]]
OIL_KINDS: Choices = [
    (OilKind.RAPESEED.value, _("Rapeseed oil")),
    (OilKind.HIGH_OLEIC_RAPESEED.value, _("High-oleic rapeseed oil")),
    (OilKind.SUNFLOWER.value, _("Sunflower oil")),
    (OilKind.MID_OLEIC_SUNFLOWER.value, _("Mid-oleic sunflower oil")),
    (OilKind.HIGH_OLEIC.value, _("High-oleic sunflower oil")),
    (OilKind.SOYA.value, _("Soya oil")),
    (OilKind.GROUNDNUT.value, _("Groundnut oil")),
    (OilKind.MAIZE.value, _("Maize oil")),
    (OilKind.COTTONSEED.value, _("Cottonseed oil")),
    (OilKind.RICE_BRAN.value, _("Rice bran oil")),
    (OilKind.OLIVE.value, _("Olive oil")),
    (OilKind.POMACE.value, _("Olive pomace oil")),
    (OilKind.PALM_OLEIN.value, _("Palm olein")),
    (OilKind.HARD_PALM.value, _("Hard palm fat")),
    (OilKind.COCONUT.value, _("Coconut fat")),
    (OilKind.DRIPPING.value, _("Beef dripping")),
    (OilKind.LARD.value, _("Lard")),
    (OilKind.OTHER.value, _("Another oil or fat, or a mix")),
]
FOOD_KINDS: Choices = [
    (FoodKind.FROZEN_FRIES.value, _("Frozen fries")),
    (FoodKind.FRESH_CHIPS.value, _("Fresh chips")),
    (FoodKind.CRISPS.value, _("Crisps from raw potatoes")),
    (FoodKind.BATTERED_FISH.value, _("Battered fish")),
    (FoodKind.COATED_FISH.value, _("Coated fish, pre-fried and frozen")),
    (FoodKind.CHICKEN.value, _("Chicken")),
    (FoodKind.COATED_CHICKEN.value, _("Coated chicken, pre-fried and frozen")),
    (FoodKind.SCHNITZEL.value, _("Schnitzel")),
    (FoodKind.TEMPURA.value, _("Tempura")),
    (FoodKind.BATTERED_VEGETABLES.value, _("Battered vegetables")),
    (FoodKind.ONION_RINGS.value, _("Onion rings")),
    (FoodKind.SPRING_ROLLS.value, _("Spring rolls")),
    (FoodKind.FALAFEL.value, _("Falafel")),
    (FoodKind.BREADED_CHEESE.value, _("Breaded cheese")),
    (FoodKind.DOUGHNUTS.value, _("Doughnuts")),
    (FoodKind.CHURROS.value, _("Churros")),
    (FoodKind.OTHER.value, _("Something else")),
]
# short for Regulation (EU) 1169/2011, Annex II, in its order
ALLERGENS: Choices = [
    (Allergen.GLUTEN.value, _("Cereals containing gluten")),
    (Allergen.CRUSTACEANS.value, _("Crustaceans")),
    (Allergen.EGG.value, _("Eggs")),
    (Allergen.FISH.value, pgettext_lazy("allergen", "Fish")),
    (Allergen.PEANUT.value, _("Peanuts")),
    (Allergen.SOYA.value, _("Soybeans")),
    (Allergen.MILK.value, _("Milk, lactose too")),
    (Allergen.NUTS.value, _("Nuts")),
    (Allergen.CELERY.value, _("Celery")),
    (Allergen.MUSTARD.value, _("Mustard")),
    (Allergen.SESAME.value, _("Sesame seeds")),
    (Allergen.SULPHITES.value, _("Sulphur dioxide and sulphites")),
    (Allergen.LUPIN.value, _("Lupin")),
    (Allergen.MOLLUSCS.value, _("Molluscs")),
]
DRAINING: Choices = [
    (Draining.PUMP.value, _("With a pump")),
    (Draining.HAND.value, _("By hand, once the oil is cold")),
]
PROMISED: Choices = [
    (Protection.GLUTEN_FREE.value, _("gluten-free")),
    (Protection.NUT_FREE.value, _("nut-free")),
    (Protection.MILK_FREE.value, _("milk-free")),
    (Protection.EGG_FREE.value, _("egg-free")),
    (Protection.FISH_FREE.value, _("fish-free")),
    (Protection.VEGETARIAN.value, _("vegetarian")),
]
POLYMERS: Choices = [
    ("", _("Polar compounds that stand for them")),
    (Polymers.LABORATORY.value, _("The laboratory; polar compounds only screen")),
]
READINGS: Choices = [
    ("", _("When the risk asks for it")),
    (Readings.DAILY.value, _("On every day that a fryer fries")),
]
LANGUAGES: Choices = [("", _("That of whoever prints them")), *settings.LANGUAGES]
DAYS: Choices = [
    ("mon", _("Mon")),
    ("tue", _("Tue")),
    ("wed", _("Wed")),
    ("thu", _("Thu")),
    ("fri", _("Fri")),
    ("sat", _("Sat")),
    ("sun", _("Sun")),
]
QUANTITIES: Choices = [
    (TPC, _("Polar compounds")),
    ("polymerised triglycerides", _("Polymers")),
    ("acid value", _("Acid value")),
    ("carbonyl value", _("Carbonyl value")),
    ("smoke point", _("Smoke point")),
    ("oil temperature", _("Oil temperature")),
    ("potato frying temperature", _("Temperature for frying potatoes")),
]
FORCES = {
    Force.BINDING: _("binding"),
    Force.GUIDANCE: _("guidance"),
    Force.HOUSE: _("rule of the house"),
    Force.NONE_FOUND: _("none found"),
}
GRADES = {
    Grade.PRIMARY: _("read in the law itself"),
    Grade.OFFICIAL: _("read in an official text"),
    Grade.SECONDARY: _("read in another's account of it"),
    Grade.RESEARCH: _("read in research"),
    Grade.DERIVED: _("derived from what was read"),
    Grade.MEMORY: _("from memory, unverified"),
    Grade.HOUSE: _("set by this kitchen"),
}
BOUNDS = {
    ">": _("not above {value} {unit}"),
    ">=": _("must stay below {value} {unit}"),
    "<": _("not below {value} {unit}"),
    "<=": _("must stay above {value} {unit}"),
}

SECTIONS: Choices = [
    ("fryers", _("Fryers")),
    ("oils", _("Oils")),
    ("products", _("What is fried")),
    ("meters", _("Meters")),
    ("reference_lots", _("Reference oil")),
    ("services", _("Services")),
    ("limits", _("Your own limits")),
    ("kitchen", _("The kitchen")),
]
USUAL = {
    "oils": _("polar compounds {value} % when fresh; ages {rate} times as fast as rapeseed oil"),
    "products": _("takes up {value} kg of oil for each kg; wear {rate}"),
}
PRACTICE, MEMORY, CHOSEN = N_("common practice, no source"), N_("from memory"), N_("chosen, no source")
WIDE = N_("ours, wide on purpose; chosen, no source")
# usual values that no kind tells: how they read, which setting they are of, and where they come from
OF_ALL: Mapping[str, tuple[tuple[Any, Any, str, Any], ...]] = {
    "oils": ((_("Weight of a litre"), _("{value} kg at 20 °C"), "density_kg_per_l", MEMORY),),
    "fryers": (
        (_("Food in a usual service"), _("{value} kg for each kg of oil"), "usual_load_kg", MEMORY),
        (_("Set temperature"), _("{value} °C"), "set_temp_c", CHOSEN),
    ),
    "meters": (
        (_("Smallest step of its display, %"), "{value}", "resolution_pct", WIDE),
        (_("Largest error its maker states, %"), "{value}", "largest_error_pct", WIDE),
        (_("Coldest oil it may be read in, °C"), "{value}", "min_oil_temp_c", WIDE),
        (_("Hottest oil it may be read in, °C"), "{value}", "max_oil_temp_c", WIDE),
    ),
    "reference_lots": ((_("Coverage factor k"), "{value}", "coverage_factor", PRACTICE),),
    "kitchen": (
        (_("Accepted risk"), "{value}", "risk", PRACTICE),
        (_("A meter may be off by, points"), "± {value}", "permissible_pct", PRACTICE),
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitShown:
    """A packaged limit in words."""

    quantity: str
    bound: str
    force: str
    since: str
    instrument: str
    source: str
    grade: str
    remark: str
    unverified: bool


def limits_shown(jurisdiction: str | None, reader: Reader) -> list[LimitShown]:
    """Return what is known of the limits of a place, nothing of one that is not known."""
    known = jurisdiction if jurisdiction in jurisdictions() else None
    return [_limit_shown(limit, reader) for limit in limits_for(known)]


def limits_beside(place: str, reader: Reader) -> dict[str, Any]:
    """Return what the part of a page on the limits of a place shows."""
    return {
        "jurisdiction": place,
        "limits": limits_shown(place, reader),
        "judged": place in jurisdictions() and is_judged_in(place),
    }


def _limit_shown(limit: Limit, reader: Reader) -> LimitShown:
    since = limit.in_force_since
    return LimitShown(
        quantity=label_of(QUANTITIES, limit.quantity),
        bound=bound_words(limit.unfit_when, limit.value, limit.unit, reader),
        force=str(FORCES[limit.force]),
        since=reader.written_day(since) if since else "",
        instrument=limit.instrument,
        source=reader.say(limit.source),
        grade=str(GRADES[limit.grade]),
        remark=reader.say(limit.remark).replace("degC", "°C"),
        unverified=limit.grade is Grade.MEMORY,
    )


def bound_words(unfit_when: str, value: float | None, unit: str, reader: Reader) -> str:
    """Return what a limit demands; empty where no number was found."""
    if value is None:
        return ""
    shown = unit.replace("degC", "°C").replace("% m/m", "%").removesuffix("-")
    return str(BOUNDS[unfit_when]).format(value=reader.number(value), unit=shown).strip()


def places() -> Choices:
    """Return the jurisdictions a kitchen may choose from, by name in the reader's language."""
    try:
        names: Mapping[str, str] = Locale.parse(to_locale(get_language() or "en-gb")).territories
    except UnknownLocaleError:
        names = {}
    named = sorted(((code, names.get(code, code)) for code in jurisdictions()), key=in_a_list)
    return [("", _("Another place: no limits are known")), *named]


def in_a_list(named: tuple[str, str]) -> str:
    """Return where a name stands in a list: capitals and marks on letters make no difference."""
    letters = normalize("NFKD", named[1].casefold())
    return "".join(letter for letter in letters if not combining(letter))


@cache
def zones() -> dict[str, str]:
    """Return every time zone with its country, the countries' main ones first (tzdata's zone.tab)."""
    table = files("tzdata").joinpath("zoneinfo", "zone.tab").read_text("utf-8")
    rows = [line.split("\t") for line in table.splitlines() if line and not line.startswith("#")]
    return {"UTC": "", **{row[2]: row[0] for row in rows}}


def zone_choices() -> Choices:
    """Return the time zones by name."""
    return [(zone, zone.replace("_", " ").replace("/", " / ")) for zone in sorted(zones())]


def guess(request: HttpRequest) -> dict[str, str]:
    """Return place and time zone as the country of the browser's language suggests them."""
    first = request.headers.get("Accept-Language", "").split(",")[0].split(";")[0]
    country = first.rpartition("-")[2].upper() if "-" in first else ""
    zone = next((zone for zone, code in zones().items() if country and code == country), "UTC")
    return {"jurisdiction": country if country in jurisdictions() else "", "timezone": zone}


def label_of(choices: Iterable[tuple[str, Any]], value: str) -> str:
    """Return what a choice is called."""
    return str(dict(choices).get(value, value))


@dataclass(frozen=True, slots=True, kw_only=True)
class DefaultShown:
    """A number the program takes where a kitchen gives none; ``kind`` is what it is of."""

    kind: str
    value: str
    source: str
    grade: str = ""


def defaults_shown(thing: str, reader: Reader) -> list[DefaultShown]:
    """Return the usual values of a sort of things: of each kind of oil or food, then those of all."""
    kinds: list[tuple[Any, KindDefault]] = []
    if thing == "oils":
        kinds = [(label, oil_default(OilKind(kind))) for kind, label in OIL_KINDS]
    elif thing == "products":
        kinds = [(label, food_default(FoodKind(kind))) for kind, label in FOOD_KINDS]
    return [
        *(kind_shown(thing, label, default, reader) for label, default in kinds),
        *(
            DefaultShown(
                kind=str(label),
                value=str(text).format(value=usual_number(thing, name, reader)),
                source=reader.say(source),
            )
            for label, text, name, source in OF_ALL.get(thing, ())
        ),
    ]


def kind_shown(thing: str, label: object, default: KindDefault, reader: Reader) -> DefaultShown:
    """Return the usual values of a kind: fresh TPC and rate of an oil, uptake and wear of a food."""
    value = str(USUAL[thing]).format(value=short(default.value, reader), rate=short(default.rate, reader))
    return DefaultShown(
        kind=str(label),
        value=value,
        source=reader.say(default.source),
        grade=str(GRADES[Grade(default.grade)]),
    )


def usual_number(thing: str, name: str, reader: Reader) -> str:
    """Return the usual value of a setting; of a fryer's load, for one kg of oil."""
    return short(float(assumed(thing, {"oil_mass_kg": 1, UNTOLD: "all"})[name]), reader)


def short(value: float, reader: Reader) -> str:
    """Return a number with no more decimals than it has."""
    return reader.number(value, digits=len(f"{value:g}".partition(".")[2]))
