"""Who may open which address: every address of the program, as everyone there is."""

import pytest
from addresses import addresses, ids_of
from django.db import transaction
from django.test import Client

from kettlewell.records.access import Act

# What each address is for, and the status where someone who may opens it (GET) and sends an
# empty form to it (POST). An act of None: open to everyone, signed in or not.
TABLE = {
    "kitchens": (None, 302, 405),
    "sign-in": (None, 200, 200),
    "sign": (None, 302, 302),
    "sign-out": (None, 405, 302),
    "language": (None, 405, 302),
    "line": (Act.READ, 200, 405),
    "fryer": (Act.READ, 200, 405),
    "what-if": (Act.READ, 200, 405),
    "reading": (Act.RECORD, 200, 405),
    "reading-at": (Act.RECORD, 200, 200),
    "acts": (Act.RECORD, 200, 405),
    "act": (Act.RECORD, 200, 200),
    "told": (Act.READ, 200, 405),
    "settle": (Act.RECORD, 200, 200),
    "answer-call": (Act.RECORD, 200, 302),
    "book": (Act.READ, 200, 405),
    "entry": (Act.READ, 200, 405),
    "correct": (Act.RECORD, 200, 200),
    "undo": (Act.RECORD, 200, 200),
    "set-up": (None, 302, 302),
    "kitchen": (Act.READ, 200, 405),
    "thing-new": (Act.SET_UP, 200, 200),
    "thing": (Act.SET_UP, 200, 200),
    "people": (Act.PEOPLE, 200, 405),
    "person-new": (Act.PEOPLE, 200, 200),
    "person": (Act.PEOPLE, 200, 200),
    "person-remove": (Act.PEOPLE, 405, 302),
    "tablet": (Act.PEOPLE, 405, 302),
    "tablet-retire": (Act.PEOPLE, 405, 302),
}
OWN_TABLE = {  # what differs for who has signed in
    "kitchens": {"stranger": (200, 405), "other": (302, 405)},
    "sign-in": (302, 302),
    "set-up": {"owner": (200, 200), "area_manager": (200, 200), "other": (403, 403)},
}
MAY = {
    "anonymous": set(),
    "stranger": set(),
    "inspector": {Act.READ},
    "cook": {Act.READ, Act.RECORD},
    "area_manager": set(Act),
    "owner": set(Act),
}
FOUND = sorted(addresses(), key=lambda address: address.name)


@pytest.fixture
def ids(marrowby, cook, hand):
    return ids_of(marrowby, cook, hand)


def test_every_address_is_in_the_table_and_no_other():
    assert {address.name for address in FOUND} == set(TABLE)
    assert len(FOUND) == len(TABLE)


def browser_of(person):
    """Return a browser that keeps the rules of forms, and the key it sends with them."""
    client = Client(enforce_csrf_checks=True)
    if person is not None:
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    key = "k" * 32
    client.cookies["csrftoken"] = key
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


@pytest.mark.parametrize("who", MAY)
def test_everyone_gets_what_the_table_says_and_no_more(who, request, ids):
    """Walk all addresses, GET and POST; what was done on the way is undone before the next."""
    person = None if who == "anonymous" else request.getfixturevalue(who)
    wrong = {}
    for address in FOUND:
        for method in ("GET", "POST"):
            with transaction.atomic():
                client, key = browser_of(person)
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
