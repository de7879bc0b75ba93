"""Where oil stands by the day book: kept, gone, and the fills there were."""

from datetime import timedelta

import pytest

from kettlewell import clock
from kettlewell.bridge.accounts import empty_baths, oil_is_kept
from kettlewell.bridge.fills import past_fills
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, entry_add

NOW = clock.now().replace(microsecond=0) - timedelta(minutes=1)
SOUND = dict.fromkeys(("no_food", "no_bubbles", "probe_clear", "steady"), "yes")


@pytest.fixture
def write(marrowby, owner):
    """Write what happened some days ago."""

    def write_down(kind, days_ago, **payload):
        at = NOW - timedelta(days=days_ago)
        told = Told(id=uuid7(at), kind=kind, happened_at=at, payload={"fryer": "F1", **payload})
        return entry_add(marrowby, told, Hand(person=owner, now=at))[0]

    return write_down


def fills(kitchen, fryer="F1"):
    found = past_fills(kitchen, fryer, NOW)
    return [(fill.days, fill.last_reading_pct) for fill in found]


def test_oil_that_is_kept_and_comes_back_is_one_fill(marrowby, write):
    write("change", 6)
    write("reading", 5, tpc_pct="9", **SOUND)
    write("store", 4)
    write("change", 3)
    assert fills(marrowby) == []
    write("return", 2)
    assert fills(marrowby) == [(1, None)]
    write("change", 1)
    assert fills(marrowby) == [(5, 9.0), (1, None)]


def test_a_part_moved_out_ends_no_fill_and_all_of_it_does(marrowby, write):
    write("change", 6, fryer="F2")
    write("move", 5, fryer="F2", into="F1", mass_kg="2")
    assert fills(marrowby, "F2") == []
    write("store", 4)
    write("move", 3, fryer="F2", into="F1")
    assert fills(marrowby, "F2") == [(3, None)]


def test_oil_is_kept_from_when_it_is_stored_until_it_is_put_back(marrowby, write):
    assert not oil_is_kept(marrowby, "F1", NOW)
    write("store", 3)
    assert oil_is_kept(marrowby, "F1", NOW)
    assert not oil_is_kept(marrowby, "F1", NOW - timedelta(days=4))
    write("return", 2)
    assert not oil_is_kept(marrowby, "F1", NOW)


def test_out_of_an_empty_bath_nothing_is_kept(marrowby, write):
    """All of F2 went into F1, so that storing it kept nothing: the last word of the book is not enough."""
    write("store", 5)
    write("move", 4, fryer="F2", into="F1")
    write("store", 3, fryer="F2")
    assert not oil_is_kept(marrowby, "F2", NOW)


def test_a_bath_is_empty_until_oil_comes_into_it_again(marrowby, write):
    write("store", 5, fryer="F2")
    assert empty_baths(marrowby, NOW) == {"F2"}
    write("move", 4, into="F2", mass_kg="3")
    assert empty_baths(marrowby, NOW) == set()
    write("store", 3, fryer="F2")
    write("store", 2, fryer="F2")
    assert empty_baths(marrowby, NOW) == {"F2"}
