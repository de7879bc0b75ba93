"""How much old oil stands in the yard by the day book: what was drained and not handed over."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from kettlewell import clock
from kettlewell.bridge.old_oil import old_oil
from kettlewell.bridge.verdicts import record
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told

BY = {"carrier": "A firm", "waste_code": "20 01 25"}


@pytest.fixture
def write(marrowby, cook):
    """Return a way to write an entry some days ago."""

    def written(kind, ago, **payload):
        at = clock.now() - timedelta(days=ago)
        told = Told(id=uuid7(at), kind=kind, happened_at=at, payload=payload)
        return record(marrowby, told, Hand(person=cook, now=at)).entry

    return written


def yard(marrowby):
    found = old_oil(marrowby, clock.now())
    return round(found.drained_kg, 3), found.drainings, round(found.handed_kg, 3), found.unknown


def test_what_was_drained_stands_there_until_it_is_handed_over(marrowby, write):
    assert yard(marrowby) == (0, 0, 0, 0)
    write("change", 5, fryer="F1")
    write("change", 4, fryer="F2")
    assert yard(marrowby) == (16 + 12, 2, 0, 0)
    write("collected", 3, mass_kg="20.5", **BY)
    assert yard(marrowby) == (28, 2, 20.5, 0)


def test_containers_are_weighed_by_the_density_of_oil(marrowby, write):
    write("collected", 3, containers="2", container_l="30", **BY)
    assert yard(marrowby) == (0, 0, 55.2, 0)


def test_a_hand_over_of_unknown_amount_stays_unknown(marrowby, write):
    write("collected", 3, **BY)
    assert yard(marrowby) == (0, 0, 0, 1)


def test_oil_that_was_moved_kept_or_went_with_the_food_was_not_drained(marrowby, write):
    write("store", 5, fryer="F1")
    write("return", 4, fryer="F1")
    write("move", 3, fryer="F1", into="F2", mass_kg="1")
    write("top_up", 2, fryer="F1", unit="mark")
    assert yard(marrowby)[:2] == (0, 0)


def test_kept_oil_in_whose_place_other_oil_was_kept_was_drained(marrowby, write):
    write("store", 5, fryer="F1")
    write("change", 4, fryer="F1")
    write("store", 3, fryer="F1")
    assert yard(marrowby)[:2] == (16, 1)


@pytest.mark.parametrize(
    ("said", "wrong"),
    [
        ({"containers": "2"}, "container_l"),
        ({"container_l": "30"}, "containers"),
        ({"paid": "12.50"}, "currency"),
        ({"currency": "EUR"}, "paid"),
        ({"paid": "12.50", "currency": "XQZ"}, "currency"),
        ({"paid": "12.505", "currency": "EUR"}, "paid"),
        ({"paid": "12.5", "currency": "JPY"}, "paid"),
    ],
)
def test_an_amount_and_a_payment_are_told_wholly(write, said, wrong):
    with pytest.raises(ValidationError) as error:
        write("collected", 1, **BY, **said)
    assert set(error.value.message_dict) == {wrong}


@pytest.mark.parametrize(
    ("paid", "currency"), [("12.5", "EUR"), ("-8", "GBP"), ("900", "JPY"), ("1.125", "KWD")]
)
def test_a_payment_has_as_many_decimals_as_its_currency(write, paid, currency):
    entry = write("collected", 1, **BY, paid=paid, currency=currency)
    assert (entry.payload["paid"], entry.payload["currency"]) == (paid, currency)
