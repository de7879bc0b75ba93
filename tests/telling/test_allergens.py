"""What is said of allergens: offers of work, what stays in a bath, promises."""

from dataclasses import replace

import pytest

from kettlewell.book import Protection
from kettlewell.book.allergens import MEAT, Allergen
from kettlewell.core.outlook.values import InBath, TakeOver, Unkept
from kettlewell.telling.allergens import PROMISES, WORDS, bath_warnings, take_over


@pytest.fixture
def offered(change_before, kitchen, reader):
    """Say what is told once ``overs`` are offered for the work of F2."""

    def say(*overs, not_offered=()):
        verdict = replace(change_before.verdict, taken_over_by=overs, not_offered=not_offered)
        return take_over(replace(change_before, verdict=verdict), kitchen, reader)

    return say


def test_while_a_bath_cools_the_fryer_that_takes_over_is_named_with_what_it_adds(offered):
    assert offered(TakeOver(fryer="F1")) == "While it cools, the work can go to Fries (F1)."
    with_soya = offered(TakeOver(fryer="F1", adds=("soya",)))
    assert with_soya.endswith("the work can go to Fries (F1). Food fried there then contains: soya.")


def test_what_adds_a_grave_allergen_waits_for_the_chefs_word(offered):
    asked = offered(TakeOver(fryer="F1", adds=("egg", "milk"), asks_chef=True))
    assert asked == "Only if the chef says so: Fries (F1). Food fried there then contains: egg, milk."


def test_where_the_food_is_not_written_down_nobody_is_offered_and_it_is_said_why(offered):
    assert offered(not_offered=("F2",)).startswith("No other fryer is offered for its work")
    assert offered(not_offered=("F1",)).endswith("their allergens are not written down: Fries (F1).")


def test_nobody_taking_over_is_said_only_where_a_bath_must_cool(offered, change_before, kitchen, reader):
    assert offered() == "No other fryer can take its work while it cools."
    assert take_over(replace(change_before, cooling=None), kitchen, reader) is None


def test_what_stays_in_a_bath_and_a_promise_that_does_not_hold_are_said(fry_on, kitchen, reader):
    bath = InBath(
        allergens=("fish", "gluten"),
        left=("fish", "gluten"),
        unwritten=(),
        foods_known=True,
        unkept=(Unkept(promise=Protection.GLUTEN_FREE, by=("fish",)),),
    )
    unkept, left = bath_warnings(replace(fry_on, in_bath=bath), kitchen, reader)
    assert unkept.startswith("Do not sell this food as gluten-free: Battered fish came into this bath")
    assert left.startswith("Left in this bath: fish, gluten.")
    nothing = replace(bath, left=(), unkept=(Unkept(promise=Protection.VEGETARIAN, by=()),))
    assert list(bath_warnings(replace(fry_on, in_bath=nothing), kitchen, reader)) == [
        "Do not sell this food as vegetarian: nothing says what is fried here."
    ]


def test_every_allergen_and_every_promise_has_its_words():
    assert set(WORDS) == {*Allergen, MEAT}
    assert set(PROMISES) == set(Protection)
