"""Allergens: unknown is never none, and a kitchen's spelling makes no difference."""

from dataclasses import replace

import pytest

from kettlewell.book import FoodKind, Fryer, Kitchen, Oil, OilKind, Product, Protection
from kettlewell.book.allergens import (
    GRAVE,
    OF_OIL_KIND,
    allergen,
    allergens_of,
    held,
    needs_the_chef,
    shut_out,
)

KITCHEN = Kitchen(
    name="Test kitchen",
    fryers=(Fryer(key="F1", name="Fries", oil="rape", oil_mass_kg=20),),
    oils=(Oil(key="rape", name="Rapeseed oil", kind=OilKind.RAPESEED), Oil(key="mix", name="A mix")),
    products=(
        Product(key="fries", name="Fries", allergens=()),
        Product(key="fish", name="Fish", kind=FoodKind.BATTERED_FISH, allergens=("Fish", "wheat")),
        Product(key="wings", name="Wings", kind=FoodKind.CHICKEN, allergens=()),
        Product(key="pie", name="Pie"),
    ),
)


@pytest.mark.parametrize("typed", ["egg", "Eggs", " EI ", "eier"])
def test_an_allergen_is_the_same_however_a_kitchen_spells_it(typed):
    assert allergen(typed) == "egg"


def test_a_word_that_is_not_known_stays_and_needs_the_chef():
    assert allergen("Kiwi") == "kiwi"
    assert needs_the_chef("kiwi")
    assert not needs_the_chef("gluten")
    assert all(map(needs_the_chef, GRAVE))


@pytest.mark.parametrize(
    ("kind", "written", "found"),
    [
        (OilKind.RAPESEED, None, frozenset()),
        (OilKind.RAPESEED, ("soya",), frozenset({"soya"})),
        (OilKind.SOYA, None, None),
        (OilKind.OTHER, None, None),
        (OilKind.OTHER, (), frozenset()),
    ],
)
def test_an_oil_holds_what_its_kind_does_where_nothing_else_is_written(kind, written, found):
    assert allergens_of(Oil(key="o", name="Oil", kind=kind, allergens=written)) == found


def test_what_each_kind_of_oil_holds_is_told_or_asked_for():
    """A kind that comes later is asked for until somebody looks it up."""
    assert {kind.value for kind in OilKind} - OF_OIL_KIND.keys() == {"soya", "other"}


def test_meat_in_a_food_of_another_kind_is_written_among_its_allergens():
    pie = Product(key="pie", name="Pie", allergens=("Fleisch",))
    place = replace(KITCHEN, products=(pie,))
    assert shut_out(place, Protection.VEGETARIAN, ("pie",), ()) == {"pie"}
    assert shut_out(place, Protection.GLUTEN_FREE, ("pie",), ()) == set()


def test_what_is_not_written_down_is_unknown_and_never_none():
    found = held(KITCHEN, ("fries", "fish", "pie", "gone"), ("rape", "mix"))
    assert found.allergens == {"fish", "gluten"}
    assert found.unwritten == {"pie", "gone", "mix"}


@pytest.mark.parametrize(
    ("promise", "by"),
    [
        (Protection.GLUTEN_FREE, {"fish", "pie"}),
        (Protection.NUT_FREE, {"pie"}),
        (Protection.VEGETARIAN, {"fish", "pie", "wings"}),
    ],
)
def test_a_promise_shuts_out_what_holds_or_may_hold_what_it_rules_out(promise, by):
    assert shut_out(KITCHEN, promise, ("fries", "fish", "pie", "wings"), ("rape",)) == by
