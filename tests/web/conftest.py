"""What the tests of the screens share: a bottle of reference oil, and ways to write, read and send."""

import html
from datetime import timedelta

import pytest
from addresses import BOTTLE, second_kitchen
from cast import PIN
from django.core import signing
from django.test import Client
from django.urls import reverse

from kettlewell import clock
from kettlewell.bridge.verdicts import record
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, setting_add
from kettlewell.web.common import DEVICE_COOKIE

LARGEST_PAGE = 150_000


@pytest.fixture
def bottle(marrowby, hand):
    """A reference oil of 18 %, opened in September."""
    setting_add(marrowby, "reference_lots", "bottle", {**BOTTLE, "opened": "2026-09-01"}, hand=hand)


@pytest.fixture
def write(marrowby, cook):
    """Return a way to write an entry ``ago`` days ago, as a cook did it then."""

    def written(kind, payload, *, ago=0.0, **more):
        now = clock.now() - timedelta(days=ago)
        told = Told(id=uuid7(now), kind=kind, happened_at=now, payload=payload, **more)
        return record(marrowby, told, Hand(person=cook, now=now)).entry

    return written


@pytest.fixture
def undo(write):
    """Return a way to undo an entry."""
    return lambda entry: write("undone", {}, replaces=entry.pk, private={"reason": b"Mistyped."})


@pytest.fixture
def checked(bottle, write):
    """Return a way to write a check of a meter that read so much in oil of 18 %."""

    def check(pct, *, ago=0.0, **more):
        payload = {"meter": "hand", "lot": "bottle", "readings": [pct] * 3, "oil_temp_c": "50", **more}
        return write("meter_check", payload, ago=ago)

    return check


class Tablet(Client):
    """A browser on a shared tablet of a kitchen."""

    def __init__(self, device):
        super().__init__()
        signer = signing.get_cookie_signer(salt=DEVICE_COOKIE * 2)
        self.cookies[DEVICE_COOKIE] = signer.sign(str(device.pk))

    def sign(self, person, pin=PIN, **more):
        return self.post(reverse("sign"), {"person": str(person.pk), "pin": pin, **more})


@pytest.fixture
def on_tablet():
    """Return a way to open a browser on a shared tablet."""
    return Tablet


@pytest.fixture
def elsewhere(marrowby, stranger, started_at):
    """Another kitchen, with an owner of its own."""
    return second_kitchen(marrowby, stranger, started_at)


@pytest.fixture
def page(marrowby, signed_in):
    """Return a way to read a page as someone."""

    def text(person, name="meters", *args, **query):
        response = signed_in(person).get(reverse(name, args=(marrowby.slug, *args)), query)
        assert response.status_code == 200
        assert len(response.content) < LARGEST_PAGE
        return html.unescape(response.content.decode())

    return text


@pytest.fixture
def send(marrowby, signed_in):
    """Return a way to send a form as someone, and the page it leads to."""

    def sent(person, name, data, *args, query=""):
        path = reverse(name, args=(marrowby.slug, *args)) + query
        return signed_in(person).post(path, data, follow=True)

    return sent
