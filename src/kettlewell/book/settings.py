"""Every setting of a kitchen, told once: what it may be set to, its unit, bounds and meaning."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import partial
from types import MappingProxyType

from kettlewell.book.kitchen import (
    LARGEST_DEVIATION_PCT,
    Draining,
    FoodKind,
    Language,
    OilKind,
    Polymers,
    Protection,
    Readings,
)

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
LEAST_KG, LEAST_BATH_KG, MOST_KG = 0.001, 0.1, 10_000.0
COOLEST_FRYING_C = 100.0  # below it water does not boil, and nothing fries
HOTTEST_FRYING_C = 230.0  # where the cut-out of a fryer acts at the latest: from memory of EN 60335-2-37
SMALLEST_ERROR_PCT = 0.05  # a twentieth of what any maker states: chosen, no source
MOST_MONTHS = 1200.0
FINEST_RESOLUTION_PCT = 0.01  # ten times as fine as any hand meter shows: chosen, no source


class SettingType(StrEnum):
    """What sort of value a setting holds."""

    NUMBER = "number"
    PRICE = "price"  # exact to its last digit
    TEXT = "text"
    TEXTS = "texts"
    WORD = "word"  # one of a few
    WORDS = "words"  # any of a few
    ZONE = "zone"
    JURISDICTION = "jurisdiction"
    QUANTITY = "quantity"  # what a limit is on
    UNIT = "unit"
    DAY = "day"
    CLOCK = "clock"
    WEEKDAYS = "weekdays"


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One setting; bounds are in the unit that its name tells.

    Both bounds are included, ``low`` not with ``above``. ``ages`` says that how the oil ages, or
    what is learnt of it, depends on it. ``meaning`` is for those who write a kitchen.toml.
    """

    name: str
    type: SettingType = SettingType.TEXT
    required: bool = False
    low: float = 0.0
    high: float = math.inf
    above: bool = False
    words: tuple[str, ...] = ()
    meaning: str = ""
    ages: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """A sort of thing of the kitchen: what one of it is called, its settings, how many there can be.

    One that is ``keyed`` is known by its key. ``most`` is far beyond any kitchen, and keeps a typo
    from taking the machine: chosen, no source.
    """

    title: str
    settings: tuple[Setting, ...]
    most: int = 1
    keyed: bool = True


number = partial(Setting, type=SettingType.NUMBER)
mass = partial(number, low=LEAST_KG, high=MOST_KG)
temperature = partial(number, high=300.0, ages=True)
months = partial(number, low=1.0, high=MOST_MONTHS)
frying_temperature = partial(number, high=HOTTEST_FRYING_C, ages=True)

KEY = Setting(name="key", required=True, ages=True)
NAME = Setting(name="name")
ALLERGENS = Setting(
    name="allergens",
    type=SettingType.TEXTS,
    meaning="[] is none; left out it is not known, and then no fryer takes over work with it",
)

KITCHEN = Thing(
    title="kitchen",
    keyed=False,
    settings=(
        Setting(name="name", required=True),
        Setting(
            name="timezone",
            type=SettingType.ZONE,
            required=True,
            ages=True,
            meaning="IANA name, such as Europe/London",
        ),
        Setting(name="jurisdiction", type=SettingType.JURISDICTION, meaning="ISO 3166-1 alpha-2, or EU"),
        number(name="risk", high=0.5, above=True),
        number(name="jug_l", high=100.0, above=True),
        number(
            name="permissible_pct",
            high=LARGEST_DEVIATION_PCT,
            above=True,
            meaning="how far a meter may be off in reference oil, either way, in points of %",
        ),
        Setting(name="laboratory_price", type=SettingType.PRICE, meaning="of one sample"),
        Setting(
            name="polymers",
            type=SettingType.WORD,
            words=tuple(Polymers),
            meaning="what decides where the law limits polymers: polar compounds, or the laboratory",
        ),
        Setting(
            name="readings",
            type=SettingType.WORD,
            words=tuple(Readings),
            meaning="when a fryer is read at the latest: when the risk asks for it, or on each day it fries",
        ),
        Setting(
            name="language",
            type=SettingType.WORD,
            words=tuple(Language),
            meaning="of printed cards and pages; left out, that of whoever prints them",
        ),
        months(name="records_months", meaning="how long everything is kept at least; left out: 24"),
        months(name="notes_months", meaning="after which notes are erased; left out: kept"),
        months(name="photos_months", meaning="after which photos are erased; left out: kept"),
        months(name="names_months", meaning="after which the names of people who left are erased"),
        Setting(name="check_code_to", meaning="an e-mail address to which the check code goes each day"),
    ),
)
OILS = Thing(
    title="oil",
    most=100,
    settings=(
        KEY,
        NAME,
        Setting(name="kind", type=SettingType.WORD, words=tuple(OilKind), ages=True),
        number(name="fresh_tpc_pct", high=100.0, ages=True),
        number(name="density_kg_per_l", low=0.5, high=1.5, ages=True, meaning="at 20 °C"),
        mass(name="pack_kg"),
        Setting(name="price_per_kg", type=SettingType.PRICE),
        ALLERGENS,
        Setting(
            name="parts",
            type=SettingType.TEXTS,
            ages=True,
            meaning="of a blend: each a kind and its share by mass, such as sunflower 60",
        ),
    ),
)
PRODUCTS = Thing(
    title="product",
    most=1000,
    settings=(
        KEY,
        NAME,
        Setting(name="kind", type=SettingType.WORD, words=tuple(FoodKind), ages=True),
        number(name="wear_factor", high=10.0, above=True, ages=True),
        number(name="uptake_kg_per_kg", high=1.0, ages=True),
        mass(name="portion_kg"),
        mass(name="basket_kg"),
        ALLERGENS,
    ),
)
FRYERS = Thing(
    title="fryer",
    most=500,
    settings=(
        KEY,
        NAME,
        Setting(name="oil", required=True, ages=True, meaning="key of an oil"),
        mass(
            name="oil_mass_kg",
            low=LEAST_BATH_KG,
            required=True,
            ages=True,
            meaning="oil at the cold-fill mark",
        ),
        frying_temperature(name="set_temp_c", low=COOLEST_FRYING_C),
        frying_temperature(
            name="standby_temp_c",
            meaning="what it stands at while hot and nothing is fried, where the thermostat is turned down",
        ),
        mass(name="minimum_mass_kg"),
        Setting(name="draining", type=SettingType.WORD, words=tuple(Draining)),
        Setting(name="fries", type=SettingType.TEXTS, ages=True, meaning="keys of products"),
        mass(name="usual_load_kg", ages=True, meaning="food in a usual service"),
        Setting(
            name="protected",
            type=SettingType.WORDS,
            words=tuple(Protection),
            meaning="what its food is promised to be",
        ),
    ),
)
METERS = Thing(
    title="meter",
    most=100,
    settings=(
        KEY,
        NAME,
        number(name="resolution_pct", low=FINEST_RESOLUTION_PCT, high=10.0, ages=True),
        number(name="largest_error_pct", low=SMALLEST_ERROR_PCT, high=50.0, ages=True),
        temperature(name="min_oil_temp_c"),
        temperature(name="max_oil_temp_c"),
        Setting(name="in_use_since", type=SettingType.DAY),
    ),
)
REFERENCE_LOTS = Thing(
    title="lot of reference oil",
    most=1000,
    settings=(
        KEY,
        NAME,
        number(name="tpc_pct", high=100.0, above=True, required=True, ages=True),
        number(name="expanded_u_pct", high=100.0, required=True, ages=True),
        number(name="coverage_factor", low=1.0, high=100.0, ages=True),
        Setting(name="opened", type=SettingType.DAY),
        Setting(name="best_before", type=SettingType.DAY),
        Setting(name="oil", ages=True, meaning="key of the oil that a control oil of the house is"),
        temperature(name="read_at_c"),
    ),
)
SERVICES = Thing(
    title="service",
    most=200,
    keyed=False,
    settings=(
        Setting(name="name", required=True, ages=True),
        Setting(name="days", type=SettingType.WEEKDAYS, required=True, ages=True),
        Setting(name="from", type=SettingType.CLOCK, required=True, ages=True),
        Setting(name="to", type=SettingType.CLOCK, required=True, ages=True),
        Setting(name="fryers", type=SettingType.TEXTS, ages=True),
    ),
)
LIMITS = Thing(
    title="limit of the house",
    most=100,
    keyed=False,
    settings=(
        Setting(name="quantity", type=SettingType.QUANTITY, required=True),
        Setting(name="unfit_when", type=SettingType.WORD, words=(">", ">=", "<", "<="), required=True),
        number(name="value", high=1000.0, above=True, required=True),
        Setting(name="unit", type=SettingType.UNIT, required=True),
        Setting(name="reason"),
        Setting(name="source"),
    ),
)

# one table of a kitchen.toml each, in its order; the kitchen's own settings stand above them
TABLES: Mapping[str, Thing] = MappingProxyType(
    {
        "oils": OILS,
        "products": PRODUCTS,
        "fryers": FRYERS,
        "meters": METERS,
        "reference_lots": REFERENCE_LOTS,
        "services": SERVICES,
        "limits": LIMITS,
    }
)
THINGS: Mapping[str, Thing] = MappingProxyType({"kitchen": KITCHEN, **TABLES})
# who writes in the day book, and on what: settings that no kitchen.toml holds
WRITERS = ("people", "tablets")
