"""The people of a kitchen: added, changed, removed; and what no owner may do to another's account."""

from datetime import date
from html import unescape

import pytest
from addresses import second_kitchen
from cast import PASSWORD
from django.urls import reverse

from kettlewell import clock
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Entry, Person, Role, Seat
from kettlewell.records.people import SeatTerms, seat_set
from kettlewell.records.roster import people_of
from kettlewell.records.verify import verify

NEW_PASSWORD = "a new catch of haddock"
TAKEN = "Choose another sign-in name."
UNKNOWN = "Nobody in your own kitchens signs in with this name."


@pytest.fixture
def browser(signed_in, owner, marrowby):
    return signed_in(owner)


def add(browser, kitchen, **said):
    return browser.post(reverse("person-new", args=[kitchen.slug]), {"role": "cook", **said})


def change(browser, kitchen, person, **said):
    told = {"name": person.name, "present": PASSWORD, **said}
    return browser.post(reverse("person", args=[kitchen.slug, person.pk]), told)


def test_someone_added_can_sign_in(browser, client, marrowby):
    answer = add(browser, marrowby, name="Nora New", sign_in="Nora", password=NEW_PASSWORD)
    assert answer.url == reverse("people", args=[marrowby.slug])
    signed = client.post(reverse("sign-in"), {"username": "nora", "password": NEW_PASSWORD})
    assert signed.url == reverse("kitchens")
    assert "Nora New" in {str(seat.person) for seat in people_of(marrowby)}


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"name": "N", "sign_in": "n"}, "Give a password, a PIN, or both."),
        ({"name": "N", "sign_in": "n", "password": "short"}, "at least 10 characters"),
        ({"name": "N", "sign_in": "n", "pin": "12a4"}, "A PIN has 4 to 8 digits."),
        ({"name": "N", "sign_in": "n", "pin": "1111"}, "different digits"),
        ({"name": "N", "sign_in": "n", "pin": "4711", "role": "inspector"}, "ends on a date"),
        ({"name": "N", "sign_in": "n", "pin": "4711", "ends_on": "2020-01-01"}, "This day is past."),
        ({"name": "N", "sign_in": "owner@marrowby.test", "pin": "4711"}, TAKEN),
        ({"name": "N", "sign_in": "STRANGER@elsewhere.test", "pin": "4711"}, TAKEN),
        ({"sign_in": "n", "pin": "4711"}, "Write the name."),
        ({"sign_in": "nobody", "has_account": "on"}, UNKNOWN),
        ({"sign_in": "owner@marrowby.test", "has_account": "on"}, "works here already"),
    ],
)
@pytest.mark.usefixtures("stranger")
def test_what_cannot_be_is_said_and_nothing_is_kept(browser, marrowby, said, told):
    people = Person.objects.count()
    assert told in add(browser, marrowby, **said).content.decode()
    assert Person.objects.count() == people


@pytest.mark.parametrize(("language", "written"), [("en-gb", "3 Feb 2999"), ("de", "03.02.2999")])
def test_a_last_day_is_written_as_the_reader_does(browser, marrowby, inspector, language, written):
    Seat.objects.filter(person=inspector).update(ends_on=date(2999, 2, 3))
    page = browser.get(reverse("people", args=[marrowby.slug]), headers={"accept-language": language})
    assert written in page.content.decode()


def test_an_owner_gives_a_new_password_to_who_forgot_it(browser, client, marrowby, cook):
    change(browser, marrowby, cook, role="cook", password=NEW_PASSWORD)
    signed = client.post(reverse("sign-in"), {"username": cook.sign_in, "password": NEW_PASSWORD})
    assert signed.url == reverse("kitchens")


def test_a_new_password_ends_the_sessions_of_the_old_one(browser, signed_in, marrowby, cook):
    theirs = signed_in(cook)
    change(browser, marrowby, cook, role="cook", password=NEW_PASSWORD)
    assert theirs.get("/").url == reverse("sign-in")


def test_an_owner_stays_signed_in_after_changing_the_own_password(browser, marrowby, owner):
    change(browser, marrowby, owner, role="owner", password=NEW_PASSWORD)
    assert browser.get(reverse("people", args=[marrowby.slug])).status_code == 200


@pytest.mark.parametrize("present", ["", "not my password"])
@pytest.mark.parametrize("new", [{"password": NEW_PASSWORD}, {"pin": "8306"}])
def test_a_password_or_pin_is_given_only_with_the_own_password(browser, marrowby, cook, present, new):
    """An unlocked laptop of the owner's is not enough."""
    before = (Person.objects.get(pk=cook.pk), Entry.objects.count())
    page = change(browser, marrowby, cook, role="cook", present=present, **new)
    assert "This is not your password." in page.content.decode()
    after = Person.objects.get(pk=cook.pk)
    assert (after.password, after.pin) == (before[0].password, before[0].pin)
    assert Entry.objects.count() == before[1]
    assert change(browser, marrowby, cook, role="cook", present="", ends_on="2999-01-01").status_code == 302


def test_a_renewed_password_and_pin_are_told_in_every_day_book_of_the_person_without_them(
    browser, marrowby, owner, known
):
    second = Seat.objects.get(person=known).kitchen
    seat_set(marrowby, known, SeatTerms(role=Role.COOK), hand=Hand(person=owner, now=clock.now()))
    change(browser, marrowby, known, role="cook", password=NEW_PASSWORD, pin="8306")
    for kitchen in (marrowby, second):
        told = [
            entry
            for entry in Entry.objects.filter(kitchen=kitchen, payload__key=str(known.pk))
            if "renewed" in entry.payload
        ]
        assert [(entry.payload["renewed"], entry.person) for entry in told] == [(["password", "pin"], owner)]
        assert told[0].payload["values"]["role"] == "cook"
        assert verify(kitchen) is None
        assert NEW_PASSWORD not in str(told[0].payload)
        page = unescape(browser.get(reverse("entry", args=[kitchen.slug, told[0].pk])).content.decode())
        assert "The access of Sten Stranger was changed." in page
        assert "password, PIN" in page


def test_nobody_renews_the_password_of_who_works_in_a_kitchen_of_others_too(
    browser, client, marrowby, cook, stranger, hand
):
    second = second_kitchen(marrowby, stranger, hand.now)
    seat_set(second, cook, SeatTerms(role=Role.OWNER), hand=hand)
    page = browser.get(reverse("person", args=[marrowby.slug, cook.pk])).content.decode()
    assert "works in other kitchens too" in page
    change(browser, marrowby, cook, role="cook", password=NEW_PASSWORD)
    signed = client.post(reverse("sign-in"), {"username": cook.sign_in, "password": PASSWORD})
    assert signed.url == reverse("kitchens")


@pytest.fixture
def known(marrowby, owner, stranger, hand):
    """Someone who works in another kitchen of the owner's."""
    second = second_kitchen(marrowby, owner, hand.now)
    seat_set(second, stranger, SeatTerms(role=Role.COOK), hand=hand)
    return stranger


def test_who_works_in_another_of_ones_kitchens_gets_a_seat_and_keeps_the_password(
    browser, client, marrowby, known
):
    add(browser, marrowby, sign_in=known.sign_in.upper(), has_account="on")
    assert Seat.objects.filter(kitchen=marrowby, person=known).exists()
    signed = client.post(reverse("sign-in"), {"username": known.sign_in, "password": PASSWORD})
    assert signed.url == reverse("kitchens")


def test_an_account_of_a_kitchen_of_others_is_as_unknown_as_none(browser, marrowby, stranger, hand):
    """Nobody learns by guessing names who has an account, nor takes an account over."""
    second_kitchen(marrowby, stranger, hand.now)
    pages = [
        add(browser, marrowby, sign_in=name, has_account="on").content.decode()
        for name in (stranger.sign_in, "nobody@elsewhere.test")
    ]
    assert [UNKNOWN in page for page in pages] == [True, True]
    assert not Seat.objects.filter(kitchen=marrowby, person=stranger).exists()


@pytest.mark.parametrize(("field", "typed"), [("password", NEW_PASSWORD), ("pin", "4711")])
def test_a_password_or_pin_for_who_has_an_account_is_refused_and_not_dropped(
    browser, marrowby, known, field, typed
):
    page = add(browser, marrowby, sign_in=known.sign_in, has_account="on", **{field: typed})
    assert page.context["form"].errors.keys() == {field}
    assert "Leave it empty" in page.content.decode()
    assert not Seat.objects.filter(kitchen=marrowby, person=known).exists()


@pytest.mark.parametrize("said", [{"role": "cook"}, {"role": "owner", "ends_on": "2999-01-01"}])
def test_the_last_owner_stays_one(browser, marrowby, owner, said):
    assert "needs an owner" in change(browser, marrowby, owner, **said).content.decode()
    browser.post(reverse("person-remove", args=[marrowby.slug, owner.pk]))
    assert Seat.objects.get(kitchen=marrowby, person=owner).role == Role.OWNER


def test_a_person_removed_is_out_and_the_name_stays_in_the_book(browser, signed_in, marrowby, cook):
    theirs = signed_in(cook)
    browser.post(reverse("person-remove", args=[marrowby.slug, cook.pk]))
    assert theirs.get(reverse("line", args=[marrowby.slug])).status_code == 404
    assert Person.objects.get(pk=cook.pk).name == "Cora Cook"


def test_a_name_erased_is_nowhere_and_the_book_still_verifies(browser, marrowby, cook):
    browser.post(reverse("person-remove", args=[marrowby.slug, cook.pk]), {"erase": "yes"})
    gone = Person.objects.get(pk=cook.pk)
    assert (gone.name, gone.pin, gone.is_active) == ("", "", False)
    assert "Cora Cook" not in browser.get(reverse("people", args=[marrowby.slug])).content.decode()
    assert verify(marrowby) is None


def test_the_people_can_be_jumped_to_on_the_page_of_the_kitchen(signed_in, owner, cook, marrowby):
    pages = [signed_in(who).get(f"/k/{marrowby.slug}/kitchen/").content.decode() for who in (owner, cook)]
    assert [page.count('href="#people"') for page in pages] == [1, 0]
    assert 'id="people"' in pages[0]
