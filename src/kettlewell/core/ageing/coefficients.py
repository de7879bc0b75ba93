"""The sourced defaults of ageing and metering: priors, never facts about a kitchen."""

from dataclasses import dataclass
from functools import cache

from kettlewell.book import FoodKind, Grade, OilKind
from kettlewell.core.data import packaged_rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Coefficient:
    """A number with its standard uncertainty, unit, source and grade."""

    value: float
    sd: float
    unit: str
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True, kw_only=True)
class OilDefaults:
    """What is assumed of a kind of oil: fresh TPC in % m/m, rate relative to rapeseed."""

    fresh_tpc_pct: float
    fresh_tpc_sd_pct: float
    rate_factor: float
    rate_factor_rel_sd: float
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True, kw_only=True)
class FoodDefaults:
    """What is assumed of a kind of food: wear relative to fries, oil taken up in kg/kg."""

    wear_factor: float
    uptake_kg_per_kg: float
    uptake_low: float
    uptake_high: float
    source: str
    grade: Grade


@cache
def coefficients() -> dict[str, Coefficient]:
    """Return the general coefficients by name."""
    return {
        row["name"]: Coefficient(
            unit=row["unit"], source=row["source"], grade=Grade(row["grade"]), **numbers(row, "value", "sd")
        )
        for row in packaged_rows("coefficients.csv")
    }


@cache
def oil_defaults() -> dict[OilKind, OilDefaults]:
    """Return the defaults of every kind of oil."""
    names = ("fresh_tpc_pct", "fresh_tpc_sd_pct", "rate_factor", "rate_factor_rel_sd")
    return {
        OilKind(row["kind"]): OilDefaults(
            source=row["source"], grade=Grade(row["grade"]), **numbers(row, *names)
        )
        for row in packaged_rows("oils.csv")
    }


@cache
def food_defaults() -> dict[FoodKind, FoodDefaults]:
    """Return the defaults of every kind of food."""
    names = ("wear_factor", "uptake_kg_per_kg", "uptake_low", "uptake_high")
    return {
        FoodKind(row["kind"]): FoodDefaults(
            source=row["source"], grade=Grade(row["grade"]), **numbers(row, *names)
        )
        for row in packaged_rows("foods.csv")
    }


def numbers(row: dict[str, str], *names: str) -> dict[str, float]:
    """Return the named cells of a row as numbers."""
    return {name: float(row[name]) for name in names}
