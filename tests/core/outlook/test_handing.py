"""Who can take the work of a bath that must cool, and what is said of its own food."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from kettlewell.book import FoodKind, Fryer, Kitchen, Load, Oil, OilKind, Product, Protection
from kettlewell.book.residues import Residues, after
from kettlewell.core.outlook.handing import handed_over, in_bath

MOMENT = datetime(2026, 9, 7, 12, tzinfo=UTC)
FOODS = {"fries": (), "veg": ("gluten",), "dough": ("gluten", "milk"), "soy": ("gluten", "soya"), "pie": None}


def fryer(key, *fries, **rest):
    return Fryer(key=key, name=key, oil="rape", oil_mass_kg=20, fries=fries, **rest)


KITCHEN = Kitchen(
    name="Test kitchen",
    oils=(Oil(key="rape", name="Rapeseed oil", kind=OilKind.RAPESEED),),
    products=(
        *(Product(key=key, name=key, allergens=allergens) for key, allergens in FOODS.items()),
        Product(key="wings", name="Wings", kind=FoodKind.CHICKEN, allergens=("gluten",)),
    ),
    fryers=(fryer("F1"),),
)


def offers(mine, *others, residues=None):
    """Return who is offered for the work of a fryer, and who is not for want of what is written down."""
    handing = handed_over(KITCHEN, mine, others, residues or Residues())
    told = [(over.fryer, over.adds, over.asks_chef) for over in handing.taken_over_by]
    return told, handing.not_offered


def test_those_that_add_nothing_come_first_and_a_grave_allergen_asks_the_chef():
    others = fryer("dough", "dough"), fryer("soy", "soy"), fryer("same", "veg")
    assert offers(fryer("veg", "veg"), *others) == (
        [("same", (), False), ("soy", ("soya",), False), ("dough", ("milk",), True)],
        (),
    )


@pytest.mark.parametrize("mine", [fryer("mine"), fryer("mine", "pie"), fryer("mine", "veg", "pie")])
def test_while_its_own_food_is_not_written_down_nobody_takes_its_work(mine):
    assert offers(mine, fryer("same", "veg")) == ([], ("mine",))


@pytest.mark.parametrize("other", [fryer("other"), fryer("other", "veg", "pie")])
def test_a_fryer_whose_food_is_not_written_down_is_offered_for_none(other):
    assert offers(fryer("veg", "veg"), other) == ([], ("other",))


def test_no_bath_is_offered_that_would_take_on_an_allergen_it_does_not_hold():
    assert offers(fryer("veg", "veg"), fryer("fries", "fries")) == ([], ())


def test_a_trace_of_an_allergen_in_a_bath_is_no_leave_to_fry_it_there():
    fries, fried = fryer("fries", "fries"), Load(at=MOMENT, fryer="fries", product="veg")
    residues = after(Residues(), [fried], replace(KITCHEN, fryers=(fries,)))
    assert offers(fryer("veg", "veg"), fries, residues=residues) == ([], ())


def test_a_promise_on_either_fryer_is_kept():
    veg = fryer("veg", "veg", protected=(Protection.VEGETARIAN,))
    wings = fryer("wings", "wings")
    assert offers(veg, wings) == ([], ())
    assert offers(wings, veg) == ([], ())
    assert offers(fryer("other", "veg"), veg) == ([("veg", (), False)], ())


def test_what_was_fried_before_counts_as_what_is_fried():
    same, fried = fryer("same", "veg"), Load(at=MOMENT, fryer="same", product="dough")
    residues = after(Residues(), [fried], replace(KITCHEN, fryers=(same,)))
    assert offers(fryer("veg", "veg"), same, residues=residues) == ([("same", ("milk",), True)], ())
    bath = in_bath(KITCHEN, replace(same, protected=(Protection.MILK_FREE,)), residues)
    assert (bath.allergens, bath.left) == (("gluten", "milk"), ("milk",))
    assert [(unkept.promise, unkept.by) for unkept in bath.unkept] == [("milk-free", ("dough",))]


def test_a_promise_on_a_fryer_that_says_nothing_of_its_food_does_not_hold():
    bath = in_bath(KITCHEN, fryer("F1", protected=(Protection.GLUTEN_FREE,)), Residues())
    assert [(unkept.promise, unkept.by) for unkept in bath.unkept] == [("gluten-free", ())]
