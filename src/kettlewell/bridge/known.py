"""What the program knows beforehand: limits of jurisdictions, and defaults with their sources."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from kettlewell.book import FoodKind, Fryer, Grade, Kitchen, Limit, Meter, Oil, OilKind, ReferenceLot
from kettlewell.book.units import DENSITY_KG_PER_L
from kettlewell.core.ageing.coefficients import PACKAGED, oil_defaults
from kettlewell.core.limits import jurisdictions as known_jurisdictions
from kettlewell.core.limits import limits_in
from kettlewell.folder import NUMBERS

TPC = "total polar compounds"

USUAL_FRYER = Fryer(key="", name="", oil="", oil_mass_kg=1.0)
USUAL_METER = Meter(key="", name="")
USUAL_LOT = ReferenceLot(key="", name="", tpc_pct=1.0, expanded_u_pct=0.0)
# says of a meter or a bottle that what is missing was asked for, and nobody knew it
UNTOLD = "untold"
# what was taken for a meter and a bottle, unsaid, when those that do not say UNTOLD were written down
EARLIER: Mapping[str, Mapping[str, str]] = {
    "meters": {
        "resolution_pct": "0.5",
        "largest_error_pct": "2",
        "min_oil_temp_c": "40",
        "max_oil_temp_c": "200",
    },
    "reference_lots": {"read_at_c": "50"},
}
USUAL_KITCHEN = Kitchen(name="", fryers=(), oils=())
USUAL: Mapping[str, tuple[object, tuple[str, ...]]] = {
    "meters": (
        USUAL_METER,
        ("resolution_pct", "largest_error_pct", "min_oil_temp_c", "max_oil_temp_c"),
    ),
    "reference_lots": (USUAL_LOT, ("coverage_factor",)),
    "kitchen": (USUAL_KITCHEN, ("risk", "permissible_pct")),
}


def jurisdictions() -> list[str]:
    """Return the codes a kitchen may choose from (ISO 3166-1 alpha-2, and EU)."""
    return list(known_jurisdictions())


def limits_for(jurisdiction: str | None) -> list[Limit]:
    """Return the packaged limits of a jurisdiction, the Union's with those of its members."""
    return list(limits_in(jurisdiction)) if jurisdiction else []


def is_judged_in(jurisdiction: str | None) -> bool:
    """Tell whether a verified limit of a place judges polar compounds."""
    return any(
        limit.quantity == TPC and limit.value is not None and limit.grade is not Grade.MEMORY
        for limit in limits_for(jurisdiction)
    )


def quantity_rule(quantity: str) -> tuple[str, str]:
    """Return the direction ("<" or ">") and the unit of limits on a quantity."""
    for code in jurisdictions():
        for limit in limits_for(code):
            if limit.quantity == quantity and limit.value is not None:
                return limit.unfit_when[0], limit.unit
    raise LookupError(quantity)


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """How far a number may go: from ``low``, or from above it, to ``high``."""

    low: float
    high: float
    above: bool


def spans_of(thing: str) -> dict[str, Span]:
    """Return how far the numbers of a thing may go, by the name of the setting."""
    return {
        name: Span(low=span.low, high=span.high, above=span.above) for name, span in NUMBERS[thing].items()
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class KindDefault:
    """What the program takes of a kind where a kitchen says nothing, and where it comes from.

    ``rate`` is how hard it is on the oil: of an oil relative to rapeseed, of a food to frozen fries.
    """

    value: float
    rate: float
    source: str
    grade: str


def oil_default(kind: OilKind) -> KindDefault:
    """Return the TPC of fresh oil of a kind, % m/m, and how fast it ages."""
    row = PACKAGED.oils[kind]
    return KindDefault(value=row.fresh_tpc_pct, rate=row.rate_factor, source=row.source, grade=row.grade)


def food_default(kind: FoodKind) -> KindDefault:
    """Return the oil that a food of a kind takes up, kg per kg, and its wear."""
    row = PACKAGED.foods[kind]
    return KindDefault(value=row.uptake_kg_per_kg, rate=row.wear_factor, source=row.source, grade=row.grade)


def assumed(thing: str, values: Mapping[str, Any]) -> dict[str, Any]:
    """Return what is taken for a thing where its settings say nothing, by the name of the setting."""
    if thing == "oils":
        kind = OilKind(values.get("kind", OilKind.OTHER))
        oil = oil_defaults(Oil(key="", name="", kind=kind, parts=tuple(values.get("parts", ()))), PACKAGED)
        return {"fresh_tpc_pct": oil.fresh_tpc_pct, "density_kg_per_l": DENSITY_KG_PER_L}
    if thing == "products":
        food = PACKAGED.foods[FoodKind(values.get("kind", FoodKind.OTHER))]
        return {"wear_factor": food.wear_factor, "uptake_kg_per_kg": food.uptake_kg_per_kg}
    if thing == "fryers":
        load_kg = PACKAGED.usual_load_unstated.value * float(values["oil_mass_kg"])
        return {
            "set_temp_c": USUAL_FRYER.set_temp_c,
            "draining": USUAL_FRYER.draining,
            "usual_load_kg": load_kg,
        }
    usual, names = USUAL.get(thing, (None, ()))
    return {**{name: getattr(usual, name) for name in names}, **earlier(thing, values)}


def earlier(thing: str, values: Mapping[str, Any]) -> Mapping[str, str]:
    """Return what was taken unsaid when a thing was written down, if it says nothing else."""
    if values.get(UNTOLD) or (thing == "reference_lots" and values.get("oil")):
        return {}
    return EARLIER.get(thing, {})
