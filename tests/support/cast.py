"""The fixed cast: one kitchen and its people, all invented, for every test of the server.

Triggers refuse to empty the day book, so use ``db`` (rolled back), never ``transactional_db``.

The service writes the kitchen and its people once in each process; later tests get the very same rows again.
"""

import sys
from copy import deepcopy
from datetime import timedelta
from functools import cache

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.auth.hashers import make_password
from django.contrib.sessions.backends.db import SessionStore
from django.db import connection
from django.test import Client
from moments import AFTER_DINNER

from kettlewell import clock
from kettlewell.records.ledger import Hand, setting_add
from kettlewell.records.models import Kitchen, Role
from kettlewell.records.people import SeatTerms, device_add, person_add, seat_set

PASSWORD = "chips at the harbour"
PIN = "4711"
SLUG = "marrowby-test"
SETTINGS = {
    ("kitchen", ""): {
        "name": "Marrowby test canteen",
        "timezone": "Europe/London",
        "risk": "0.05",
        "jug_l": "2",
    },
    ("oils", "rapeseed"): {"name": "Rapeseed oil", "kind": "rapeseed", "pack_kg": "9.2"},
    ("products", "fries"): {
        "name": "Frozen fries",
        "kind": "frozen-fries",
        "portion_kg": "0.2",
        "allergens": [],
    },
    ("fryers", "F1"): {"name": "Fries", "oil": "rapeseed", "oil_mass_kg": "16", "fries": ["fries"]},
    ("fryers", "F2"): {"name": "Fish", "oil": "rapeseed", "oil_mass_kg": "12", "fries": ["fries"]},
    ("meters", "hand"): {"name": "Hand meter", "resolution_pct": "0.5", "largest_error_pct": "2"},
    ("services", "lunch"): {"name": "Lunch", "days": "mon-sun", "from": "11:30", "to": "14:30"},
    ("services", "dinner"): {"name": "Dinner", "days": "mon-sun", "from": "17:30", "to": "20:30"},
    ("limits", "house"): {
        "quantity": "total polar compounds",
        "unfit_when": ">",
        "value": "24",
        "unit": "% m/m",
        "reason": "Rule of the house",
    },
}


WRITTEN = {}


def written_again(key, write):
    """Return what ``write`` returns; where its key is known, what it said to the database is said again."""
    if key in WRITTEN:
        statements, made = WRITTEN[key]
        with connection.cursor() as cursor:
            for statement, values in statements:
                cursor.execute(statement, values)
        return deepcopy(made)
    statements = []

    def listen(execute, statement, values, many, context):
        if statement.startswith(("INSERT", "UPDATE", "DELETE")):
            assert not many
            statements.append((statement, values))
        return execute(statement, values, many, context)

    with connection.execute_wrapper(listen):
        made = write()
    WRITTEN[key] = statements, deepcopy(made)
    return made


def forget():
    """Forget the answers of another test, whose kitchen had the same numbers."""
    for name, module in list(sys.modules.items()):
        if name.startswith("kettlewell.bridge."):
            for kept in vars(module).values():
                if hasattr(kept, "cache_clear"):
                    kept.cache_clear()


@cache
def slow_hash(secret):
    """Argon2 as in life, once for each process: a cook's tests would wait for little else."""
    return make_password(secret)


@pytest.fixture
def after_dinner(monkeypatch):
    """Take place between services: in a running one verdicts have other words."""
    monkeypatch.setenv(clock.SETTING, AFTER_DINNER)


@pytest.fixture
def started_at():
    """When the kitchen was set up: a week ago, so that its people can have written since."""
    return clock.now() - timedelta(days=7)


@pytest.fixture
def owner(db):
    return someone("owner@marrowby.test", "Olive Owner")


@pytest.fixture
def marrowby(owner, started_at):
    """The kitchen ``marrowby-test``: two fryers, one oil, one product, a meter, services, a limit."""
    forget()
    return written_again((SLUG, owner.pk, started_at), lambda: founded(owner, started_at))


@pytest.fixture
def hand(owner):
    """The owner's hand, now."""
    return Hand(person=owner, now=clock.now())


@pytest.fixture
def cook(marrowby, owner, started_at):
    """Signs with password or PIN, as everyone here does."""
    return seated(marrowby, owner, "Cora Cook", SeatTerms(role=Role.COOK), at=started_at)


@pytest.fixture
def area_manager(marrowby, owner, started_at):
    return seated(marrowby, owner, "Ari Area", SeatTerms(role=Role.AREA_MANAGER), at=started_at)


@pytest.fixture
def inspector(marrowby, owner, started_at):
    """Sees this kitchen until a week from today."""
    ends_on = (clock.now() + timedelta(days=7)).date()
    terms = SeatTerms(role=Role.INSPECTOR, ends_on=ends_on)
    return seated(marrowby, owner, "Ines Inspector", terms, at=started_at)


@pytest.fixture
def stranger(db):
    """Has an account, and a seat in no kitchen."""
    return someone("stranger@elsewhere.test", "Sten Stranger")


@pytest.fixture
def signed_in():
    """Return a browser in which a person is signed in: its session is written, as after the sign-in."""

    def client_of(person):
        client, session = Client(), SessionStore()
        session[SESSION_KEY] = str(person.pk)
        session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
        session[HASH_SESSION_KEY] = person.get_session_auth_hash()
        session.create()
        client.cookies[settings.SESSION_COOKIE_NAME] = session.session_key
        return client

    return client_of


def founded(owner, at):
    kitchen = Kitchen.objects.create(slug=SLUG)
    hand = Hand(person=owner, now=at)
    seat_set(kitchen, owner, SeatTerms(role=Role.OWNER, trained_to_drain=True), hand=hand)
    for (thing, key), values in SETTINGS.items():
        setting_add(kitchen, thing, key, values, hand=hand)
    return kitchen


def someone(sign_in, name):
    return written_again((sign_in, name), lambda: with_password(sign_in, name))


def with_password(sign_in, name):
    person = person_add(sign_in=sign_in, name=name)
    person.password, person.pin = slow_hash(PASSWORD), slow_hash(PIN)
    person.save()
    return person


def seated(kitchen, owner, name, terms, *, at):
    person = someone(f"{terms.role.value}@marrowby.test", name)
    hand = Hand(person=owner, now=at)
    written_into(kitchen, (person.pk, terms, at), lambda: seat_set(kitchen, person, terms, hand=hand))
    return person


def written_into(kitchen, key, write):
    """Have ``write`` write into a kitchen, as ``written_again`` where its book and the key are known."""
    head_hash = Kitchen.objects.values_list("head_hash", flat=True).get(pk=kitchen.pk)

    def then():
        write()
        return kitchen

    after = written_again((kitchen.pk, head_hash, key), then)
    vars(kitchen).update(vars(after))


def tablet_in(kitchen, name):
    """Return a shared tablet of a kitchen, made known at the server's own machine."""
    return device_add(kitchen, name, hand=Hand(person=None, now=clock.now()))
