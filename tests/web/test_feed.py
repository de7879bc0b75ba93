"""The calendar of what is due: what stands in it, and who can read it."""

from datetime import timedelta

import icalendar
import pytest
from django.urls import reverse

from kettlewell import clock
from kettlewell.bridge.standing import standing
from kettlewell.records.models import Kitchen
from kettlewell.web.entry.codes import beginning


@pytest.fixture
def address(signed_in, owner, marrowby):
    """Return a way to make an address, which is read from the page that shows it."""

    def made():
        page = signed_in(owner).post(reverse("calendar", args=[marrowby.slug])).content.decode()
        return page.partition("http://testserver")[2].partition("<")[0]

    return made


def events(answer):
    """Return the events of a calendar by the beginning of their UID."""
    assert (answer.status_code, answer["Content-Type"]) == (200, "text/calendar; charset=utf-8")
    found = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    return {str(event["uid"]).partition("@")[0]: event for event in found}


def test_each_fryer_has_its_next_act_and_the_check_code_stands_beside_it(client, marrowby, address):
    found = events(client.get(address()))
    told = {each.fryer: each for each in standing(marrowby, clock.now()).assessments}
    assert {key for key in found if key.startswith("fryer-")} == {f"fryer-{fryer}" for fryer in told}
    event = found["fryer-F1"]
    assert told["F1"].name in event["summary"]
    assert event.decoded("dtstart") >= clock.now().replace(microsecond=0)
    head = Kitchen.objects.get(pk=marrowby.pk).head_hash
    assert beginning(head) in event["description"].replace("\xa0", " ")


def test_an_appointment_that_moves_is_the_same_one(client, marrowby, address, monkeypatch):
    at, now = address(), clock.now()
    before = events(client.get(at))
    monkeypatch.setattr(clock, "now", lambda: now + timedelta(hours=7))
    after = events(client.get(at))
    assert set(before) == set(after)
    assert before["fryer-F1"]["sequence"] <= after["fryer-F1"]["sequence"]


def test_every_line_ends_and_is_folded_as_the_standard_has_it(client, address):
    lines = client.get(address()).content.split(b"\r\n")
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert max(map(len, lines)) <= 75
    assert not any(b"\n" in line for line in lines)


def test_another_address_shuts_the_old_one_and_taking_it_away_shuts_both(
    client, signed_in, owner, marrowby, address
):
    old = address()
    new = address()
    assert [client.get(at).status_code for at in (old, new)] == [404, 200]
    signed_in(owner).post(reverse("calendar", args=[marrowby.slug]), {"revoke": "yes"})
    assert client.get(new).status_code == 404


def test_an_address_is_shown_once_and_only_its_digest_is_kept(signed_in, owner, marrowby, address):
    secret = address().rpartition("/")[2].removesuffix(".ics")
    page = signed_in(owner).get(reverse("calendar", args=[marrowby.slug])).content.decode()
    assert "There is an address since" in page
    assert secret not in page
    assert secret not in Kitchen.objects.get(pk=marrowby.pk).feed.digest


def test_the_calendar_speaks_the_language_it_was_made_in(client, signed_in, owner, marrowby):
    at = reverse("calendar", args=[marrowby.slug])
    page = signed_in(owner).post(at, headers={"accept-language": "de"}).content.decode()
    address = page.partition("http://testserver")[2].partition("<")[0]
    assert b"Pr\xc3\xbcfcode" in client.get(address).content
