"""What a kitchen, and an entry of its book, cannot say."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from kettlewell.book import (
    Change,
    FoodKind,
    Fryer,
    Kitchen,
    MeterCheck,
    MeterOut,
    Oil,
    OilKind,
    Product,
    ReferenceLot,
    find,
    history_of,
)
from kettlewell.book.naming import completed
from kettlewell.practice.hand_meter import HAND_METER

NOON = datetime(2026, 9, 7, 12, tzinfo=UTC)
FRIES = Product(key="fries", name="Fries", kind=FoodKind.FROZEN_FRIES)
KITCHEN = Kitchen(
    name="Test kitchen",
    fryers=(Fryer(key="big", name="Big pan", oil="rape", oil_mass_kg=20, fries=("fries",)),),
    oils=(Oil(key="rape", name="Rapeseed", kind=OilKind.RAPESEED),),
    products=(FRIES,),
    meters=(
        HAND_METER,
        replace(HAND_METER, key="lent", name="Lent meter"),
    ),
)


def lot(oil):
    return ReferenceLot(key="R1", name="Bottle", tpc_pct=20.0, expanded_u_pct=0.5, oil=oil)


@pytest.mark.parametrize("risk", [0.0, -0.01, 0.51, 1.0])
def test_a_risk_that_no_kitchen_may_accept_is_refused(risk):
    with pytest.raises(ValueError, match=r"risk must lie above 0 and at most at 0\.5"):
        replace(KITCHEN, risk=risk)


@pytest.mark.parametrize("risk", [0.001, 0.5])
def test_any_other_risk_is_the_kitchens_own(risk):
    assert replace(KITCHEN, risk=risk).risk == risk


@pytest.mark.parametrize("permissible_pct", [0.0, 10.1])
def test_a_deviation_of_no_meter_is_refused(permissible_pct):
    with pytest.raises(ValueError, match="permissible_pct must lie above 0"):
        replace(KITCHEN, permissible_pct=permissible_pct)


def test_a_control_oil_is_of_an_oil_of_the_kitchen():
    assert replace(KITCHEN, reference_lots=(lot("rape"),)).reference_lots
    assert replace(KITCHEN, reference_lots=(lot(None),)).reference_lots
    with pytest.raises(ValueError, match="no oil 'palm' in this kitchen"):
        replace(KITCHEN, reference_lots=(lot("palm"),))


@pytest.mark.parametrize("factor", [0.0, -1.0])
def test_food_that_wears_no_oil_is_refused(factor):
    with pytest.raises(ValueError, match="wear_factor must be above 0"):
        replace(KITCHEN, products=(replace(FRIES, wear_factor=factor),))


@pytest.mark.parametrize("readings", [0, 4])
def test_a_check_has_one_to_three_readings(readings):
    with pytest.raises(ValueError, match="one to three readings"):
        MeterCheck(at=NOON, meter="hand", lot="R1", readings_pct=(10.0,) * readings)


@pytest.mark.parametrize("readings", [1, 3])
def test_a_check_of_so_many_readings_has_their_mean(readings):
    check = MeterCheck(at=NOON, meter="hand", lot="R1", readings_pct=(10.0, 11.0, 15.0)[:readings])
    assert check.mean_pct == {1: 10.0, 3: 12.0}[readings]


def test_what_an_entry_names_comes_with_settings_of_its_very_moment_and_leaves_the_later_ones():
    """The meter was no longer in the settings that began with the entry, nor in those a day after."""
    alone = replace(KITCHEN, meters=KITCHEN.meters[1:])
    later = replace(alone, name="Later")
    history = history_of(KITCHEN).then(alone, NOON).then(later, NOON + timedelta(days=1))
    found = completed(history, history, [MeterOut(at=NOON, meter="hand")])
    assert [epoch.since for epoch in found.epochs] == [epoch.since for epoch in history.epochs]
    assert [[meter.key for meter in epoch.kitchen.meters] for epoch in found.epochs] == [
        ["hand", "lent"],
        ["lent", "hand"],
        ["lent"],
    ]


def test_a_fryer_that_came_later_comes_with_its_oil_and_its_food():
    fish = Product(key="fish", name="Fish", kind=FoodKind.BATTERED_FISH)
    palm = Oil(key="palm", name="Palm", kind=OilKind.PALM_OLEIN)
    new = Fryer(key="new", name="New pan", oil="palm", oil_mass_kg=10, fries=("fish",))
    later = replace(
        KITCHEN, fryers=(*KITCHEN.fryers, new), oils=(*KITCHEN.oils, palm), products=(FRIES, fish)
    )
    history = history_of(KITCHEN).then(later, NOON)
    found = completed(history, history, [Change(at=NOON - timedelta(hours=1), fryer="new")])
    there = found.at(NOON - timedelta(minutes=1))
    for things, key in ((there.fryers, "new"), (there.oils, "palm"), (there.products, "fish")):
        assert find(things, key)


def test_a_stated_uncertainty_covers_two_standard_ones_unless_told_otherwise():
    assert lot(None).u_pct == 0.25
    assert replace(lot(None), coverage_factor=2.5).u_pct == 0.2


@pytest.mark.parametrize(("ref", "where"), [("line 7", "line 7: "), ("", "meter check: ")])
def test_a_check_that_cannot_be_is_named_by_its_place(ref, where):
    with pytest.raises(ValueError, match=f"^{where}it has one to three"):
        MeterCheck(at=NOON, ref=ref, meter="hand", lot="R1", readings_pct=())
