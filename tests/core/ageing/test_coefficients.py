"""The packaged defaults."""

from datetime import date

import pytest

from kettlewell.book import FoodKind, Grade, OilKind
from kettlewell.core.ageing.coefficients import coefficients, food_defaults, oil_defaults
from kettlewell.core.data import packaged_rows

TABLES = ["coefficients.csv", "oils.csv", "foods.csv", "polymers.csv"]
ROWS = [(table, row) for table in TABLES for row in packaged_rows(table)]


@pytest.mark.parametrize(("table", "row"), ROWS, ids=[f"{t}:{next(iter(r.values()))}" for t, r in ROWS])
def test_every_coefficient_says_how_well_it_is_known_and_since_when(table, row):
    """No coefficient comes from a law or a kitchen: research, derived from it, or memory."""
    assert Grade(row["grade"]) in {Grade.RESEARCH, Grade.DERIVED, Grade.MEMORY}, table
    assert row["source"]
    assert date.fromisoformat(row["date"])


def test_what_the_source_calls_memory_throughout_is_graded_so():
    from_memory = [row for _, row in ROWS if row["source"] == "from memory"]
    assert from_memory
    assert {row["grade"] for row in from_memory} == {Grade.MEMORY}


def test_every_kind_of_oil_and_food_has_its_defaults():
    assert set(oil_defaults()) == set(OilKind)
    assert set(food_defaults()) == set(FoodKind)


def test_rapeseed_and_fries_are_the_units_of_the_factors():
    assert oil_defaults()[OilKind.RAPESEED].rate_factor == 1
    assert food_defaults()[FoodKind.FROZEN_FRIES].wear_factor == 1


@pytest.mark.parametrize("kind", FoodKind)
def test_oil_pick_up_lies_in_its_range(kind):
    food = food_defaults()[kind]
    assert 0 < food.uptake_low < food.uptake_kg_per_kg < food.uptake_high < 1


@pytest.mark.parametrize("kind", OilKind)
def test_oil_defaults_are_positive_with_a_spread(kind):
    oil = oil_defaults()[kind]
    assert 0 < oil.fresh_tpc_sd_pct < oil.fresh_tpc_pct
    assert 0 < oil.rate_factor_rel_sd < 1
    assert oil.rate_factor > 0


def test_every_coefficient_has_a_spread_and_a_unit():
    assert all(one.sd > 0 and one.unit for one in coefficients().values())
