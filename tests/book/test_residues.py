"""What stays behind in a bath: a fold over the book, cleared by cleaning and filling alone."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from kettlewell.book import (
    Care,
    Change,
    Fryer,
    Kitchen,
    Load,
    Move,
    Oil,
    OutOfOrder,
    Product,
    Return,
    Store,
    TopUp,
)
from kettlewell.book.residues import Residues, after, under_other_settings

START = datetime(2026, 9, 7, 8, tzinfo=UTC)
KITCHEN = Kitchen(
    name="Test kitchen",
    fryers=(
        Fryer(key="chips", name="Chips", oil="rape", oil_mass_kg=20, fries=("chips",)),
        Fryer(key="fish", name="Fish", oil="rape", oil_mass_kg=20, fries=("cod",)),
        Fryer(key="veg", name="Veg", oil="rape", oil_mass_kg=20, fries=("veg",)),
    ),
    oils=(Oil(key="rape", name="Rapeseed oil"), Oil(key="nut", name="Groundnut oil")),
    products=tuple(Product(key=key, name=key) for key in ("chips", "cod", "veg", "egg")),
)


def at(fryer):
    return {"at": START, "fryer": fryer}


def left_in(fryer, *entries):
    """Return the foods left in a fryer after entries, one an hour."""
    book = [replace(entry, at=START + timedelta(hours=n)) for n, entry in enumerate(entries)]
    return after(Residues(), book, KITCHEN).at(fryer).foods


BOILED, FILLED = Care(**at("chips"), kind="boil-out"), Change(**at("chips"))
FRIED = Load(**at("chips"), product="egg")


def test_another_food_stays_until_the_bath_is_cleaned_and_filled_again():
    assert left_in("chips", FRIED) == {"egg"}
    assert left_in("chips", FRIED, FILLED) == {"egg"}
    assert left_in("chips", FRIED, BOILED) == {"egg"}
    assert left_in("chips", FRIED, BOILED, FILLED) == set()
    assert left_in("chips", FILLED, BOILED, FRIED, FILLED) == {"egg"}


def test_oil_that_is_moved_takes_along_what_its_fryer_fries_and_what_was_left_there():
    fried = Load(**at("fish"), product="egg")
    assert left_in("chips", fried, Move(**at("fish"), into="chips")) == {"cod", "egg"}
    assert left_in("chips", FRIED, BOILED, Move(**at("fish"), into="chips")) == {"cod"}


def test_a_shared_filter_carries_on_to_whoever_comes_after():
    fish, veg = (Care(**at(key), kind="shared-filter") for key in ("fish", "veg"))
    chips = Care(**at("chips"), kind="shared-filter")
    assert left_in("chips", fish, veg, chips) == {"cod", "veg", "chips"}
    assert left_in("fish", fish, veg, chips) == {"cod"}
    assert left_in("chips", fish, Care(**at("chips"), kind="filter")) == set()


def test_kept_oil_brings_back_what_it_took_along():
    assert left_in("chips", FRIED, Store(**at("chips")), BOILED, Return(**at("chips"))) == {"egg", "chips"}


def test_what_a_fryer_was_set_to_fry_stays_when_it_is_set_otherwise():
    chips, fish, veg = KITCHEN.fryers
    other = replace(KITCHEN, fryers=(chips, replace(fish, fries=("chips",)), veg))
    set_otherwise = under_other_settings(Residues(), KITCHEN, other)
    assert set_otherwise.at("fish").foods == {"cod"}
    assert set_otherwise.at("veg").foods == set()


@pytest.mark.parametrize("entry", [Change(**at("chips"), oil="nut"), TopUp(**at("chips"))])
def test_oils_leave_what_they_hold_too(entry):
    told = after(Residues(), [entry], KITCHEN)
    assert told.at("chips").oils == {"nut" if isinstance(entry, Change) else "rape"}


def test_a_fryer_is_off_from_when_it_was_first_taken_out_of_use():
    out = [OutOfOrder(at=START + timedelta(hours=n), fryer="chips") for n in (0, 2)]
    assert after(Residues(), out, KITCHEN).at("chips").off_since == START
    back = OutOfOrder(at=START + timedelta(hours=3), fryer="chips", back=True)
    assert after(Residues(), [*out, back], KITCHEN).at("chips").off_since is None
