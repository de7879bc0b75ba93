"""Who may open which address: every address of the program, as everyone there is."""

from copy import deepcopy

import pytest
from addresses import addresses, ids_of, second_kitchen
from cast import PIN, tablet_in
from django.core import signing
from django.db import transaction
from django.test import Client
from django.urls import reverse

from kettlewell.records.access import Act
from kettlewell.records.models import Entry, Role
from kettlewell.records.people import SeatTerms, seat_set
from kettlewell.web.common import DEVICE_COOKIE
from kettlewell.web.setup.first import STEPS

# What each address is for, and the status where someone who may opens it (GET) and sends an
# empty form to it (POST). An act of None: open to everyone, signed in or not.
TABLE = {
    "kitchens": (None, 302, 405),
    "sign-in": (None, 200, 200),
    "code": (None, 302, 302),
    "sign": (None, 302, 302),
    "sign-out": (None, 405, 302),
    "language": (None, 405, 302),
    "health": (None, 200, 405),
    "own": (None, 302, 302),
    "own-code": (None, 302, 302),
    "line": (Act.READ, 200, 405),
    "feed": (None, 200, 405),
    "calendar": (Act.SET_UP, 200, 200),
    "card": (Act.READ, 200, 405),
    "fryer": (Act.READ, 200, 405),
    "fryer-card": (Act.READ, 200, 405),
    "pocket": (Act.READ, 200, 405),
    "fryer-pocket": (Act.READ, 200, 405),
    "fills": (Act.READ, 200, 405),
    "what-if": (Act.READ, 200, 405),
    "reading": (Act.RECORD, 200, 405),
    "reading-at": (Act.RECORD, 200, 200),
    "acts": (Act.RECORD, 200, 405),
    "backlog": (Act.RECORD, 200, 200),
    "round": (Act.RECORD, 302, 405),
    "round-readings": (Act.RECORD, 200, 405),
    "round-reading": (Act.RECORD, 302, 200),
    "round-service": (Act.RECORD, 200, 405),
    "round-acts": (Act.RECORD, 302, 200),
    "act": (Act.RECORD, 200, 200),
    "boiled-out": (Act.RECORD, 200, 405),
    "late": (Act.RECORD, 200, 302),
    "told": (Act.READ, 200, 405),
    "settle": (Act.RECORD, 200, 200),
    "look-over": (Act.SET_UP, 200, 302),
    "answer-call": (Act.RECORD, 200, 302),
    "meters": (Act.READ, 200, 405),
    "meter-check": (Act.RECORD, 200, 200),
    "meter-order": (Act.SET_UP, 405, 302),
    "meter-found": (Act.READ, 200, 405),
    "look-back": (Act.READ, 200, 405),
    "relied": (Act.SET_UP, 200, 200),
    "compare": (Act.READ, 200, 405),
    "adopt": (Act.SET_UP, 405, 302),
    "book": (Act.READ, 200, 405),
    "inspection": (Act.READ, 200, 405),
    "inspection-book": (Act.READ, 200, 405),
    "inspection-month": (Act.READ, 200, 405),
    "teaching": (Act.READ, 200, 405),
    "blank": (Act.READ, 200, 405),
    "labels": (Act.READ, 200, 405),
    "old-oil": (Act.READ, 200, 405),
    "collected": (Act.RECORD, 200, 200),
    "receipt": (Act.READ, 200, 405),
    "recalls": (Act.READ, 200, 405),
    "recall": (Act.RECORD, 200, 200),
    "review": (Act.SET_UP, 200, 200),
    "entry": (Act.READ, 200, 405),
    "correct": (Act.RECORD, 200, 200),
    "undo": (Act.RECORD, 200, 200),
    "erase": (Act.PEOPLE, 200, 302),
    "set-up": (None, 302, 302),
    "kitchen": (Act.READ, 200, 405),
    "tables": (Act.SET_UP, 200, 200),
    "table": (Act.SET_UP, 200, 200),
    "thing-new": (Act.SET_UP, 200, 200),
    "thing": (Act.SET_UP, 200, 200),
    "people": (Act.PEOPLE, 200, 405),
    "person-new": (Act.PEOPLE, 200, 200),
    "person": (Act.PEOPLE, 200, 200),
    "person-remove": (Act.PEOPLE, 405, 302),
    "notice": (Act.READ, 200, 405),
    "trainings": (Act.READ, 200, 405),
    "training": (Act.SET_UP, 200, 200),
    "tablet": (Act.PEOPLE, 405, 302),
    "tablet-retire": (Act.PEOPLE, 405, 302),
}
OWN_TABLE = {  # what differs for who has signed in
    "kitchens": {"stranger": (200, 405), "other": (302, 405)},
    "sign-in": (302, 302),
    "own": (200, 200),
    "own-code": {"cook by PIN": (403, 403), "owner by PIN": (403, 403), "other": (200, 200)},
    "set-up": {"owner": (200, 200), "area_manager": (200, 200), "other": (403, 403)},
}
MAY = {
    "anonymous": set(),
    "stranger": set(),
    "inspector": {Act.READ},
    "cook": {Act.READ, Act.RECORD},
    "area_manager": set(Act),
    "owner": set(Act),
    "cook by PIN": {Act.READ, Act.RECORD},
    "owner by PIN": set(Act) - {Act.PEOPLE},
}
BY_PIN = " by PIN"
FOUND = sorted(addresses(), key=lambda address: address.name)


@pytest.fixture
def ids(marrowby, cook, hand):
    return ids_of(marrowby, cook, hand)


@pytest.fixture
def elsewhere(marrowby, stranger, started_at):
    """Another kitchen, with an owner of its own."""
    return second_kitchen(marrowby, stranger, started_at)


def test_every_address_is_in_the_table_and_no_other():
    assert {address.name for address in FOUND} == set(TABLE)
    assert len(FOUND) == len(TABLE)


def browser_of(person, tablet=None):
    """Return a browser that keeps the rules of forms, and the key it sends with them.

    On a tablet the person signs by PIN.
    """
    client, key = Client(enforce_csrf_checks=True), "k" * 32
    client.cookies["csrftoken"] = key
    if tablet is not None:
        signer = signing.get_cookie_signer(salt=DEVICE_COOKIE * 2)
        client.cookies[DEVICE_COOKIE] = signer.sign(str(tablet.pk))
        sent = {"person": str(person.pk), "pin": PIN, "csrfmiddlewaretoken": key}
        assert client.post(reverse("sign"), sent).status_code == 302
        key = client.cookies["csrftoken"].value
    elif person is not None:
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client, key


def expected(who, name, method):
    act, *statuses = TABLE[name]
    status = statuses[method == "POST"]
    if status == 405 or (act in MAY[who]):
        return status
    if act is not None:
        return {"anonymous": 302, "stranger": 404}.get(who, 403)
    if who != "anonymous" and name in OWN_TABLE:
        own = OWN_TABLE[name]
        pair = own.get(who, own["other"]) if isinstance(own, dict) else own
        return pair[method == "POST"]
    return status


def test_head_is_answered_as_get_is_without_the_page(signed_in, owner, ids):
    for address in FOUND:
        path = address.at(ids)
        with transaction.atomic():
            page, head = (getattr(signed_in(owner), method)(path) for method in ("get", "head"))
            transaction.set_rollback(True)
        assert (head.status_code, head.content) == (page.status_code, b""), address.name


@pytest.mark.parametrize("who", MAY)
def test_everyone_gets_what_the_table_says_and_no_more(who, request, marrowby, ids):
    """Walk all addresses, GET and POST; what was done on the way is undone before the next."""
    person = None if who == "anonymous" else request.getfixturevalue(who.removesuffix(BY_PIN))
    tablet = tablet_in(marrowby, "At the door") if who.endswith(BY_PIN) else None
    signed, key = browser_of(person, tablet)
    wrong = {}
    for address in FOUND:
        for method in ("GET", "POST"):
            with transaction.atomic():
                client = Client(enforce_csrf_checks=True)
                client.cookies = deepcopy(signed.cookies)
                path = address.at(ids)
                sent = {"csrfmiddlewaretoken": key} if method == "POST" else {}
                answer = getattr(client, method.lower())(path, sent)
                transaction.set_rollback(True)
            if answer.status_code != expected(who, address.name, method):
                wrong[f"{method} {address.name}"] = (answer.status_code, expected(who, address.name, method))
            if answer.status_code == 302 and who == "anonymous" and TABLE[address.name][0]:
                assert answer.url.startswith("/sign-in/?next=")
    assert not wrong, wrong


def test_an_inspector_sees_nothing_after_the_last_day(signed_in, inspector, marrowby, started_at):
    seat = inspector.seats.get()
    seat.ends_on = started_at.date()
    seat.save()
    assert signed_in(inspector).get(f"/k/{marrowby.slug}/").status_code == 404


@pytest.mark.parametrize("method", ["get", "post"])
def test_set_up_of_another_kitchen_is_not_there(signed_in, marrowby, owner, elsewhere, method):
    browser = getattr(signed_in(owner), method)
    for step in ("", *STEPS):
        answer = browser(f"{reverse('set-up')}?kitchen={elsewhere.slug}&step={step}")
        assert answer.status_code == 404, step


def test_a_pin_sets_up_no_kitchen_not_even_an_own_one_elsewhere(marrowby, owner, elsewhere, hand):
    """Four digits on a shared tablet open that tablet's kitchen alone, and no set-up."""
    seat_set(elsewhere, owner, SeatTerms(role=Role.OWNER), hand=hand)
    browser, key = browser_of(owner, tablet_in(marrowby, "At the door"))
    entries = Entry.objects.count()
    for kitchen in (elsewhere, marrowby):
        address = f"{reverse('set-up')}?kitchen={kitchen.slug}&step=meter"
        sent = {"skip": "yes", "csrfmiddlewaretoken": key}
        assert [browser.get(address).status_code, browser.post(address, sent).status_code] == [403, 403]
    assert Entry.objects.count() == entries
