"""The packaged defaults, and runs with others."""

import pickle
from dataclasses import fields, replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.book import Care, Change, FoodKind, Grade, LabResult, Oil, OilKind
from kettlewell.core import assess
from kettlewell.core.ageing import coefficients
from kettlewell.core.ageing.coefficients import (
    PACKAGED,
    Coefficient,
    Coefficients,
    oil_defaults,
    read_packaged,
)
from kettlewell.core.belief.walk import walk_to
from kettlewell.core.data import packaged_rows

TABLES = ["coefficients.csv", "oils.csv", "foods.csv", "polymers.csv"]
GRADES = {Grade.RESEARCH, Grade.DERIVED, Grade.MEMORY}
ROWS = [(table, row) for table in TABLES for row in packaged_rows(table)]
NAMES = [field.name for field in fields(Coefficients) if field.type is Coefficient]


@pytest.mark.parametrize(("table", "row"), ROWS, ids=[f"{t}:{next(iter(r.values()))}" for t, r in ROWS])
def test_every_coefficient_says_how_well_it_is_known_and_since_when(table, row):
    """No coefficient comes from a law or a kitchen: research, derived from it, or memory."""
    assert Grade(row["grade"]) in GRADES, table
    assert row["source"]
    assert date.fromisoformat(row["date"])


def test_what_the_source_calls_memory_throughout_is_graded_so():
    from_memory = [row for _, row in ROWS if row["source"] == "from memory"]
    assert from_memory
    assert {row["grade"] for row in from_memory} == {Grade.MEMORY}


def test_every_kind_of_oil_and_food_has_its_defaults():
    assert set(PACKAGED.oils) == set(OilKind)
    assert set(PACKAGED.foods) == set(FoodKind)


def test_rapeseed_and_fries_are_the_units_of_the_factors():
    assert PACKAGED.oils[OilKind.RAPESEED].rate_factor == 1
    assert PACKAGED.foods[FoodKind.FROZEN_FRIES].wear_factor == 1


@pytest.mark.parametrize("kind", FoodKind)
def test_oil_pick_up_lies_in_its_range(kind):
    food = PACKAGED.foods[kind]
    assert 0 <= food.uptake_low < food.uptake_kg_per_kg < food.uptake_high < 1


@pytest.mark.parametrize("kind", OilKind)
def test_oil_defaults_are_positive_with_a_spread(kind):
    oil = PACKAGED.oils[kind]
    assert 0 < oil.fresh_tpc_sd_pct < oil.fresh_tpc_pct
    assert 0 < oil.rate_factor_rel_sd < 1
    assert oil.rate_factor > 0


@pytest.mark.parametrize("kind", OilKind)
def test_deliveries_of_a_kind_reach_over_what_is_published_of_it(kind):
    """Two standard deviations, of products and deliveries together, reach as far as the range, or nearly."""
    oil = PACKAGED.oils[kind]
    reach_pct = 2 * np.hypot(oil.fresh_tpc_sd_pct, oil.lot_sd_pct)
    assert oil.fresh_tpc_low_pct < oil.fresh_tpc_pct < oil.fresh_tpc_high_pct
    assert 2 * reach_pct > 0.75 * (oil.fresh_tpc_high_pct - oil.fresh_tpc_low_pct)


def test_a_blend_has_the_means_of_its_parts_by_mass():
    blend = oil_defaults(Oil(key="mix", name="Mix", parts=("sunflower 60", "palm-olein 40 %")), PACKAGED)
    assert blend.fresh_tpc_pct == pytest.approx(0.6 * 5 + 0.4 * 7.5)
    assert blend.rate_factor == pytest.approx(0.6 * 1.2 + 0.4 * 0.5)
    assert blend.lot_sd_pct == pytest.approx(0.6 * 0.7 + 0.4 * 1.0)


@pytest.mark.parametrize(
    "part", ["sunflower", "sunflower much", "hazelnut 3", "soya 0", "soya -2", "soya inf", ""]
)
def test_a_part_that_is_no_kind_with_a_share_is_refused(part):
    with pytest.raises(ValueError, match="part"):
        Oil(key="mix", name="Mix", parts=(part,))


@given(st.lists(st.tuples(st.sampled_from(OilKind), st.integers(1, 100)), min_size=1, max_size=4))
def test_a_blend_lies_between_its_parts(parts):
    told = tuple(f"{kind} {share}" for kind, share in parts)
    blend = oil_defaults(Oil(key="mix", name="Mix", parts=told), PACKAGED)
    for name in ("fresh_tpc_pct", "rate_factor", "lot_sd_pct"):
        of_parts = [getattr(PACKAGED.oils[kind], name) for kind, _ in parts]
        assert min(of_parts) - 1e-9 <= getattr(blend, name) <= max(of_parts) + 1e-9


def test_rates_lie_in_the_order_that_was_published():
    """Palm and olive slowest, sunflower fastest (Holgado 2021, Rade 1997, Abdulkarim 2007)."""
    rates = {kind: PACKAGED.oils[kind].rate_factor for kind in OilKind}
    assert max(rates, key=rates.get) is OilKind.SUNFLOWER
    assert rates[OilKind.HARD_PALM] < rates[OilKind.OLIVE] < rates[OilKind.HIGH_OLEIC]
    assert rates[OilKind.HIGH_OLEIC] < rates[OilKind.MID_OLEIC_SUNFLOWER] < rates[OilKind.SUNFLOWER]


@pytest.mark.parametrize("name", NAMES)
def test_every_coefficient_has_a_spread_and_a_unit(name):
    coefficient = getattr(PACKAGED, name)
    assert coefficient.sd > 0
    assert coefficient.unit


def test_the_table_holds_the_names_of_the_value_and_no_others():
    assert sorted(NAMES) == sorted(row["name"] for row in packaged_rows("coefficients.csv"))


@pytest.mark.parametrize("change", ["one too few", "one too many"])
def test_a_table_that_lacks_a_name_or_has_one_more_is_refused(monkeypatch, change):
    def rows(name):
        whole = list(packaged_rows(name))
        if name != "coefficients.csv":
            return whole
        return whole[1:] if change == "one too few" else [*whole, {**whole[0], "name": "rate_at_200_c"}]

    monkeypatch.setattr(coefficients, "packaged_rows", rows)
    with pytest.raises(TypeError, match="rate_at_175_c" if change == "one too few" else "rate_at_200_c"):
        read_packaged()


def test_a_run_with_other_coefficients_gives_another_answer_and_leaves_the_packaged_ones(kitchen, book, at):
    """A sensitivity run: oil that ages twice as fast beforehand is believed to age faster."""
    entries, now = book(4), at(0, "16:00")
    usual, slow = assess(kitchen, entries, now=now), PACKAGED.rate_at_175_c.value
    faster = replace(PACKAGED, rate_at_175_c=replace(PACKAGED.rate_at_175_c, value=2 * slow))
    other = assess(kitchen, entries, now=now, since=faster)
    rates = [next(bath.rate_pct_per_h for bath in baths if bath.fryer == "big") for baths in (usual, other)]
    assert rates[1] == pytest.approx(2 * rates[0], rel=1e-6)
    assert PACKAGED.rate_at_175_c.value == slow
    assert assess(kitchen, entries, now=now) == usual


# each with what a walk rests on: a value of the belief, or of the pattern of loads
USES = {
    "meter_repeatability": "sd",
    "fill_to_fill": "sd",
    "fresh_stated": "sd",
    "treatment": "value",
    "treated_rate": "sd",
    "ageing_noise": "sd",
    "rate_walk": "sd",
    "refill_rate_walk": "sd",
    "old_fill": "value",
    "doubt_sds": "value",
    "widening": "value",
    "load_share": "value",
    "heat_up_h": "value",
    "usual_load_unstated": "value",
    "load_spread": "sd",
    "activation_energy": "value",
    "laboratory": "sd",
}


@pytest.mark.parametrize(("name", "part"), USES.items())
def test_no_coefficient_is_fixed_anywhere_else(kitchen, book, at, name, part):
    """A walk with another one comes out otherwise, and with the same twice the same."""
    fryers = (replace(kitchen.fryers[0], set_temp_c=185.0, usual_load_kg=None), *kitchen.fryers[1:])
    place = replace(kitchen, fryers=fryers)
    small = [entry for entry in book(9, 9.5, 11, fryer="small") if not isinstance(entry, Change)]
    lab = LabResult(at=at(2, "09:10"), fryer="big", tpc_pct=8.0)
    filled = Change(at=at(2, "10:00"), fryer="big", delivery="May", fresh_tpc_pct=5.0)
    powder = Care(at=at(2, "15:00"), fryer="big", kind="adsorbent")
    entries, now = [*book(4, 6, 15), filled, *small, lab, powder], at(2, "16:00")
    coefficient = getattr(PACKAGED, name)
    other = replace(PACKAGED, **{name: replace(coefficient, **{part: 1.5 * getattr(coefficient, part)})})
    first, again, changed = (
        walk_to(place, entries, now=now, since=known).up_to_date() for known in (PACKAGED, PACKAGED, other)
    )
    told = [np.concatenate([b.own_mean().ravel(), b.own_cov.ravel()]) for b in (first, again, changed)]
    assert np.array_equal(told[0], told[1])
    assert np.abs(told[0] - told[2]).max() > 1e-9


def pickled(known: Coefficients) -> Coefficients:
    """Return what comes back from a pickle."""
    return pickle.loads(pickle.dumps(known))  # noqa: S301 - our own bytes


def test_pickled_packaged_coefficients_come_back_as_the_very_same() -> None:
    """Else each stored belief that a server opens brings a copy along, which caches by identity keep."""
    assert pickled(PACKAGED) is PACKAGED


def test_other_coefficients_come_back_from_a_pickle_as_what_they_were() -> None:
    """A sensitivity run hands them to other processes."""
    other = replace(PACKAGED, curvature=replace(PACKAGED.curvature, value=0.5))
    again = pickled(other)
    assert again is not other
    assert {f.name: getattr(again, f.name) for f in fields(again)} == {
        f.name: getattr(other, f.name) for f in fields(other)
    }
