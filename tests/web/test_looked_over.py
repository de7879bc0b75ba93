"""What was done after a verdict to change is looked over by somebody else, where there is somebody else."""

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from kettlewell import clock
from kettlewell.bridge.reviews import open_reviews
from kettlewell.bridge.verdicts import record
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told
from kettlewell.records.models import Entry

TO_LOOK_OVER = "To be signed off by someone else:"


@pytest.fixture
def writes(marrowby):
    """Return a way to write an entry as somebody, now."""

    def written(person, kind, **payload):
        now = clock.now()
        told = Told(id=uuid7(now), kind=kind, happened_at=now, payload={"fryer": "F1", **payload})
        return record(marrowby, told, Hand(person=person, now=now))

    return written


@pytest.fixture
def done(writes, cook):
    """Return a way to write as somebody what was done after the oil of F1 was found spoiled."""

    def settled(person):
        verdict = writes(cook, "senses", spoiled=True).verdict
        said = {"verdict": str(verdict.pk), "oil_done": "kept", "food_done": "none"}
        return writes(person, "settled", **said).entry

    return settled


def test_what_a_cook_did_stands_on_the_line_of_the_owner_until_it_is_looked_over(
    done, owner, cook, page, send
):
    settled = done(cook)
    assert TO_LOOK_OVER in page(owner, "line")
    assert TO_LOOK_OVER in page(owner, "fryer", "F1")
    assert TO_LOOK_OVER not in page(owner, "fryer", "F2")
    assert TO_LOOK_OVER not in page(cook, "line")
    assert "Look at it and sign it off" in page(owner, "entry", settled.pk)
    send(owner, "look-over", {"note": "Cora will skim more often."}, settled.pk)
    assert TO_LOOK_OVER not in page(owner, "line")
    shown = page(owner, "entry", settled.pk)
    assert "Look at it and sign it off" not in shown
    assert "What was done at Fries (F1) was signed off." in shown
    assert "Cora will skim more often." in shown


def test_it_is_not_counted_among_what_cannot_wait(done, owner, cook, page):
    before = page(owner, "line").count("1 question")
    done(cook)
    assert page(owner, "line").count("1 question") == before


def test_of_several_at_a_fryer_the_oldest_is_named_and_how_many_there_are(done, cook, owner, page):
    first, _ = done(cook), done(cook)
    line = page(owner, "line")
    assert "2 to be signed off by someone else, the oldest:" in line
    assert str(first.pk) in line


def test_where_nobody_else_decides_nothing_is_open_and_one_may_look_over_oneself(
    done, writes, owner, marrowby, page
):
    settled = done(owner)
    assert open_reviews(marrowby, clock.now()) == []
    assert TO_LOOK_OVER not in page(owner, "line")
    assert writes(owner, "reviewed", settled=str(settled.pk)).new


def test_nobody_looks_over_what_was_written_by_the_same_hand(
    done, writes, owner, area_manager, marrowby, send
):
    settled = done(owner)
    assert open_reviews(marrowby, clock.now()) == [settled]
    with pytest.raises(ValidationError, match="Someone else"):
        writes(owner, "reviewed", settled=str(settled.pk))
    assert "Someone else" in send(owner, "look-over", {}, settled.pk).content.decode()
    assert not Entry.objects.filter(kind="reviewed").exists()
    send(area_manager, "look-over", {}, settled.pk)
    assert open_reviews(marrowby, clock.now()) == []


def test_only_those_who_set_the_kitchen_up_look_over(done, writes, owner, cook):
    settled = done(owner)
    with pytest.raises(PermissionDenied):
        writes(cook, "reviewed", settled=str(settled.pk))


def test_a_correction_is_looked_over_anew_and_what_it_replaces_no_more(
    done, write, writes, owner, cook, marrowby
):
    settled = done(cook)
    writes(owner, "reviewed", settled=str(settled.pk))
    payload = {**settled.payload, "food_done": "served"}
    better = write("settled", payload, replaces=settled.pk, private={"reason": b"Asked again."})
    assert open_reviews(marrowby, clock.now()) == [better]
    with pytest.raises(ValidationError, match="corrected or undone"):
        writes(owner, "reviewed", settled=str(settled.pk))


def test_the_page_says_whether_the_fryer_was_read_since(done, write, owner, cook, page):
    settled = done(cook)
    assert "Nobody has read this fryer since." in page(owner, "look-over", settled.pk)
    sound = dict.fromkeys(("no_food", "no_bubbles", "probe_clear", "steady"), "yes")
    write("reading", {"fryer": "F1", "tpc_pct": "9.5", **sound})
    shown = page(owner, "look-over", settled.pk)
    assert "Nobody has read" not in shown
    assert "Fries (F1) read: 9.5 %." in shown
