"""What is believed of the past, from the beginning of the book or from a checkpoint on."""

import pytest

from kettlewell.book import Change, Move
from kettlewell.core import checkpoint, history, trace

BUSY = (4, 6.5, 9, 11.5, 14)


@pytest.mark.parametrize("day", [0, 1, 2, 3])
@pytest.mark.parametrize("only_later", [True, False])
def test_from_a_checkpoint_on_the_past_is_what_a_replay_says(kitchen, book, at, day, only_later):
    entries = [*book(*BUSY), Move(at=at(2, "21:00"), fryer="big", into="small", mass_kg=2.0)]
    then, now = checkpoint(kitchen, entries, at=at(day, "23:00")), at(4, "12:30")
    rest = [entry for entry in entries if entry.at >= then.covers_to] if only_later else entries
    found, whole = history(kitchen, rest, now=now, since=then), history(kitchen, entries, now=now)
    for fryer in ("big", "small"):
        later = [one for one in whole[fryer] if one.at > then.covers_to]
        assert later
        assert [one.at for one in found[fryer]] == [one.at for one in later]
        for value in ("tpc_mean_pct", "tpc_sd_pct"):
            expected = [getattr(one, value) for one in later]
            assert [getattr(one, value) for one in found[fryer]] == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("since_day", "day"), [(since, day) for since in (None, 0, 1) for day in range(since or 0, 5)]
)
def test_a_trace_gone_on_from_says_what_one_walk_says(kitchen, book, at, since_day, day):
    """To the last bit, from the checkpoint on from which the trace set out."""
    entries = [*book(*BUSY), Move(at=at(2, "21:00"), fryer="big", into="small", mass_kg=2.0)]
    since = None if since_day is None else checkpoint(kitchen, entries, at=at(since_day, "23:00"))
    before, now = trace(kitchen, entries, at=at(day, "23:00"), since=since), at(4, "12:30")
    rest = [entry for entry in entries if entry.at >= before.until.covers_to]
    assert history(kitchen, rest, now=now, since=before) == history(kitchen, entries, now=now, since=since)


@pytest.mark.parametrize(
    "act",
    [
        lambda at: Change(at=at, fryer="big"),
        lambda at: Move(at=at, fryer="small", into="big", mass_kg=8.0),
    ],
)
def test_a_bath_that_got_other_oil_after_its_service_is_told_of_before_that(kitchen, book, at, act):
    entries = book(*BUSY)
    without = history(kitchen, entries, now=at(4, "21:00"))["big"]
    with_it = history(kitchen, [*entries, act(at(4, "20:30"))], now=at(4, "21:00"))["big"]
    assert [one.at for one in with_it] == [one.at for one in without]
    assert with_it[-1].tpc_mean_pct == pytest.approx(without[-1].tpc_mean_pct)


def test_so_is_a_bath_that_did_not_work_in_that_service(kitchen, book, at):
    entries = book(*BUSY, fryer="small")
    change = Change(at=at(4, "20:30"), fryer="small")
    lunch, dinner = history(kitchen, [*entries, change], now=at(4, "21:00"))["small"][-2:]
    assert dinner.tpc_mean_pct == pytest.approx(lunch.tpc_mean_pct)
    assert dinner.at == at(4, "20:00")


def test_a_change_amid_a_service_leaves_younger_oil_at_its_end(kitchen, book, at):
    entries = [*book(*BUSY), Change(at=at(4, "18:00"), fryer="big")]
    assert history(kitchen, entries, now=at(4, "21:00"))["big"][-1].tpc_mean_pct < BUSY[1]
