"""Reading the day book: what stands, what is open, what was answered."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from uuid import RFC_4122

import pytest

from kettlewell import clock
from kettlewell.records.ids import uuid7
from kettlewell.records.roster import people_of
from kettlewell.records.selectors import (
    last_that_counts,
    of_the_baths,
    open_calls,
    open_changes,
    unreplaced,
    verdict_on,
)

REASON = {"reason": b"a slip"}
VERDICT = {
    "fryer": "F1",
    "verdict": "change_before",
    "reason": {"text": "The limit is near."},
    "changes_if": {"text": "Nothing."},
    "passing_probability": "0.3",
    "passing_probability_next": "0.4",
    "risk": "0.05",
    "holds_until": "2026-11-26T11:30:00Z",
    "tpc_mean_pct": "23",
    "tpc_sd_pct": "1",
    "services": [{"name": "Lunch"}],
    "limits": [{"value": "24"}],
    "model_version": "1",
    "head_seq": "12",
    "head_hash": "ab" * 32,
}


def test_the_baths_are_told_in_the_order_things_happened(marrowby, write):
    now = clock.now()
    late = write(happened_at=now - timedelta(hours=1))
    early = write(happened_at=now - timedelta(hours=2))
    write(kind="call", payload={"fryer": "F1"})
    assert list(of_the_baths(marrowby, upto_seq=marrowby.head_seq)) == [early, late]


def test_the_baths_as_known_then_hold_what_was_corrected_later(marrowby, write):
    wrong = write()
    then = marrowby.head_seq
    right = write(replaces=wrong.id, private=REASON)
    assert list(of_the_baths(marrowby, upto_seq=then)) == [wrong]
    assert list(of_the_baths(marrowby, upto_seq=marrowby.head_seq)) == [right]
    write(kind="undone", payload={}, replaces=right.id, private=REASON)
    assert list(of_the_baths(marrowby, upto_seq=marrowby.head_seq)) == []


@pytest.mark.parametrize("slow", [timedelta(0), timedelta(hours=20), timedelta(days=1)])
def test_the_baths_since_a_time_leave_out_no_entry_of_a_slow_clock(marrowby, write, slow):
    now = clock.now()
    old = write(happened_at=now - timedelta(days=5))
    error_s = -Decimal(int(slow.total_seconds()))
    new = write(happened_at=now - slow, clock_error_s=error_s)
    found = of_the_baths(marrowby, since=now - timedelta(hours=1), upto_seq=marrowby.head_seq)
    assert new in found
    assert old not in found


def test_an_answer_depends_on_readings_and_settings_and_not_on_calls(marrowby, write):
    reading = write()
    write(kind="call", payload={"fryer": "F1"})
    assert last_that_counts(marrowby) == (reading.seq, reading.hash)


def test_a_call_is_open_until_it_is_answered_or_undone(marrowby, write):
    first, second, third = (write(kind="call", payload={"fryer": "F1"}) for _ in range(3))
    assert open_calls(marrowby) == [first, second, third]
    write(kind="answer", payload={"fryer": "F1", "call": str(second.id)})
    write(kind="undone", payload={}, replaces=third.id, private=REASON)
    assert open_calls(marrowby) == [first]


def test_a_change_is_open_until_somebody_says_what_was_done(marrowby, write):
    write(kind="verdict", payload=VERDICT)
    verdict = write(kind="verdict", payload=VERDICT)
    write(kind="verdict", payload={**VERDICT, "fryer": "F2", "verdict": "fry_on"})
    assert open_changes(marrowby) == {"F1": verdict}
    assert (open_changes(marrowby, ["F1"]), open_changes(marrowby, ["F2"])) == ({"F1": verdict}, {})
    done = {"fryer": "F1", "verdict": str(verdict.id), "oil_done": "drained", "food_done": "none"}
    settled = write(kind="settled", payload=done)
    assert open_changes(marrowby) == {}
    write(kind="undone", payload={}, replaces=settled.id, private=REASON)
    assert open_changes(marrowby) == {"F1": verdict}


def test_a_verdict_is_found_by_what_it_answers(write):
    reading, other = write(), write()
    verdict = write(kind="verdict", payload={**VERDICT, "answers": str(reading.id)})
    assert verdict_on(reading) == verdict
    assert verdict_on(other) is None


def test_people_come_by_name(marrowby, owner, cook, inspector):
    assert [seat.person for seat in people_of(marrowby)] == [cook, inspector, owner]


def test_what_stands_is_of_one_kitchen(marrowby, write):
    entry = write()
    assert {one.kitchen_id for one in unreplaced(marrowby)} == {entry.kitchen_id}


def test_an_id_begins_with_its_time_as_in_the_example_of_rfc_9562():
    """RFC 9562, appendix A.6: 2022-02-22T19:22:22.000Z begins 017F22E2-79B0-7."""
    one = uuid7(datetime(2022, 2, 22, 19, 22, 22, tzinfo=UTC))
    assert str(one).startswith("017f22e2-79b0-7")
    assert (one.version, one.variant) == (7, RFC_4122)


def test_ids_sort_by_time():
    now = clock.now()
    ids = [uuid7(now + timedelta(milliseconds=step)) for step in range(5)]
    assert ids == sorted(ids)
