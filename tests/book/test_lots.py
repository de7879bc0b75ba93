"""Which fryers held oil of a lot, on which days, and which perhaps did."""

from datetime import UTC, datetime, timedelta

import pytest

from kettlewell.book import Change, Move, Return, Store, TopUp
from kettlewell.book.account import in_fryer, kept_of
from kettlewell.book.lots import held, perhaps_held
from kettlewell.folder import MARROWBY, read_folder

DAY = datetime(2026, 11, 1, 8, tzinfo=UTC)
LOT = "L 4711"


@pytest.fixture(scope="module")
def kitchen():
    return read_folder(MARROWBY).setup.kitchen


def on(day):
    return DAY + timedelta(days=day)


def days(found):
    """Return by vessel from which day to which."""
    return [(one.vessel, (one.since - DAY).days, one.until and (one.until - DAY).days) for one in found]


def test_a_bath_holds_a_lot_from_the_change_that_names_it_to_the_next(kitchen):
    book = [
        Change(at=on(0), fryer="F1", delivery=LOT),
        TopUp(at=on(1), fryer="F1"),
        Change(at=on(5), fryer="F1", delivery="L 4712"),
        Change(at=on(9), fryer="F1", delivery="l4711"),
    ]
    assert days(held(LOT, book, kitchen)) == [(in_fryer("F1"), 0, 5), (in_fryer("F1"), 9, None)]


def test_it_is_followed_where_the_oil_was_moved_kept_and_put_back(kitchen):
    book = [
        Change(at=on(0), fryer="F1", delivery=LOT),
        Move(at=on(1), fryer="F1", into="F2", mass_kg=2),
        Store(at=on(2), fryer="F1"),
        Change(at=on(3), fryer="F1"),
        Return(at=on(4), fryer="F1"),
        Change(at=on(6), fryer="F2"),
    ]
    assert days(held(LOT, book, kitchen)) == [
        (in_fryer("F1"), 0, 2),
        (in_fryer("F2"), 1, 6),
        (kept_of("F1"), 2, 4),
        (in_fryer("F1"), 4, None),
    ]


def test_a_bath_that_gave_all_its_oil_away_holds_it_no_more(kitchen):
    book = [
        Change(at=on(0), fryer="F1", delivery=LOT),
        Store(at=on(1), fryer="F2"),
        Move(at=on(2), fryer="F1", into="F2"),
    ]
    sizes = {fryer.key: fryer.oil_mass_kg for fryer in kitchen.fryers}
    left = None if sizes["F1"] > sizes["F2"] else 2
    assert days(held(LOT, book, kitchen)) == [(in_fryer("F1"), 0, left), (in_fryer("F2"), 2, None)]


def test_what_names_no_lot_is_perhaps_of_it_until_another_lot_of_the_oil_is_named(kitchen):
    oils = {fryer.key: fryer.oil for fryer in kitchen.fryers}
    assert (oils["F2"], oils["F3"]) == (oils["F5"], oils["F5"])
    assert oils["F1"] != oils["F5"]
    book = [
        TopUp(at=on(-1), fryer="F3"),
        Change(at=on(0), fryer="F2", delivery=LOT),
        TopUp(at=on(1), fryer="F2"),
        TopUp(at=on(2), fryer="F3"),
        TopUp(at=on(3), fryer="F1"),
        Change(at=on(4), fryer="F2", delivery="L 4712"),
        TopUp(at=on(5), fryer="F5"),
        Change(at=on(6), fryer="F3", delivery="L 4712"),
    ]
    assert days(perhaps_held(LOT, book, kitchen)) == [(in_fryer("F3"), 2, 6)]


def test_of_a_lot_that_no_change_names_nothing_can_be_told(kitchen):
    book = [TopUp(at=on(1), fryer="F1"), Change(at=on(2), fryer="F1")]
    assert held(LOT, book, kitchen) == []
    assert perhaps_held(LOT, book, kitchen) == []
