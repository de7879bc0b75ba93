"""The sourced coefficients of ageing and metering: priors, never facts about a kitchen."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import partial

from kettlewell.book import FoodKind, Grade, Oil, OilKind
from kettlewell.core.data import packaged_rows

BLEND = "means of its parts by mass"


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
    """What is assumed of a kind of oil: fresh TPC in % m/m, rate relative to rapeseed.

    Fresh TPC is published from ``fresh_tpc_low_pct`` to ``fresh_tpc_high_pct``; ``fresh_tpc_sd_pct`` is
    how far the products of a kind lie apart, ``lot_sd_pct`` the deliveries of one.
    """

    fresh_tpc_pct: float
    fresh_tpc_low_pct: float
    fresh_tpc_high_pct: float
    fresh_tpc_sd_pct: float
    lot_sd_pct: float
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Coefficients:
    """All that is assumed before a kitchen's book says otherwise, by name.

    ``data/coefficients.csv`` tells of each its unit, what it means and where it comes from.
    """

    rate_at_175_c: Coefficient
    activation_energy: Coefficient
    curvature: Coefficient
    load_share: Coefficient
    heat_up_h: Coefficient
    least_rate: Coefficient
    kitchen_rate: Coefficient
    sibling_rate: Coefficient
    old_fill: Coefficient
    fill_to_fill: Coefficient
    fresh_stated: Coefficient
    treatment: Coefficient
    treated_rate: Coefficient
    ageing_noise: Coefficient
    rate_walk: Coefficient
    refill_rate_walk: Coefficient
    refill_bend_walk: Coefficient

    meter_gain: Coefficient
    meter_offset: Coefficient
    meter_repeatability: Coefficient
    largest_error_sds: Coefficient
    oil_offset: Coefficient
    oil_gain: Coefficient
    ratio_share: Coefficient
    electronics_share: Coefficient
    meter_walk: Coefficient
    meter_walk_spread: Coefficient
    check_surprise_sds: Coefficient
    after_adjusting: Coefficient
    laboratory: Coefficient
    laboratory_bias_share: Coefficient
    laboratory_odd_share: Coefficient
    laboratory_odd_spread: Coefficient
    beside_laboratory: Coefficient
    laboratory_polymers: Coefficient
    common_surprise: Coefficient
    common_baths: Coefficient
    out_of_range: Coefficient
    temperature_not_noted: Coefficient
    conditions_not_met: Coefficient

    odd_share: Coefficient
    odd_spread: Coefficient
    scatter_strength: Coefficient
    least_scatter: Coefficient
    largest_scatter: Coefficient
    occasion_min: Coefficient
    doubt_sds: Coefficient
    held_sds: Coefficient
    held_below_sds: Coefficient
    widening: Coefficient
    doubt: Coefficient
    largest_sd_that_bears_out: Coefficient
    alike_sds: Coefficient
    unlogged_change_share: Coefficient
    since_unlogged_change: Coefficient
    least_fall: Coefficient
    same_figures: Coefficient
    expected_rise: Coefficient
    one_round_h: Coefficient
    in_a_row_h: Coefficient
    held_pct: Coefficient
    longest_unread_days: Coefficient
    unseen_share: Coefficient

    usual_load_unstated: Coefficient
    largest_load: Coefficient
    load_note: Coefficient
    load_spread: Coefficient
    top_up_note: Coefficient
    busy_forgetting: Coefficient
    draw_stated: Coefficient
    draw_unstated: Coefficient
    largest_gap: Coefficient
    filled_before: Coefficient
    filled_frying: Coefficient
    filled_after: Coefficient
    replaced: Coefficient
    habit_strength: Coefficient
    bare_load: Coefficient
    unwritten_top_up: Coefficient
    silent_day: Coefficient
    silent_days: Coefficient
    soon_after_h: Coefficient
    slot_strength: Coefficient
    spread_strength: Coefficient
    busy_strength: Coefficient
    stated_strength: Coefficient
    unstated_strength: Coefficient

    cooling_h: Coefficient
    thermostat: Coefficient
    bath_temperature: Coefficient
    thermostat_off: Coefficient
    thermostat_sds: Coefficient
    thermostat_services: Coefficient
    thermostat_colder: Coefficient
    thermostat_days: Coefficient

    oils: Mapping[OilKind, OilDefaults]
    foods: Mapping[FoodKind, FoodDefaults]

    @property
    def laboratory_common(self) -> float:
        """The part of a laboratory result's standard uncertainty that all its results have in common."""
        return math.sqrt(self.laboratory_bias_share.value)

    @property
    def laboratory_own(self) -> float:
        """The part of a laboratory result's standard uncertainty that is another in each."""
        return math.sqrt(1 - self.laboratory_bias_share.value)

    def __reduce__(self) -> str | tuple[partial["Coefficients"], tuple[()]]:
        """Pickle the packaged ones by name: every stored belief that is opened then shares one value."""
        if self is PACKAGED:
            return "PACKAGED"
        return partial(Coefficients, **{field.name: getattr(self, field.name) for field in fields(self)}), ()


def oil_defaults(oil: Oil, known: Coefficients) -> OilDefaults:
    """Return what is assumed of an oil: that of its kind, of a blend the means of its parts by mass.

    TPC is additive by mass; that rates are is an approximation, and that their spreads are is cautious.
    """
    shares = oil.shares()
    if not shares:
        return known.oils[oil.kind]
    names = [field.name for field in fields(OilDefaults) if field.type is float]
    means = {name: sum(share * getattr(known.oils[kind], name) for kind, share in shares) for name in names}
    return OilDefaults(source=BLEND, grade=Grade.DERIVED, **means)


def read_packaged() -> Coefficients:
    """Return the packaged coefficients; raises TypeError for a table that lacks a name or has one more."""
    general = {
        row["name"]: Coefficient(
            unit=row["unit"], source=row["source"], grade=Grade(row["grade"]), **numbers(row, "value", "sd")
        )
        for row in packaged_rows("coefficients.csv")
    }
    of_oil, of_food = (
        [field.name for field in fields(kind) if field.type is float] for kind in (OilDefaults, FoodDefaults)
    )
    oils = {
        OilKind(row["kind"]): OilDefaults(
            source=row["source"],
            grade=Grade(row["grade"]),
            **numbers(row, *of_oil),
        )
        for row in packaged_rows("oils.csv")
    }
    foods = {
        FoodKind(row["kind"]): FoodDefaults(
            source=row["source"], grade=Grade(row["grade"]), **numbers(row, *of_food)
        )
        for row in packaged_rows("foods.csv")
    }
    return Coefficients(**general, oils=oils, foods=foods)


def numbers(row: Mapping[str, str], *names: str) -> dict[str, float]:
    """Return the named cells of a row as numbers."""
    return {name: float(row[name]) for name in names}


PACKAGED = read_packaged()
