"""An entry whose verdict was never told: the server was stopped between the two."""

from datetime import timedelta

import pytest

from kettlewell import clock
from kettlewell.bridge.verdicts import record
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, entry_add
from kettlewell.records.models import Entry

SOUND = {"no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}
READING = {"fryer": "F1", "tpc_pct": "9", "oil_temp_c": "170", **SOUND}
SAID = "It was given no verdict"
AT_THE_FRYER = "This was given no verdict:"


@pytest.fixture
def cooks_hand(cook):
    return Hand(person=cook, now=clock.now() - timedelta(hours=1))


@pytest.fixture
def tell(cooks_hand):
    """Return a way to tell what happened an hour ago, by a form of its own."""

    def told(kind="reading", **payload):
        now = cooks_hand.now
        return Told(id=uuid7(now), kind=kind, happened_at=now, payload=payload or READING)

    return told


@pytest.fixture
def filled(marrowby, tell, cooks_hand):
    record(marrowby, tell("change", fryer="F1"), cooks_hand)


@pytest.fixture
def stopped(marrowby, filled, tell, cooks_hand):
    """A reading that was stored before the server was stopped; its verdict was not."""
    told = tell()
    entry_add(marrowby, told, cooks_hand)
    return told


@pytest.mark.parametrize("screen", ["book", "entry", "fryer"])
def test_a_reading_without_a_verdict_is_said_to_have_none(marrowby, cook, stopped, page, screen):
    of = {"book": (), "entry": (stopped.id,), "fryer": ("F1",)}[screen]
    assert SAID in page(cook, screen, *of)


def test_the_fryers_page_says_on_top_that_what_stands_is_of_now_and_invents_nothing(cook, stopped, page):
    text = page(cook, "fryer", "F1")
    assert AT_THE_FRYER in text[: text.index('class="strip"')]
    page(cook, "book")
    assert not Entry.objects.filter(kind="verdict", about=stopped.id).exists()


def test_sent_again_it_has_a_verdict_and_nothing_is_said(marrowby, cook, stopped, page, cooks_hand):
    record(marrowby, stopped, cooks_hand)
    assert Entry.objects.filter(kind="verdict", about=stopped.id).count() == 1
    assert "given no verdict" not in page(cook, "fryer", "F1") + page(cook, "book")


def test_what_has_its_verdict_and_what_needs_none_is_not_said_to_lack_one(
    marrowby, cook, filled, page, tell, cooks_hand
):
    record(marrowby, tell(), cooks_hand)
    entry_add(marrowby, tell("care", fryer="F1", care="skim"), cooks_hand)
    assert "given no verdict" not in page(cook, "fryer", "F1") + page(cook, "book")


def test_nothing_is_said_while_the_verdict_is_being_computed(marrowby, cook, filled, page, tell, cooks_hand):
    entry_add(marrowby, tell(), Hand(person=cook, now=clock.now() - timedelta(seconds=20)))
    assert "given no verdict" not in page(cook, "fryer", "F1") + page(cook, "book")


def test_nor_is_it_of_one_that_was_undone(marrowby, cook, stopped, page, cooks_hand):
    undone = Told(
        id=uuid7(cooks_hand.now),
        kind="undone",
        happened_at=cooks_hand.now,
        payload={},
        replaces=stopped.id,
        private={"reason": b"Mistyped."},
    )
    record(marrowby, undone, cooks_hand)
    assert "given no verdict" not in page(cook, "fryer", "F1") + page(cook, "book")


def test_a_later_reading_with_its_verdict_takes_the_notice_off_the_fryers_page(
    marrowby, cook, stopped, page, tell, cooks_hand
):
    record(marrowby, tell(), cooks_hand)
    text = page(cook, "fryer", "F1")
    assert AT_THE_FRYER not in text
    assert SAID in text
