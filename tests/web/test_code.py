"""The code after the password: turned on by everyone for themselves, taken once, guessed by nobody."""

import hashlib
import logging
import re
from datetime import timedelta
from html import unescape

import pytest
from cast import PASSWORD
from django.conf import settings
from django.db import connection
from django.test import Client
from django.urls import reverse
from pyotp import TOTP

from kettlewell import clock
from kettlewell.bridge.entries import book_of
from kettlewell.bridge.setups import setup_of
from kettlewell.folder import write_folder
from kettlewell.records.models import Entry, Person, Private, SecondFactor
from kettlewell.records.people import device_add, person_erase
from kettlewell.records.verify import verify
from kettlewell.web.account.half import LONGEST_S

TOO_MANY = 429
OWN_CODE, CODE = "/own/code/", "/sign-in/code/"
MODEL_BACKEND = "django.contrib.auth.backends.ModelBackend"
RECOVERY = re.compile(r"<li class=\"secret\">([a-z2-7-]{29})</li>")


def code_of(secret, steps=0):
    """Return the code that an app shows now, or some steps of time before or after."""
    return TOTP(secret).at(clock.now() + timedelta(seconds=30 * steps))


def turn_on(browser, **said):
    browser.get(OWN_CODE)
    code = code_of(browser.session["shared"])
    return browser.post(OWN_CODE, {"present": PASSWORD, "code": code, **said})


def sign_in(browser, person, password=PASSWORD, **more):
    return browser.post(reverse("sign-in"), {"username": person.sign_in, "password": password, **more})


def give(browser, code, **more):
    return browser.post(CODE, {"code": code, **more})


def is_in(browser):
    return "_auth_user_id" in browser.session


@pytest.fixture
def turned_on(signed_in, owner, marrowby):
    """Turn it on for the owner; return the secret and the recovery codes."""
    browser = signed_in(owner)
    codes = RECOVERY.findall(turn_on(browser).content.decode())
    return SecondFactor.objects.get(person=owner).secret, codes


@pytest.fixture
def later(monkeypatch):
    """Return a way to let time pass."""
    begun = clock.now()
    return lambda seconds: monkeypatch.setattr(clock, "now", lambda: begun + timedelta(seconds=seconds))


# ---- turning it on and off


@pytest.mark.parametrize("who", ["owner", "area_manager", "cook"])
def test_whoever_signs_in_with_a_password_turns_it_on_and_off(request, signed_in, marrowby, who, later):
    person = request.getfixturevalue(who)
    browser = signed_in(person)
    assert f'href="{OWN_CODE}"' in browser.get("/own/").content.decode()
    page = turn_on(browser)
    assert page.status_code == 200
    assert len(set(RECOVERY.findall(page.content.decode()))) == 10
    later(30)
    secret = SecondFactor.objects.get(person=person).secret
    assert browser.post(OWN_CODE, {"present": PASSWORD, "code": code_of(secret)}).url == "/own/"
    assert not SecondFactor.objects.exists()
    told = [
        (one.payload["renewed"], one.person)
        for one in Entry.objects.filter(payload__key=str(person.pk))
        if "renewed" in one.payload
    ]
    assert told == [(["code_on"], person), (["code_off"], person)]
    assert verify(marrowby) is None


def test_the_page_shows_the_secret_as_a_picture_and_in_letters_with_no_style_of_its_own(signed_in, owner):
    browser = signed_in(owner)
    page = browser.get(OWN_CODE)
    text, secret = unescape(page.content.decode()), browser.session["shared"]
    assert "<svg " in text
    assert " ".join(re.findall("....", secret)) in text
    assert f"otpauth://totp/Kettlewell:owner%40marrowby.test?secret={secret}&issuer=Kettlewell" in text
    assert "style=" not in text
    assert "unsafe" not in page.headers["Content-Security-Policy"]
    assert browser.get(OWN_CODE).content.count(b"<svg ") == 1
    assert browser.session["shared"] == secret


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"present": "not my password"}, "This is not your password."),
        ({"code": "000000"}, "This code is wrong"),
        ({"code": ""}, "This field is required."),
        ({"code": "é" * 6}, "This code is wrong"),
    ],
)
def test_without_the_password_and_a_code_of_the_app_it_stays_off(signed_in, owner, said, told):
    page = turn_on(signed_in(owner), **said)
    assert told in page.content.decode()
    assert not SecondFactor.objects.exists()


def test_without_the_password_and_a_code_it_stays_on(signed_in, owner, turned_on):
    secret, recovery = turned_on
    browser = signed_in(owner)
    for said in ({"present": "wrong", "code": recovery[0]}, {"present": PASSWORD, "code": code_of(secret)}):
        assert browser.post(OWN_CODE, said).status_code == 200
    assert len(SecondFactor.objects.get().recovery) == 10


def test_turning_it_on_and_off_ends_the_other_sessions_of_the_person_alone(signed_in, owner, cook, marrowby):
    here, elsewhere, others = signed_in(owner), signed_in(owner), signed_in(cook)
    recovery = RECOVERY.findall(turn_on(here).content.decode())
    assert elsewhere.get("/").url == reverse("sign-in")
    again = signed_in(owner)
    here.post(OWN_CODE, {"present": PASSWORD, "code": recovery[0]})
    assert again.get("/").url == reverse("sign-in")
    assert [one.get("/").url for one in (here, others)] == [reverse("line", args=[marrowby.slug])] * 2


def test_a_pin_turns_nothing_on_and_signs_as_before(on_tablet, marrowby, owner, turned_on, hand):
    tablet = on_tablet(device_add(marrowby, "By the fryers", hand=hand))
    assert tablet.sign(owner).url == reverse("kitchens")
    assert tablet.get(OWN_CODE).status_code == 403
    assert OWN_CODE not in tablet.get("/own/").content.decode()


# ---- signing in


def test_after_the_password_the_code_is_asked_and_leads_on(owner, marrowby, turned_on, later):
    later(30)
    browser, page = Client(), reverse("book", args=[marrowby.slug])
    assert sign_in(browser, owner, next=page).url == f"{CODE}?next={page.replace('/', '%2F')}"
    assert not is_in(browser)
    assert browser.get(page).status_code == 302
    assert browser.get(CODE).status_code == 200
    before = browser.session.session_key
    assert give(browser, code_of(turned_on[0]), next=page).url == page
    assert browser.get(page).status_code == 200
    assert browser.session.session_key != before
    assert "half" not in browser.session


def test_who_did_not_turn_it_on_is_not_asked(client, cook, turned_on):
    assert sign_in(client, cook).url == reverse("kitchens")
    assert is_in(client)


def test_the_code_alone_opens_nothing(client, owner, turned_on, later):
    later(30)
    assert client.get(CODE).url.startswith(reverse("sign-in"))
    assert give(client, code_of(turned_on[0])).url.startswith(reverse("sign-in"))
    sign_in(client, owner, "not my password")
    assert give(client, code_of(turned_on[0])).url.startswith(reverse("sign-in"))
    assert not is_in(client)


@pytest.mark.parametrize("seconds", [LONGEST_S - 30, LONGEST_S + 30])
def test_the_password_holds_for_ten_minutes(client, owner, turned_on, later, seconds):
    sign_in(client, owner)
    later(seconds)
    give(client, code_of(turned_on[0]))
    assert is_in(client) is (seconds < LONGEST_S)


def test_a_new_password_voids_the_old_one_given_before(client, owner, turned_on, later):
    sign_in(client, owner)
    person = Person.objects.get(pk=owner.pk)
    person.set_password("a new catch of haddock")
    person.save()
    later(30)
    give(client, code_of(turned_on[0]))
    assert not is_in(client)


@pytest.mark.parametrize(("steps", "taken"), [(-2, False), (-1, True), (0, True), (1, True), (2, False)])
def test_a_code_is_taken_within_one_step_of_the_clock(client, owner, turned_on, later, steps, taken):
    later(300)
    sign_in(client, owner)
    give(client, code_of(turned_on[0], steps))
    assert is_in(client) is taken


def test_a_code_is_taken_once_and_none_before_it_after(owner, turned_on, later):
    later(300)
    code, before = code_of(turned_on[0]), code_of(turned_on[0], -1)
    for given, taken in ((code, True), (code, False), (before, False)):
        browser = Client()
        sign_in(browser, owner)
        give(browser, given)
        assert is_in(browser) is taken, given


def test_each_recovery_code_works_once_however_it_is_typed(owner, turned_on):
    first, second = turned_on[1][:2]
    for given, taken in ((first, True), (first, False), (second.replace("-", " ").upper(), True)):
        browser = Client()
        sign_in(browser, owner)
        give(browser, given)
        assert is_in(browser) is taken, given
    assert len(SecondFactor.objects.get().recovery) == 8


def test_wrong_codes_count_as_wrong_passwords_do(owner, turned_on, later):
    later(300)
    browser = Client()
    sign_in(browser, owner, "not my password")
    sign_in(browser, owner)
    tried = [give(browser, "000000").status_code for _ in range(4)]
    assert tried == [200] * 3 + [TOO_MANY]
    assert give(browser, code_of(turned_on[0])).status_code == TOO_MANY
    assert sign_in(Client(), owner).status_code == TOO_MANY
    assert not is_in(browser)


def test_the_right_password_frees_no_guesses_at_the_code(owner, turned_on):
    for _ in range(4):
        browser = Client()
        sign_in(browser, owner)
        assert give(browser, "000000").status_code == 200
    browser = Client()
    sign_in(browser, owner)
    assert give(browser, "000000").status_code == TOO_MANY


# ---- what is never written down


def test_the_secret_and_the_codes_are_in_no_entry_no_log_and_no_folder(
    owner, turned_on, later, marrowby, caplog, tmp_path
):
    caplog.set_level(logging.DEBUG)
    secret, recovery = turned_on
    later(30)
    browser, code = Client(), code_of(secret)
    for given in ("1" + recovery[1], recovery[0], code):
        sign_in(browser, owner)
        give(browser, given)
        browser.post(reverse("sign-out"))
    book = [str(row) for row in (*Entry.objects.values(), *Private.objects.values())]
    told = [one.getMessage() for one in caplog.records if not one.name.startswith("django.db")]
    log = (settings.HOME / "log" / "kettlewell.log").read_text("ascii")
    assert "page=code" in log
    write_folder(tmp_path, setup_of(marrowby), book_of(marrowby, upto_seq=Entry.objects.count()))
    written = [one.read_text("utf-8") for one in tmp_path.iterdir()]
    assert len(written) == 2
    for text in (*book, *told, log, *written):
        for hidden in (secret, code, *recovery):
            assert hidden not in text
    kept = SecondFactor.objects.get()
    assert hashlib.sha256(recovery[2].replace("-", "").encode()).hexdigest() in kept.recovery
    assert recovery[2] not in str(kept.recovery)
    assert str(kept) == "Olive Owner"


def test_erasing_somebody_takes_the_secret_along(marrowby, cook, hand, signed_in):
    turn_on(signed_in(cook))
    person_erase(marrowby, cook, hand=hand)
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM records_secondfactor")
        assert cursor.fetchone() == (0,)
