"""The log of access: who came from where, who was turned away, and nothing that anybody typed."""

import io
import logging
import re
from urllib.parse import unquote

import pytest
from cast import PASSWORD, PIN, tablet_in
from django.conf import settings
from django.test import Client
from django.urls import reverse

from kettlewell import clock
from kettlewell.records.first_start import set_up_code
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Role
from kettlewell.records.people import SeatTerms, device_add, seat_set
from kettlewell.web.line import views

ADDRESS = "192.0.2.7"
FORGED = "x\n2026-11-15T21:30:00.000Z signed-in person=- \x1b[2J\u202e"
LINE = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z [a-z-]+( [a-z]+=[!-~]+)+")
FOUNDING = {"name": "Quay", "jurisdiction": "GB", "timezone": "Europe/London", "house_limit_pct": "24"}
NEW_PASSWORD, NEW_PIN = "a new catch of haddock", "8306"


@pytest.fixture
def logged():
    """Return a way to read what was logged since: of each line its event and what it says."""
    file = settings.HOME / "log" / "kettlewell.log"
    before = file.stat().st_size if file.exists() else 0

    def lines():
        text = file.read_bytes()[before:].decode("ascii") if file.exists() else ""
        assert all(LINE.fullmatch(line) for line in text.splitlines()), text
        return [parts(line) for line in text.splitlines()]

    return lines


def parts(line):
    _time, event, *said = line.split()
    return event, dict(pair.split("=", 1) for pair in said)


def says(person, page, **more):
    return {"person": str(person.pk) if person else "-", "from": ADDRESS, "page": page, **more}


@pytest.fixture
def terminal(monkeypatch):
    """Return what the server says where it was started."""
    (handler,) = (one for one in logging.getLogger().handlers if type(one) is logging.StreamHandler)
    monkeypatch.setattr(handler, "stream", io.StringIO())
    return handler.stream


@pytest.fixture
def browser():
    return Client(REMOTE_ADDR=ADDRESS)


def sign_in(browser, name, password=PASSWORD):
    return browser.post(reverse("sign-in"), {"username": name, "password": password})


def test_who_signs_in_and_out_is_told_with_the_address(browser, cook, logged):
    sign_in(browser, cook.sign_in)
    browser.post(reverse("sign-out"))
    assert logged() == [("signed-in", says(cook, "sign-in")), ("signed-out", says(cook, "sign-out"))]


def test_a_wrong_password_is_told_of_the_account_and_never_of_what_was_typed(browser, cook, logged):
    sign_in(browser, cook.sign_in, "a wrong secret")
    sign_in(browser, "my secret by mistake", PASSWORD)
    assert logged() == [
        ("sign-in-failed", says(cook, "sign-in")),
        ("sign-in-failed", says(None, "sign-in")),
    ]


def test_a_lock_out_is_told(browser, cook, logged):
    for _ in range(5):
        sign_in(browser, cook.sign_in, "a wrong secret")
    assert logged()[-2:] == [
        ("sign-in-failed", says(cook, "sign-in")),
        ("locked-out", says(cook, "sign-in")),
    ]


def test_pins_are_told_too(on_tablet, marrowby, cook, logged, hand):
    tablet = on_tablet(device_add(marrowby, "By the fryers", hand=hand))
    tablet.defaults["REMOTE_ADDR"] = ADDRESS
    for pin in (NEW_PIN, PIN):
        tablet.sign(cook, pin)
    assert logged() == [("sign-in-failed", says(cook, "sign")), ("signed-in", says(cook, "sign"))]


def test_renewing_ones_own_secrets_is_told_without_them(browser, cook, logged):
    browser.force_login(cook, backend="django.contrib.auth.backends.ModelBackend")
    browser.post(reverse("own"), {"present": "wrong", "password": NEW_PASSWORD, "pin": ""})
    browser.post(reverse("own"), {"present": PASSWORD, "password": NEW_PASSWORD, "pin": NEW_PIN})
    assert logged()[1:] == [
        ("sign-in-failed", says(cook, "own")),
        ("renewed", says(cook, "own", of=str(cook.pk), what="password,pin")),
    ]


def test_what_an_owner_does_to_the_access_of_others_is_told(browser, marrowby, owner, cook, logged):
    browser.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    seat = {"name": "Cora", "role": "inspector", "ends_on": "2999-01-01"}
    renewed = {**seat, "pin": NEW_PIN, "present": PASSWORD}
    page = reverse("person", args=[marrowby.slug, cook.pk])
    browser.post(page, {**seat, "ends_on": ""})  # refused: nothing to tell
    browser.post(page, renewed)
    browser.post(reverse("tablet", args=[marrowby.slug]), {"tablet_name": "By the fryers"})
    browser.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    browser.post(f"{page}remove/", {"erase": "yes"})
    of = {"kitchen": marrowby.slug, "of": str(cook.pk)}
    device = marrowby.devices.get()
    assert [line for line in logged() if line[0] != "signed-in"] == [
        ("access-changed", says(owner, "person", **of, role="inspector")),
        ("renewed", says(owner, "person", **of, what="pin")),
        ("tablet-added", says(owner, "tablet", kitchen=marrowby.slug, tablet=str(device.pk))),
        ("signed-out", says(owner, "tablet")),
        ("access-removed", says(owner, "person-remove", **of)),
    ]


def test_somebody_new_and_a_tablet_that_is_retired_are_told(browser, marrowby, owner, logged, hand):
    browser.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    device = device_add(marrowby, "By the fryers", hand=hand)
    someone = {"name": "Nora New", "sign_in": "nora", "password": NEW_PASSWORD, "role": "cook"}
    browser.post(reverse("person-new", args=[marrowby.slug]), someone)
    browser.post(reverse("tablet-retire", args=[marrowby.slug, device.pk]))
    nora = marrowby.seats.get(person__sign_in="nora").person
    of = {"kitchen": marrowby.slug, "of": str(nora.pk)}
    assert logged()[1:] == [
        ("access-changed", says(owner, "person-new", **of, role="cook")),
        ("tablet-retired", says(owner, "tablet-retire", kitchen=marrowby.slug, tablet=str(device.pk))),
    ]


def test_each_refusal_is_one_line_in_the_log_and_none_beside_it(marrowby, cook, logged, terminal):
    strict = Client(enforce_csrf_checks=True, REMOTE_ADDR=ADDRESS)
    strict.force_login(cook, backend="django.contrib.auth.backends.ModelBackend")
    assert strict.get(reverse("people", args=[marrowby.slug])).status_code == 403
    assert strict.post(reverse("own"), {}).status_code == 403
    assert strict.get("/", headers={"host": "elsewhere.example"}).status_code == 400
    assert strict.post(reverse("own"), {"note": "x" * 200_000}).status_code == 400
    assert logged()[1:] == [
        ("refused", says(cook, "people", why="permission")),
        ("refused", says(cook, "own", why="csrf")),
        ("refused", says(None, "-", why="host", host="elsewhere.example")),
        ("refused", says(cook, "own", why="RequestDataTooBig")),
    ]
    assert terminal.getvalue() == ""


def test_asking_for_a_kitchen_of_others_is_told_and_for_one_that_is_not_there_not(
    marrowby, elsewhere, cook, on_tablet, logged
):
    tablet = on_tablet(tablet_in(elsewhere, "At the door"))
    tablet.defaults["REMOTE_ADDR"] = ADDRESS
    seat_set(elsewhere, cook, SeatTerms(role=Role.COOK), hand=Hand(person=None, now=clock.now()))
    tablet.sign(cook)
    assert tablet.get(reverse("line", args=[marrowby.slug])).status_code == 404
    elsewhere.seats.filter(person=cook).delete()
    own = Client(REMOTE_ADDR=ADDRESS)
    own.force_login(cook, backend="django.contrib.auth.backends.ModelBackend")
    for method, slug in (("get", elsewhere.slug), ("post", elsewhere.slug), ("get", "nothing-such")):
        assert getattr(own, method)(reverse("reading-at", args=[slug, "F1"])).status_code == 404
    assert own.get(reverse("fryer", args=[marrowby.slug, "F99"])).status_code == 404
    assert [line for line in logged() if line[0] != "signed-in"] == [
        ("refused", says(cook, "line", why="kitchen")),
        ("refused", says(cook, "reading-at", why="kitchen")),
        ("refused", says(cook, "reading-at", why="kitchen")),
    ]


def test_a_wrong_code_of_the_first_start_is_told_without_it(browser, db, logged):
    typed = {"you-code": "wrong", "you-name": "Nora", "you-sign_in": "nora", "you-password": NEW_PASSWORD}
    browser.post(reverse("set-up"), {**FOUNDING, **typed})
    browser.post(reverse("set-up"), {**FOUNDING, **typed, "you-sign_in": "", "you-code": set_up_code()})
    assert logged() == [("sign-in-failed", says(None, "set-up"))]


def test_an_error_of_ours_is_told_with_who_met_it_and_its_trace_on_the_terminal(
    browser, marrowby, cook, logged, terminal, monkeypatch
):
    browser.force_login(cook, backend="django.contrib.auth.backends.ModelBackend")
    browser.raise_request_exception = False
    monkeypatch.setattr(views, "render", None)
    assert browser.get(reverse("line", args=[marrowby.slug])).status_code == 500
    assert logged()[1:] == [("server-error", says(cook, "line"))]
    told, *trace = terminal.getvalue().splitlines()
    assert re.fullmatch(r"\d{4}-[^ ]+Z ERROR Internal Server Error: /k/marrowby-test/", told)
    assert trace[0] == "Traceback (most recent call last):"


def test_nothing_that_a_stranger_sends_forges_a_line(db, logged):
    stranger = Client(REMOTE_ADDR=FORGED)
    sign_in(stranger, FORGED, FORGED)
    stranger.get("/", headers={"host": FORGED * 50})
    (failed, told), (refused, said) = logged()
    assert (failed, told["person"], refused) == ("sign-in-failed", "-", "refused")
    assert unquote(said["host"]) == (FORGED * 50)[:100]
