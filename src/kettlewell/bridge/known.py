"""What the program knows beforehand: limits of jurisdictions, and defaults with their sources."""

from dataclasses import dataclass

from kettlewell.core.ageing.coefficients import food_defaults, oil_defaults
from kettlewell.core.book import FoodKind, Limit, OilKind
from kettlewell.core.limits import jurisdictions as known_jurisdictions
from kettlewell.core.limits import limits_in


def jurisdictions() -> list[str]:
    """Return the codes a kitchen may choose from (ISO 3166-1 alpha-2, and EU)."""
    return list(known_jurisdictions())


def limits_for(jurisdiction: str | None) -> list[Limit]:
    """Return the packaged limits of a jurisdiction, the Union's with those of its members."""
    return list(limits_in(jurisdiction)) if jurisdiction else []


@dataclass(frozen=True, slots=True, kw_only=True)
class Default:
    """A number the program takes where a kitchen gives none, and where it comes from."""

    value: float
    source: str
    grade: str


def fresh_tpc_default(kind: OilKind) -> Default:
    """Return the TPC of fresh oil of a kind, % m/m."""
    row = oil_defaults()[kind]
    return Default(value=row.fresh_tpc_pct, source=row.source, grade=row.grade)


def uptake_default(kind: FoodKind) -> Default:
    """Return the oil that a food of a kind takes up, kg per kg."""
    row = food_defaults()[kind]
    return Default(value=row.uptake_kg_per_kg, source=row.source, grade=row.grade)
