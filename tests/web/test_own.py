"""One's own access: everyone changes the own password and PIN, and nobody anybody else's."""

import pytest
from cast import PASSWORD, PIN, tablet_in
from django.contrib.auth import authenticate
from django.urls import reverse

from kettlewell import clock
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Entry, Person, Role
from kettlewell.records.people import SeatTerms, seat_set
from kettlewell.records.verify import verify

NEW_PASSWORD = "a new catch of haddock"
NEW_PIN = "8306"
OWN = "/own/"


def keep(browser, **said):
    return browser.post(OWN, {"present": PASSWORD, "password": "", "pin": "", **said})


def renewals(kitchen, person):
    """Return what each entry about somebody's access says was renewed, by whom, on which tablet."""
    told = Entry.objects.filter(kitchen=kitchen, kind="setting", payload__key=str(person.pk))
    return [
        (entry.payload["renewed"], entry.person, entry.device) for entry in told if "renewed" in entry.payload
    ]


@pytest.fixture
def tablet(marrowby, on_tablet):
    """Return the shared tablet by the fryers and a browser on it in which the cook signs."""
    device = tablet_in(marrowby, "By the fryers")
    return device, on_tablet(device)


@pytest.mark.parametrize("who", ["owner", "cook", "area_manager", "inspector", "stranger"])
def test_everyone_changes_the_own_password_and_pin(request, rf, signed_in, marrowby, who):
    person = request.getfixturevalue(who)
    browser = signed_in(person)
    assert f'href="{OWN}"' in browser.get(reverse("kitchens"), follow=True).content.decode()
    assert keep(browser, password=NEW_PASSWORD, pin=NEW_PIN).url == OWN
    person.refresh_from_db()
    assert person.check_password(NEW_PASSWORD)
    tablet = tablet_in(marrowby, "By the fryers")
    signed = authenticate(rf.post("/"), username=person.sign_in, secret_pin=NEW_PIN, device=tablet)
    assert (signed == person) is (who != "stranger")
    assert browser.get(OWN).status_code == 200


@pytest.mark.parametrize("who", ["cook", "inspector"])
def test_it_is_told_in_the_day_book_without_what_was_given(request, signed_in, marrowby, who):
    person = request.getfixturevalue(who)
    keep(signed_in(person), password=NEW_PASSWORD)
    keep(signed_in(Person.objects.get(pk=person.pk)), present=NEW_PASSWORD, pin=NEW_PIN)
    assert renewals(marrowby, person) == [(["password"], person, None), (["pin"], person, None)]
    assert verify(marrowby) is None


def test_a_new_password_or_pin_ends_every_other_session_of_the_person_and_of_nobody_else(
    signed_in, marrowby, owner, cook, tablet, on_tablet
):
    _device, by_pin = tablet
    by_pin.sign(cook)
    elsewhere, here, others = signed_in(cook), signed_in(cook), signed_in(owner)
    keep(here, pin=NEW_PIN)
    assert [one.get("/").url for one in (elsewhere, by_pin)] == [reverse("sign-in")] * 2
    assert [one.get("/").url for one in (here, others)] == [reverse("line", args=[marrowby.slug])] * 2


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"present": "not my password", "password": NEW_PASSWORD}, "This is not your password."),
        ({"present": PIN, "pin": NEW_PIN}, "This is not your password."),
        ({"present": "", "pin": NEW_PIN}, "This field is required."),
        ({}, "Give a new password, a new PIN, or both."),
        ({"password": "short"}, "at least 10 characters"),
        ({"pin": "1111"}, "different digits"),
        ({"password": NEW_PASSWORD, "pin": "12"}, "A PIN has 4 to 8 digits."),
    ],
)
def test_what_cannot_be_is_said_and_nothing_changes(signed_in, marrowby, cook, said, told):
    browser = signed_in(cook)
    before, entries = Person.objects.values().get(pk=cook.pk), Entry.objects.count()
    page = keep(browser, **said)
    assert told in page.content.decode()
    assert Person.objects.values().get(pk=cook.pk) == before
    assert Entry.objects.count() == entries


def test_who_signed_with_a_pin_gives_it_for_a_new_one_and_no_password(marrowby, cook, tablet):
    device, browser = tablet
    browser.sign(cook)
    page = browser.get(OWN)
    assert list(page.context["form"].fields) == ["present", "pin"]
    refused = browser.post(OWN, {"present": PASSWORD[:8], "pin": NEW_PIN}).content.decode()
    assert "This is not your PIN." in refused
    answer = browser.post(OWN, {"present": PIN, "pin": NEW_PIN, "password": NEW_PASSWORD})
    assert answer.url == OWN
    cook.refresh_from_db()
    assert cook.check_password(PASSWORD)
    assert renewals(marrowby, cook) == [(["pin"], cook, device)]
    assert browser.get("/").url == reverse("line", args=[marrowby.slug])


def test_the_tablet_of_one_kitchen_is_not_named_in_the_book_of_another(
    marrowby, cook, stranger, elsewhere, tablet
):
    seat_set(elsewhere, cook, SeatTerms(role=Role.COOK), hand=Hand(person=stranger, now=clock.now()))
    device, browser = tablet
    browser.sign(cook)
    browser.post(OWN, {"present": PIN, "pin": NEW_PIN})
    assert renewals(marrowby, cook) == [(["pin"], cook, device)]
    assert renewals(elsewhere, cook) == [(["pin"], cook, None)]


def test_guesses_at_the_present_password_are_stopped(signed_in, cook):
    browser = signed_in(cook)
    statuses = [keep(browser, present=f"guess {n}", pin=NEW_PIN).status_code for n in range(6)]
    assert statuses == [200] * 4 + [429] * 2
    assert keep(browser, pin=NEW_PIN).status_code == 429


def test_who_is_not_signed_in_is_led_to_the_sign_in(client, db):
    assert client.get(OWN).url == f"{reverse('sign-in')}?next={OWN}"
