"""What is written down days late: no verdict of its own day, and one for now when all is written."""

from datetime import timedelta

import pytest
from cast import SLUG
from django.urls import reverse

from kettlewell import clock
from kettlewell.bridge.verdicts import record, tell_now
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told
from kettlewell.records.models import Entry
from kettlewell.records.selectors import open_changes

SOUND = {"no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes", "meter": "hand"}

SENT = {"all_so": "yes", "tpc_pct": "14", "oil_temp_c": "170", "meter": "hand"}


def verdicts():
    return Entry.objects.filter(kind="verdict").order_by("seq")


@pytest.fixture
def backlog(marrowby, cook):
    """Return a way to write today what happened some days ago."""

    def write(kind, *, ago, **payload):
        now = clock.now()
        at = now - timedelta(days=ago)
        told = Told(id=uuid7(now), kind=kind, happened_at=at, payload={"fryer": "F1", **payload})
        return record(marrowby, told, Hand(person=cook, now=now))

    return write


def test_a_backlog_typed_in_a_row_ends_with_one_verdict_that_goes_for_now(marrowby, cook, backlog):
    before = verdicts().count()
    for ago in range(9, 1, -1):
        assert backlog("reading", ago=ago, tpc_pct=str(27 - ago), **SOUND).verdict is None
    last = backlog("change", ago=1.5)
    assert last.late
    assert verdicts().count() == before
    hand = Hand(person=cook, now=clock.now())
    told = tell_now(marrowby, hand)
    assert set(told) == {"F1"}
    assert told["F1"].payload["answers"] == str(last.entry.pk)
    assert told["F1"].at == hand.now
    assert verdicts().count() == before + 1
    assert tell_now(marrowby, hand) == {}
    assert verdicts().count() == before + 1


def test_of_yesterday_evening_a_reading_is_answered_at_once(backlog):
    assert backlog("reading", ago=0.6, tpc_pct="12", **SOUND).verdict is not None


def test_a_correction_of_an_old_reading_is_answered_at_once(marrowby, cook, write):
    old = write("reading", {"fryer": "F1", "tpc_pct": "12", **SOUND}, ago=3)
    now = clock.now()
    told = Told(
        id=uuid7(now),
        kind="reading",
        happened_at=old.at,
        payload={"fryer": "F1", "tpc_pct": "22", **SOUND},
        replaces=old.pk,
        private={"reason": b"Misread."},
    )
    assert record(marrowby, told, Hand(person=cook, now=now)).verdict is not None


def test_a_question_is_superseded_once_late_entries_led_to_another_verdict(marrowby, cook, backlog, write):
    write("reading", {"fryer": "F1", "tpc_pct": "29", **SOUND}, ago=0.01)
    assert "F1" in open_changes(marrowby)
    backlog("reading", ago=2, tpc_pct="12", **SOUND)
    assert "F1" in open_changes(marrowby)
    tell_now(marrowby, Hand(person=cook, now=clock.now()))
    asked = open_changes(marrowby).get("F1")
    last = verdicts().filter(fryer="F1").last()
    assert asked is None or asked == last


def test_the_form_leads_to_more_and_then_to_the_verdict(marrowby, cook, signed_in):
    browser = signed_in(cook)
    at = clock.now() - timedelta(days=3)
    sent = {**SENT, "at": f"{at:%Y-%m-%dT%H:%M}"}
    page = browser.post(reverse("reading-at", args=(SLUG, "F1")), sent)
    assert page.url == reverse("late", args=(SLUG,))
    shown = browser.get(page.url).content.decode()
    assert "One verdict for now" in shown
    assert reverse("acts", args=(SLUG, "F1")) in shown
    line = browser.get(reverse("line", args=(SLUG,))).content.decode()
    assert "Late entries: " in line
    told = browser.post(page.url)
    assert told.url == reverse("told", args=(SLUG, verdicts().last().pk))
    assert browser.get(page.url).url == reverse("line", args=(SLUG,))
    assert "Late entries: " not in browser.get(reverse("line", args=(SLUG,))).content.decode()
