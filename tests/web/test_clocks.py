"""A server whose clock is wrong, as its phones show it: what screens say, and what time entries bear."""

import html
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from kettlewell import clock
from kettlewell.records.models import Entry, PhoneClock
from kettlewell.records.people import device_add
from kettlewell.records.settings import zone_of
from kettlewell.records.verify import verify
from kettlewell.web.account.known import known_keep
from kettlewell.web.common import KNOWN_COOKIE

SCREENS = ("line", "reading", "meters", "book", "kitchen")
SLOW = "The clock of the server is about 3 hours slow"
AHEAD = "have not come"


@pytest.fixture
def skim(marrowby):
    """Return a way to skim F1 from a browser whose clock is fast of the server's; the page it leads to."""

    def skimmed(client, fast=timedelta(), **more):
        sent = {"care": "skim", "phone_now": (clock.now() + fast).isoformat(), **more}
        return client.post(reverse("act", args=[marrowby.slug, "F1", "care"]), sent, follow=True)

    return skimmed


@pytest.fixture
def screen(marrowby):
    """Return a way to read a screen."""

    def text(client, name="line", *args):
        return html.unescape(client.get(reverse(name, args=[marrowby.slug, *args])).content.decode())

    return text


@pytest.fixture
def agree(signed_in, cook, skim):
    """Return a way to have three phones say by how much they are fast; a fourth that said nothing yet."""

    def said(fast):
        for _phone in range(3):
            skim(signed_in(cook), fast)
        return signed_in(cook)

    return said


def last(kind="care"):
    return Entry.objects.filter(kind=kind).order_by("-seq").first()


def test_three_phones_have_every_screen_say_that_the_servers_clock_is_wrong(
    signed_in, owner, cook, skim, screen
):
    phones = [signed_in(cook), signed_in(cook), signed_in(owner)]
    for phone in phones[:2]:
        skim(phone, timedelta(hours=3))
    assert SLOW not in screen(phones[0])
    skim(phones[2], timedelta(hours=3))
    for name in SCREENS:
        assert SLOW in screen(phones[2], name), name
    for phone in phones:
        skim(phone)
    assert SLOW not in screen(phones[0])


def test_a_fast_clock_is_said_to_be_fast(agree, screen):
    assert "The clock of the server is about 40 minutes fast" in screen(agree(timedelta(minutes=-40)))


def test_one_browser_is_one_phone_however_often_people_sign_in_from_it(rf, cook, signed_in, skim, screen):
    known = rf.get("/")
    response = signed_in(cook).get("/")
    known_keep(known, response, cook.sign_in)
    for _session in range(3):
        phone = signed_in(cook)
        phone.cookies[KNOWN_COOKIE] = response.cookies[KNOWN_COOKIE].value
        skim(phone, timedelta(hours=3))
    assert PhoneClock.objects.count() == 1
    assert SLOW not in screen(phone)


def test_a_shared_tablet_is_one_phone_whoever_signs_on_it(marrowby, hand, cook, on_tablet, skim, screen):
    tablet = device_add(marrowby, "By the pass", hand=hand)
    for person in (cook, hand.person, cook):
        browser = on_tablet(tablet)
        browser.sign(person)
        skim(browser, timedelta(hours=3))
    assert PhoneClock.objects.count() == 1
    assert SLOW not in screen(browser)


def test_a_stranger_is_not_heard(marrowby, skim):
    skim(Client(), timedelta(hours=3))
    assert not PhoneClock.objects.exists()


@pytest.mark.parametrize("hours", [3, -3])
def test_with_three_phones_agreed_entries_bear_their_time_and_received_stays_the_servers(
    marrowby, agree, skim, hours
):
    phone, off = agree(timedelta(hours=hours)), timedelta(hours=hours)
    skim(phone, off + timedelta(seconds=40))
    entry = last()
    assert entry.at == clock.now() + off
    assert entry.clock_error_s == Decimal(40)
    assert entry.received_at == clock.now()
    assert verify(marrowby) is None


def test_a_time_typed_by_the_right_clock_is_taken_though_the_servers_has_not_come_there(
    marrowby, agree, skim, screen
):
    phone, off = agree(timedelta(hours=3)), timedelta(hours=3)
    when = clock.now() + off - timedelta(minutes=30)
    typed = when.astimezone(zone_of(marrowby)).strftime("%Y-%m-%dT%H:%M")
    skim(phone, off, at=typed)
    assert last().at == when.replace(second=0, microsecond=0)
    assert "the clock of the server said" in screen(phone, "book")


def test_the_phone_that_lies_among_them_is_corrected_as_before(agree, skim):
    phone = agree(timedelta(hours=3))
    skim(phone, timedelta(hours=1))
    assert last().clock_error_s == Decimal(-7200)
    assert last().at == clock.now() + timedelta(hours=3)


def test_a_clock_days_off_is_told_and_nothing_is_written(marrowby, agree, skim, screen):
    phone = agree(timedelta(days=400))
    said = screen(phone)
    assert "The clock of the server is about 400 days slow" in said
    assert "nothing can be written down" in said
    skim(phone, timedelta(days=400))
    assert last() is None


def test_entries_that_lie_ahead_are_told_on_every_screen_and_at_their_line(agree, skim, screen, monkeypatch):
    phone, now = agree(timedelta(hours=3)), clock.now()
    skim(phone, timedelta(hours=3))
    assert AHEAD not in screen(phone)
    PhoneClock.objects.all().delete()
    for name in SCREENS:
        assert AHEAD in screen(phone, name), name
    assert "This time has not come" in screen(phone, "book")
    monkeypatch.setattr(clock, "now", lambda: now + timedelta(hours=3))
    assert AHEAD not in screen(phone)
    assert "This time has not come" not in screen(phone, "book")
