"""Guessing: who is slowed, by what, and who is not locked out by the guesses of others."""

from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from cast import PASSWORD, tablet_in
from django.core import signing
from django.db.models import F
from django.test import Client
from django.urls import reverse

from kettlewell.records.first_start import set_up_code
from kettlewell.records.models import Person
from kettlewell.web.account.known import KNOWN_COOKIE

TOO_MANY = 429
WRONG = "not-my-secret"
WRONG_PIN = "8306"


def sign_in(client, name, password=PASSWORD, **more):
    return client.post(reverse("sign-in"), {"username": name, "password": password}, **more)


def guess(client, name, number=5, **more):
    """Return how a browser is answered that guesses a password several times."""
    return [sign_in(client, name, WRONG, **more).status_code for _ in range(number)]


@pytest.fixture
def known(cook):
    """Return a browser on which the cook signed in before."""
    browser = Client()
    sign_in(browser, cook.sign_in)
    browser.post(reverse("sign-out"))
    return browser


@pytest.fixture
def tablet(marrowby, on_tablet):
    return on_tablet(tablet_in(marrowby, "By the fryers"))


def test_five_wrong_passwords_from_wherever_lock_a_name_to_strangers_for_fifteen_minutes(client, cook, owner):
    tried = [guess(Client(REMOTE_ADDR=f"192.0.2.{n}"), cook.sign_in, 1)[0] for n in range(1, 13)]
    assert tried == [200] * 4 + [TOO_MANY] * 8
    page = sign_in(client, cook.sign_in)
    assert page.status_code == TOO_MANY
    assert "15 minutes" in page.content.decode()
    assert "on which you have signed in before" in page.content.decode()
    assert sign_in(Client(), owner.sign_in).status_code == 302
    AccessAttempt.objects.update(attempt_time=F("attempt_time") - timedelta(minutes=15, seconds=1))
    assert sign_in(client, cook.sign_in).status_code == 302


def test_strangers_lock_nobody_out_of_a_browser_known_to_the_name(known, cook):
    """Not even from the same address, as all of a kitchen may have."""
    guess(Client(), cook.sign_in, 30)
    assert sign_in(Client(), cook.sign_in).status_code == TOO_MANY
    assert sign_in(known, cook.sign_in).status_code == 302


def test_a_known_browser_has_five_tries_of_its_own(known, cook, owner):
    assert guess(known, cook.sign_in) == [200] * 4 + [TOO_MANY]
    assert sign_in(known, cook.sign_in).status_code == TOO_MANY
    assert sign_in(Client(), cook.sign_in).status_code == 302
    assert sign_in(known, owner.sign_in).status_code == 302


def test_a_browser_known_to_one_name_is_a_stranger_to_another(known, owner):
    guess(Client(REMOTE_ADDR="192.0.2.7"), owner.sign_in)
    assert sign_in(known, owner.sign_in).status_code == TOO_MANY


def test_a_forged_cookie_makes_no_browser_known(cook):
    forged = signing.get_cookie_signer(salt="another" * 2).sign("number.digest")
    for value in ("number.digest", forged):
        browser = Client()
        browser.cookies[KNOWN_COOKIE] = value
        guess(browser, cook.sign_in)
        del browser.cookies[KNOWN_COOKIE]
        assert sign_in(browser, cook.sign_in).status_code == TOO_MANY


def test_a_browser_shared_by_several_knows_them_all(known, cook, owner):
    sign_in(known, owner.sign_in)
    known.post(reverse("sign-out"))
    for name in (cook.sign_in, owner.sign_in):
        guess(Client(), name, 10)
        assert sign_in(known, name).status_code == 302
        known.post(reverse("sign-out"))


def test_thirty_names_from_one_address_are_slowed(cook, known):
    tried = [guess(Client(), f"name{n}", 1)[0] for n in range(30)]
    assert tried == [200] * 19 + [TOO_MANY] * 11
    assert sign_in(Client(), cook.sign_in).status_code == TOO_MANY
    assert sign_in(Client(REMOTE_ADDR="192.0.2.7"), cook.sign_in).status_code == 302
    assert sign_in(known, cook.sign_in).status_code == 302


def test_an_own_account_frees_no_guesses_at_others(cook, owner):
    """Signing in well forgets the failures at that name alone, not all those from the address."""
    guess(Client(), cook.sign_in, 4)
    sign_in(Client(), owner.sign_in)
    assert guess(Client(), cook.sign_in, 1) == [TOO_MANY]


def test_a_visitor_cannot_change_the_address_within_one_network(cook):
    """A network of IPv6 is what one visitor has; IPv4 written as IPv6 is as many visitors as addresses."""
    tried = [guess(Client(REMOTE_ADDR=f"2001:db8::{n:x}"), f"name{n}", 1)[0] for n in range(1, 22)]
    assert tried == [200] * 19 + [TOO_MANY] * 2
    assert sign_in(Client(REMOTE_ADDR="2001:db8:0:1::1"), cook.sign_in).status_code == 302
    mapped = [guess(Client(REMOTE_ADDR=f"::ffff:192.0.2.{n}"), f"name{n}", 1)[0] for n in range(1, 22)]
    assert mapped == [200] * 21


def test_of_a_wrong_guess_nothing_is_kept_that_was_typed(cook, signed_in):
    browser = signed_in(cook)
    browser.post(f"{reverse('own')}?q={WRONG}", {"present": WRONG, "password": "a new catch of haddock"})
    sign_in(Client(), WRONG, WRONG, next=f"/{WRONG}")
    kept = list(AccessAttempt.objects.values())
    assert len(kept) == 2
    assert WRONG not in str(kept)


def test_what_a_visitor_says_of_the_own_address_is_not_believed(cook):
    said = [{"x-forwarded-for": f"192.0.2.{n}", "forwarded": f"for=192.0.2.{n}"} for n in range(30)]
    tried = [guess(Client(headers=headers), f"name{n}", 1)[0] for n, headers in enumerate(said)]
    assert tried == [200] * 19 + [TOO_MANY] * 11


def test_a_name_of_the_browser_and_the_form_of_the_name_change_nothing(cook):
    for n, name in enumerate((cook.sign_in, cook.sign_in.upper(), f" {cook.sign_in} ", cook.sign_in)):
        guess(Client(headers={"user-agent": f"browser {n}"}), name, 1)
    assert guess(Client(), cook.sign_in, 1) == [TOO_MANY]


def test_tries_while_locked_do_not_lock_for_longer(client, cook):
    guess(client, cook.sign_in)
    at = AccessAttempt.objects.get().attempt_time
    sign_in(client, cook.sign_in, WRONG)
    assert AccessAttempt.objects.get().attempt_time == at


def test_signing_in_well_forgets_the_failures(client, cook):
    guess(client, cook.sign_in, 4)
    sign_in(client, cook.sign_in)
    assert not AccessAttempt.objects.exists()


def test_five_wrong_pins_lock_the_person_on_that_tablet_alone_and_not_the_password(
    tablet, marrowby, on_tablet, cook, owner
):
    other = on_tablet(tablet_in(marrowby, "At the door"))
    tried = [tablet.sign(cook, WRONG_PIN).status_code for _ in range(5)]
    assert tried == [200] * 4 + [TOO_MANY]
    locked = tablet.sign(cook)
    assert locked.status_code == TOO_MANY
    assert "the password works now" in locked.content.decode()
    assert tablet.sign(owner).status_code == 302
    assert other.sign(cook).status_code == 302
    assert sign_in(Client(), cook.sign_in).status_code == 302


def test_wrong_passwords_do_not_lock_the_pin(tablet, client, cook):
    guess(client, cook.sign_in, 6)
    assert tablet.sign(cook).status_code == 302


def test_signing_by_pin_forgets_the_wrong_pins(tablet, cook):
    for _ in range(4):
        tablet.sign(cook, WRONG_PIN)
    tablet.sign(cook)
    assert not AccessAttempt.objects.exists()


def test_five_wrong_codes_of_the_first_start_lock_it_for_fifteen_minutes(client, db):
    place = {"name": "Quay", "jurisdiction": "GB", "timezone": "Europe/London", "house_limit_pct": "24"}
    you = {"you-name": "Nora Quay", "you-sign_in": "nora", "you-password": PASSWORD}

    def set_up(browser, code):
        return browser.post(reverse("set-up"), {**place, **you, "you-code": code}).status_code

    tried = [set_up(Client(REMOTE_ADDR=f"192.0.2.{n}"), WRONG) for n in range(1, 9)]
    assert tried == [200] * 4 + [TOO_MANY] * 4
    assert set_up(client, set_up_code()) == TOO_MANY
    assert not Person.objects.exists()
    AccessAttempt.objects.update(attempt_time=F("attempt_time") - timedelta(minutes=15, seconds=1))
    assert set_up(client, set_up_code()) == 302
