"""The fixed cast: one kitchen and its people, all invented, for every test of the server.

Triggers refuse to empty the day book, so use ``db`` (rolled back), never ``transactional_db``.
"""

from datetime import timedelta
from functools import cache

import pytest
from django.contrib.auth.hashers import make_password
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
    kitchen = Kitchen.objects.create(slug=SLUG)
    hand = Hand(person=owner, now=started_at)
    seat_set(kitchen, owner, SeatTerms(role=Role.OWNER, trained_to_drain=True), hand=hand)
    for (thing, key), values in SETTINGS.items():
        setting_add(kitchen, thing, key, values, hand=hand)
    return kitchen


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
    """Return a browser in which a person is signed in."""

    def client_of(person):
        client = Client()
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
        return client

    return client_of


def someone(sign_in, name):
    person = person_add(sign_in=sign_in, name=name)
    person.password, person.pin = slow_hash(PASSWORD), slow_hash(PIN)
    person.save()
    return person


def seated(kitchen, owner, name, terms, *, at):
    person = someone(f"{terms.role.value}@marrowby.test", name)
    seat_set(kitchen, person, terms, hand=Hand(person=owner, now=at))
    return person


def tablet_in(kitchen, name):
    """Return a shared tablet of a kitchen, made known at the server's own machine."""
    return device_add(kitchen, name, hand=Hand(person=None, now=clock.now()))
