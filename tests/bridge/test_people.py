"""People are given seats without a screen, and refused by the same fields."""

from datetime import timedelta

import pytest
from addresses import second_kitchen
from django.core.exceptions import ValidationError

from kettlewell.bridge.people import Newcomer, Renewal, person_admit, seat_change
from kettlewell.records.models import Person, Private, Role
from kettlewell.records.people import SeatTerms, seat_set

COOK = SeatTerms(role=Role.COOK)
NED = {"sign_in": "Ned", "name": "Ned New", "pin": "4812"}


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({**NED, "name": ""}, "name"),
        ({**NED, "pin": ""}, "password"),
        ({**NED, "pin": "12"}, "pin"),
        ({**NED, "password": "short"}, "password"),
        ({**NED, "sign_in": "COOK@marrowby.test"}, "sign_in"),
        ({**NED, "has_account": True}, "pin"),
        ({"sign_in": "nobody", "has_account": True}, "sign_in"),
    ],
)
@pytest.mark.usefixtures("cook")
def test_who_cannot_have_a_seat_is_refused_by_field(marrowby, hand, said, field):
    with pytest.raises(ValidationError) as refused:
        person_admit(marrowby, Newcomer(**said), COOK, hand=hand)
    assert list(refused.value.error_dict) == [field]
    assert not Person.objects.filter(sign_in="ned").exists()


def test_no_seat_ends_on_a_day_that_is_past(marrowby, hand, cook):
    past = SeatTerms(role=Role.COOK, ends_on=(hand.now - timedelta(days=2)).date())
    for give in (
        lambda: person_admit(marrowby, Newcomer(**NED), past, hand=hand),
        lambda: seat_change(marrowby, cook, past, hand=hand),
    ):
        with pytest.raises(ValidationError) as refused:
            give()
        assert list(refused.value.error_dict) == ["ends_on"]


def test_who_works_elsewhere_too_keeps_name_and_passwords(marrowby, owner, hand, stranger, cook):
    elsewhere = second_kitchen(marrowby, stranger, hand.now)
    seat_set(elsewhere, cook, COOK, hand=hand)
    with pytest.raises(ValidationError, match="elsewhere"):
        seat_change(marrowby, cook, COOK, hand=hand, renewal=Renewal(name="Mine", pin="4812"))
    cook.refresh_from_db()
    assert cook.name == "Cora Cook"


def test_a_new_name_is_told_in_every_kitchen_of_the_person_and_the_same_in_none(marrowby, owner, hand, cook):
    quay = second_kitchen(marrowby, owner, hand.now)
    seat_set(quay, cook, COOK, hand=hand)

    def named():
        told = Private.objects.filter(entry__kitchen=quay, entry__payload__key=str(cook.pk), field="name")
        return [bytes(row.content).decode() for row in told.order_by("pk")]

    seat_change(marrowby, cook, COOK, hand=hand, renewal=Renewal(name="Cora Cook"))
    assert named() == ["Cora Cook"]
    seat_change(marrowby, cook, COOK, hand=hand, renewal=Renewal(name="Cora Crumb"))
    assert named() == ["Cora Cook", "Cora Crumb"]


def test_a_seat_and_a_name_change_together(marrowby, hand, cook):
    terms = SeatTerms(role=Role.COOK, trained_to_drain=True)
    seat = seat_change(marrowby, cook, terms, hand=hand, renewal=Renewal(name="Cora Crumb"))
    cook.refresh_from_db()
    assert (seat.trained_to_drain, cook.name) == (True, "Cora Crumb")
