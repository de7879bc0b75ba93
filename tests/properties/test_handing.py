"""What must hold of allergens, whatever a kitchen wrote down of its foods and did with its oil."""

from dataclasses import replace

from drawn import FEWER, KITCHEN, NOW, moments, written
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.book import CARE_KINDS, Care, Draining, Product, Protection, in_order
from kettlewell.book.allergens import GRAVE, Allergen, held
from kettlewell.book.residues import Residues, after
from kettlewell.core import assess, checkpoint
from kettlewell.core.outlook.handing import handed_over

WORDS = st.lists(st.sampled_from([*Allergen, "kiwi"]), max_size=3).map(tuple)
FOODS = ("fries", "fish", "dough")


@st.composite
def kitchens(draw):
    """Draw the kitchen with foods whose allergens are written down or not."""
    products = tuple(Product(key=key, name=key, allergens=draw(st.none() | WORDS)) for key in FOODS)
    fryers = tuple(
        replace(
            fryer,
            draining=Draining.HAND,
            fries=draw(st.lists(st.sampled_from(FOODS), unique=True).map(tuple)),
            protected=draw(st.lists(st.sampled_from(Protection), unique=True, max_size=2).map(tuple)),
        )
        for fryer in KITCHEN.fryers
    )
    return replace(KITCHEN, products=products, fryers=fryers)


cares = st.builds(Care, at=moments, fryer=st.sampled_from(("one", "two")), kind=st.sampled_from(CARE_KINDS))
books = st.lists(written(products=FOODS) | cares, max_size=25)


@given(kitchens(), books)
def test_nothing_is_offered_that_is_unknown_or_adds_what_it_does_not_name(kitchen, book):
    mine, other = kitchen.fryers
    residues = after(Residues(), in_order(book), kitchen)
    handing = handed_over(kitchen, mine, [other], residues)
    foods, bears = held(kitchen, mine.fries), residues.all_in(other)
    there = held(kitchen, bears.foods, bears.oils)
    if not mine.fries or foods.unwritten or not other.fries or there.unwritten:
        assert not handing.taken_over_by
        assert handing.not_offered
    for over in handing.taken_over_by:
        assert foods.allergens <= there.allergens
        assert there.allergens <= foods.allergens | set(over.adds)
        assert over.asks_chef or not GRAVE & set(over.adds)


@FEWER
@given(kitchens(), books, st.integers(1, 5))
def test_from_a_checkpoint_on_the_same_stays_in_every_bath(kitchen, book, day):
    begun = in_order(book)
    at = NOW if not begun else begun[0].at + (NOW - begun[0].at) * day / 6
    before = checkpoint(kitchen, begun, at=at)
    told = assess(kitchen, begun, now=NOW)
    again = assess(kitchen, [each for each in begun if each.at >= before.covers_to], now=NOW, since=before)
    assert [(each.fryer, each.in_bath, each.verdict) for each in told] == [
        (each.fryer, each.in_bath, each.verdict) for each in again
    ]
