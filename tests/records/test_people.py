"""People, their seats, their PINs, and how they leave."""

from datetime import timedelta

import pytest
from cast import PASSWORD, PIN, tablet_in
from django.contrib.auth import authenticate
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from kettlewell import clock
from kettlewell.records.ledger import setting_add
from kettlewell.records.models import Entry, Kitchen, Person, Private, Role, Seat
from kettlewell.records.people import (
    AlreadySetUpError,
    LastOwnerError,
    SeatTerms,
    device_add,
    device_retire,
    first_owner_add,
    person_add,
    person_erase,
    pin_set,
    seat_remove,
    seat_set,
)
from kettlewell.records.selectors import notes_of
from kettlewell.records.settings import day_in, settings_of, written_of
from kettlewell.records.signing import may_renew
from kettlewell.records.verify import verify


@pytest.mark.parametrize("pin", ["4711", "12345678", "0012"])
def test_a_pin_of_4_to_8_digits_is_taken_and_kept_as_a_hash(pin):
    person = Person(sign_in="x")
    pin_set(person, pin)
    assert person.pin.startswith("argon2")
    assert pin not in person.pin


@pytest.mark.parametrize("pin", ["", "123", "123456789", "12a4", "1111", "١٢٣٤", "12 34", "-123"])
def test_another_pin_is_refused(pin):
    person = Person(sign_in="x")
    with pytest.raises(ValidationError) as error:
        pin_set(person, pin)
    assert set(error.value.message_dict) == {"pin"}
    assert person.pin == ""


@pytest.mark.parametrize("password", ["short", "password1234", "rosalind-cook"])
def test_a_weak_password_is_refused(db, password):
    with pytest.raises(ValidationError) as error:
        person_add(sign_in="rosalind-cook", name="Rosalind", password=password)
    assert set(error.value.message_dict) == {"password"}
    assert not Person.objects.exists()


def test_one_sign_in_name_is_one_person_however_it_is_typed(owner):
    with pytest.raises(ValidationError) as error:
        person_add(sign_in=" OWNER@marrowby.test ", name="Another")
    assert set(error.value.message_dict) == {"sign_in"}


def test_a_person_signs_in_with_the_password(rf, owner):
    request = rf.post("/")
    assert authenticate(request, username=owner.sign_in, password=PASSWORD) == owner
    assert authenticate(rf.post("/"), username=owner.sign_in, password="another password") is None


@pytest.fixture
def tablet(marrowby):
    return tablet_in(marrowby, "Tablet by the pass")


def test_a_person_signs_on_the_tablet_with_the_pin(rf, cook, tablet):
    assert authenticate(rf.post("/"), username=cook.sign_in, secret_pin=PIN, device=tablet) == cook
    assert authenticate(rf.post("/"), username=cook.sign_in, secret_pin="4712", device=tablet) is None


def test_a_pin_opens_nothing_away_from_the_kitchens_tablet(rf, cook, stranger, tablet):
    elsewhere = tablet_in(Kitchen.objects.create(slug="another"), "Another tablet")
    tries = [
        {"username": cook.sign_in, "secret_pin": PIN},
        {"username": cook.sign_in, "secret_pin": PIN, "device": None},
        {"username": cook.sign_in, "secret_pin": PIN, "device": elsewhere},
        {"username": stranger.sign_in, "secret_pin": PIN, "device": tablet},
        {"username": "nobody", "secret_pin": PIN, "device": tablet},
        {"username": cook.sign_in, "password": PIN},
    ]
    assert [authenticate(rf.post("/"), **told) for told in tries] == [None] * len(tries)


def test_a_retired_tablet_opens_nothing(rf, cook, tablet):
    tablet.retired_at = clock.now()
    tablet.save()
    assert authenticate(rf.post("/"), username=cook.sign_in, secret_pin=PIN, device=tablet) is None


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago"])
def test_a_pin_opens_the_tablet_to_the_last_day_of_a_seat_on_the_kitchens_clocks(
    rf, marrowby, cook, tablet, hand, zone
):
    """One clock or the other shows another day than UTC at any hour."""
    setting_add(marrowby, "kitchen", "", {"timezone": zone}, hand=hand)
    opened = []
    for days in (0, -1):
        last_day = day_in(marrowby, clock.now()) + timedelta(days=days)
        Seat.objects.filter(kitchen=marrowby, person=cook).update(ends_on=last_day)
        opened.append(authenticate(rf.post("/"), username=cook.sign_in, secret_pin=PIN, device=tablet))
    assert opened == [cook, None]


def test_who_has_no_pin_signs_with_none(rf, cook, tablet):
    cook.pin = ""
    cook.save()
    assert authenticate(rf.post("/"), username=cook.sign_in, secret_pin="", device=tablet) is None


def test_a_seat_and_each_change_of_it_is_an_entry(marrowby, cook, hand):
    seat_set(marrowby, cook, SeatTerms(role=Role.COOK, trained_to_drain=True), hand=hand)
    entry = Entry.objects.filter(kitchen=marrowby).last()
    assert (entry.payload["thing"], entry.payload["key"]) == ("people", str(cook.pk))
    assert entry.payload["values"] == {"role": "cook", "ends_on": None, "trained_to_drain": True}
    assert notes_of([entry]) == {(entry.pk, "name"): cook.name}
    assert cook.name not in str(entry.payload)


def test_an_inspectors_seat_needs_an_end(marrowby, stranger, hand):
    with pytest.raises(ValidationError) as error:
        seat_set(marrowby, stranger, SeatTerms(role=Role.INSPECTOR), hand=hand)
    assert set(error.value.message_dict) == {"ends_on"}
    with pytest.raises(IntegrityError), transaction.atomic():
        Seat.objects.create(kitchen=marrowby, person=stranger, role=Role.INSPECTOR)


def test_a_password_is_renewed_by_who_looks_after_all_kitchens_of_the_person(
    marrowby, owner, cook, inspector, hand
):
    now = clock.now()
    assert may_renew(owner, cook, now)
    assert not may_renew(inspector, cook, now)
    other = Kitchen.objects.create(slug="another")
    seat_set(other, cook, SeatTerms(role=Role.OWNER), hand=hand)
    assert not may_renew(owner, cook, now)
    assert may_renew(cook, cook, now) is False
    seat_set(other, owner, SeatTerms(role=Role.OWNER), hand=hand)
    assert may_renew(owner, cook, now)


def endings(kitchen, person, hand):
    next_week = clock.now().date() + timedelta(days=7)
    return {
        "removed": lambda: seat_remove(kitchen, person, hand=hand),
        "made a cook": lambda: seat_set(kitchen, person, SeatTerms(role=Role.COOK), hand=hand),
        "ending": lambda: seat_set(kitchen, person, SeatTerms(role=Role.OWNER, ends_on=next_week), hand=hand),
        "erased": lambda: person_erase(kitchen, person, hand=hand),
    }


@pytest.mark.parametrize("way", ["removed", "made a cook", "ending", "erased"])
def test_the_last_owner_stays(marrowby, owner, area_manager, hand, way):
    head = marrowby.head_seq
    with pytest.raises(LastOwnerError, match="needs an owner"), transaction.atomic():
        endings(marrowby, owner, hand)[way]()
    assert Seat.objects.get(kitchen=marrowby, person=owner).role == Role.OWNER
    assert Kitchen.objects.get(pk=marrowby.pk).head_seq == head


@pytest.mark.parametrize("way", ["removed", "made a cook", "ending", "erased"])
def test_an_owner_may_go_when_another_stays(marrowby, owner, cook, hand, way):
    seat_set(marrowby, cook, SeatTerms(role=Role.OWNER), hand=hand)
    endings(marrowby, owner, hand)[way]()
    assert not Seat.objects.filter(kitchen=marrowby, person=owner, role=Role.OWNER, ends_on=None).exists()
    assert verify(marrowby) is None


def test_an_owner_whose_seat_ends_does_not_count_as_the_one_who_stays(marrowby, owner, cook, hand):
    next_week = clock.now().date() + timedelta(days=7)
    seat_set(marrowby, cook, SeatTerms(role=Role.OWNER, ends_on=next_week), hand=hand)
    with pytest.raises(LastOwnerError):
        seat_remove(marrowby, owner, hand=hand)


def test_an_erased_person_is_gone_by_name_and_the_day_book_stands(marrowby, cook, hand):
    name, sign_in = cook.name, cook.sign_in
    person_erase(marrowby, cook, hand=hand)
    cook.refresh_from_db()
    assert (cook.name, cook.pin, cook.is_active) == ("", "", False)
    assert not cook.has_usable_password()
    assert sign_in not in cook.sign_in
    assert not Seat.objects.filter(person=cook).exists()
    assert not any(name.encode() in bytes(one.content or b"") for one in Private.objects.all())
    assert verify(marrowby) is None


def test_an_account_with_a_seat_elsewhere_stays(marrowby, cook, hand):
    other = Kitchen.objects.create(slug="another")
    seat_set(other, cook, SeatTerms(role=Role.OWNER), hand=hand)
    person_erase(marrowby, cook, hand=hand)
    cook.refresh_from_db()
    assert (cook.is_active, bool(cook.name)) == (True, True)


def test_erasing_someone_who_was_never_here_writes_nothing(marrowby, hand, stranger):
    head = marrowby.head_seq
    person_erase(marrowby, stranger, hand=hand)
    assert marrowby.head_seq == head


def test_a_server_has_one_first_owner(db):
    first = first_owner_add(sign_in="Olive", name="Olive Owner", password=PASSWORD)
    assert first.check_password(PASSWORD)
    with pytest.raises(AlreadySetUpError):
        first_owner_add(sign_in="another", name="Another", password=PASSWORD)
    assert list(Person.objects.all()) == [first]


def test_a_tablet_made_known_and_retired_is_two_entries_and_no_fault(marrowby, hand):
    tablet = device_add(marrowby, "By the pass", hand=hand)
    given = settings_of(marrowby)["tablets"]
    assert given == {str(tablet.pk): {"name": "By the pass"}}
    assert verify(marrowby) is None
    device_retire(tablet, hand=hand)
    assert settings_of(marrowby)["tablets"] == {}
    assert written_of(marrowby, "tablets").count() == 2
    assert verify(marrowby) is None


def test_a_tablet_that_cannot_be_leaves_no_entry(marrowby, hand):
    before = marrowby.head_seq
    with pytest.raises(ValidationError):
        device_add(marrowby, "x" * 61, hand=hand)
    assert Kitchen.objects.get(pk=marrowby.pk).head_seq == before
