"""A stored belief is read in the very place it was stored for, and thrown away otherwise."""

from datetime import UTC, datetime, timedelta

import pytest

from kettlewell.bridge import beliefs, replays
from kettlewell.bridge.entries import book_of
from kettlewell.bridge.setups import history_of
from kettlewell.bridge.standing import computed, minute_after, standing
from kettlewell.bridge.verdicts import record
from kettlewell.core import assess
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, setting_add
from kettlewell.records.models import Entry, Kitchen, Replay
from kettlewell.records.selectors import last_that_counts

NOW = datetime(2026, 11, 20, 15, 30, 20, tzinfo=UTC)
SOUND = {"no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}


@pytest.fixture
def started_at():
    return NOW - timedelta(days=60)


@pytest.fixture
def write(owner):
    """Write what happened in a kitchen, as if it had been told then or at ``told_at``."""

    def write_down(kitchen, kind, at, told_at=None, **payload):
        told = Told(id=uuid7(at), kind=kind, happened_at=at, payload={"fryer": "F1", **payload})
        return record(kitchen, told, Hand(person=owner, now=told_at or at))

    return write_down


@pytest.fixture
def week(marrowby, write):
    """A week of readings, and the beliefs stored meanwhile."""
    write(marrowby, "change", NOW - timedelta(days=7, hours=6))
    for day in range(7):
        write(marrowby, "reading", NOW - timedelta(days=7 - day, hours=5), tpc_pct=str(6 + day), **SOUND)
    standing(marrowby, NOW)
    assert beliefs.newest(marrowby, before=NOW) is not None
    return marrowby


def afresh(kitchen):
    """Return what the core says of the whole book, without anything stored."""
    entries = book_of(kitchen, upto_seq=Kitchen.objects.get(pk=kitchen.pk).head_seq)
    return assess(history_of(kitchen), entries, now=minute_after(NOW))


def told(kitchen):
    """Return what is told of a kitchen now, however it was answered before."""
    head, at = last_that_counts(kitchen), minute_after(NOW)
    return computed(kitchen.pk, head, at, of=None, recomputing=replays.pending(kitchen, NOW)).assessments


def last_of(stored):
    """Return the last stored belief as it lies there."""
    return stored.beliefs.first()


def test_bytes_that_this_server_did_not_seal_are_never_read(week):
    content = bytes(last_of(week).content)
    week.beliefs.update(content=content[:-1] + bytes([content[-1] ^ 1]))
    assert beliefs.newest(week, before=NOW) is None
    week.beliefs.update(content=b"\0" * 64)
    assert told(week) == afresh(week)


def test_a_belief_of_another_kitchen_is_not_read(week, owner):
    other, hand = Kitchen.objects.create(slug="other"), Hand(person=owner, now=NOW - timedelta(days=60))
    for setting in Entry.objects.filter(kitchen=week, kind="setting").exclude(payload__thing="people"):
        said = setting.payload
        setting_add(other, said["thing"], said.get("key", ""), said["values"], hand=hand)
    alone, moved = told(other), last_of(week)
    moved.pk, moved.kitchen = None, other
    moved.save(force_insert=True)
    assert beliefs.newest(other, before=NOW) is None
    assert told(other) == alone


@pytest.mark.parametrize(
    "to", [datetime(2000, 1, 1, tzinfo=UTC), NOW - timedelta(hours=7)], ids=["2000", "earlier"]
)
def test_a_belief_with_another_date_is_not_read(week, to):
    """It would hide what happened since, or tell of it twice."""
    dated = last_of(week)
    week.beliefs.exclude(pk=dated.pk).delete()
    week.beliefs.update(covers_to=to)
    assert beliefs.newest(week, before=NOW) is None
    assert told(week) == afresh(week)


@pytest.mark.parametrize("change", [{"last_seq": 3}, {"last_seq": 10_000}])
def test_a_belief_that_claims_another_head_is_not_read(week, change):
    week.beliefs.update(**change)
    assert beliefs.newest(week, before=NOW) is None


def test_a_belief_from_entries_that_are_not_in_the_chain_is_not_read(week, drop_triggers):
    """As after a copy of the day book was put back, and went on another way."""
    row = last_of(week)
    drop_triggers()
    Entry.objects.filter(kitchen=week, seq=row.last_seq).update(hash="ab" * 32)
    assert row != beliefs.newest_row(week, before=NOW)


def test_a_belief_put_back_that_does_not_know_what_was_told_late_is_not_read(week, write):
    before = list(week.beliefs.all())
    write(week, "reading", NOW - timedelta(days=2), told_at=NOW, tpc_pct="19", **SOUND)
    week.beliefs.all().delete()
    for row in before:
        row.save(force_insert=True)
    newest = beliefs.newest(week, before=NOW)
    assert newest is None or newest.covers_to <= NOW - timedelta(days=2)
    assert told(week) == afresh(week)


def test_where_the_newest_belief_is_not_read_an_older_one_is(week):
    newest = last_of(week)
    week.beliefs.filter(pk=newest.pk).update(last_seq=1)
    older = beliefs.newest(week, before=NOW)
    assert older is not None
    assert older.covers_to < newest.covers_to


@pytest.mark.parametrize("ahead", [timedelta(days=26_000), timedelta(hours=1)])
def test_a_replay_taken_up_at_a_time_to_come_is_taken_up_anew(week, monkeypatch, ahead):
    """A clock was wrong, or somebody changed the row: nobody works at it."""
    Replay.objects.create(kitchen=week, since=NOW - timedelta(days=7), taken_at=NOW + ahead)
    monkeypatch.setattr(replays.threading, "Thread", AtOnce)
    assert replays.pending(week, NOW)
    assert not replays.pending(week, NOW)
    assert told(week) == afresh(week)


def test_a_replay_that_somebody_works_at_is_left_to_them(week, monkeypatch):
    Replay.objects.create(kitchen=week, since=NOW - timedelta(days=7), taken_at=NOW + timedelta(seconds=2))
    monkeypatch.setattr(replays.threading, "Thread", AtOnce)
    assert replays.pending(week, NOW)
    assert replays.pending(week, NOW)


class AtOnce:
    """A thread whose work is done when it begins."""

    def __init__(self, args, **_):
        self.start = lambda: replays.replay(*args)
