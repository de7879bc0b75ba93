"""What the day book takes of meters, and what it asks of a verdict that is looked at again."""

from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError

from kettlewell.book.kinds import KINDS
from kettlewell.records.access import Act, act_of
from kettlewell.records.ledger import setting_add
from kettlewell.records.selectors import last_that_counts, of_the_baths
from kettlewell.records.verify import verify

LOT = {"name": "Lot 7", "tpc_pct": "18", "expanded_u_pct": "0.6"}
CHECK = {"meter": "hand", "lot": "bottle", "readings": ["17.5", "18"]}
VERDICT = {
    "fryer": "F1",
    "verdict": "fry_on",
    "reason": {"text": "The limit is far."},
    "changes_if": {"text": "A higher reading."},
    "passing_probability": "0.01",
    "passing_probability_next": "0.02",
    "risk": "0.05",
    "holds_until": "2026-11-26T11:30:00Z",
    "tpc_mean_pct": "15",
    "tpc_sd_pct": "1",
    "model_version": "1",
    "head_seq": "1",
    "head_hash": "ab" * 32,
}


@pytest.fixture
def bottle(marrowby, hand):
    setting_add(marrowby, "reference_lots", "bottle", LOT, hand=hand)


@pytest.fixture
def check(bottle, write):
    return write(kind="meter_check", payload=CHECK)


@pytest.mark.parametrize(
    ("kind", "payload", "field"),
    [
        ("meter_check", {**CHECK, "meter": "other"}, "meter"),
        ("meter_check", {**CHECK, "lot": "other"}, "lot"),
        ("meter_order", {"meter": "other"}, "meter"),
    ],
)
@pytest.mark.usefixtures("bottle")
def test_a_meter_or_bottle_that_the_kitchen_does_not_have_is_refused(write, kind, payload, field):
    with pytest.raises(ValidationError) as error:
        write(kind=kind, payload=payload)
    assert set(error.value.message_dict) == {field}


def test_a_verdict_on_any_fryer_may_answer_an_entry_about_a_meter(write, check):
    undone = write(kind="undone", payload={}, replaces=check.pk, private={"reason": b"Wrong bottle"})
    for entry in (check, undone):
        for fryer in ("F1", "F2"):
            told = write(kind="verdict", payload={**VERDICT, "fryer": fryer, "answers": str(entry.pk)})
            assert told.about == entry


def test_a_verdict_is_looked_at_again_after_a_check_that_the_book_has(marrowby, write, check):
    verdict = write(kind="verdict", payload=VERDICT)
    relied = {"fryer": "F1", "verdict": str(verdict.pk), "check": str(check.pk), "stands": "stands"}
    assert write(kind="relied", payload=relied).about == verdict
    for field, wrong in (("check", uuid4()), ("check", verdict.pk), ("verdict", check.pk)):
        with pytest.raises(ValidationError) as error:
            write(kind="relied", payload={**relied, field: str(wrong)})
        assert set(error.value.message_dict) == {field}
    with pytest.raises(ValidationError, match="another fryer"):
        write(kind="relied", payload={**relied, "fryer": "F2"})
    assert verify(marrowby) is None


def test_no_verdict_is_looked_at_again_after_a_check_that_was_replaced(write, check):
    verdict = write(kind="verdict", payload=VERDICT)
    relied = {"fryer": "F1", "verdict": str(verdict.pk), "check": str(check.pk), "stands": "stands"}
    settled = write(kind="relied", payload=relied)
    other = write(kind="verdict", payload=VERDICT)
    write(kind="undone", payload={}, replaces=check.pk, private={"reason": b"No check"})
    with pytest.raises(ValidationError, match="corrected or undone") as error:
        write(kind="relied", payload={**relied, "verdict": str(other.pk)})
    assert set(error.value.message_dict) == {"check"}
    unknown = {**relied, "stands": "unknown"}
    assert write(kind="relied", payload=unknown, replaces=settled.pk, private={"reason": b"Slip"})


def test_a_verdict_is_settled_once_after_a_check_and_that_may_be_corrected_or_undone(write, check):
    verdict = write(kind="verdict", payload=VERDICT)
    relied = {"fryer": "F1", "verdict": str(verdict.pk), "check": str(check.pk), "stands": "stands"}
    settled = write(kind="relied", payload=relied)
    unknown = {**relied, "stands": "unknown"}
    with pytest.raises(ValidationError, match="settled this verdict already") as error:
        write(kind="relied", payload=unknown)
    assert set(error.value.message_dict) == {"verdict"}
    other = write(kind="meter_check", payload=CHECK)
    assert write(kind="relied", payload={**relied, "check": str(other.pk)})
    slip = {"private": {"reason": b"Slip"}}
    better = write(kind="relied", payload=unknown, replaces=settled.pk, **slip)
    write(kind="undone", payload={}, replaces=better.pk, **slip)
    assert write(kind="relied", payload=relied)


def test_a_check_counts_until_it_is_undone_and_may_be_corrected(marrowby, write, check):
    better = write(
        kind="meter_check",
        payload={**CHECK, "readings": ["17"]},
        replaces=check.pk,
        private={"reason": b"Misread"},
    )
    assert last_that_counts(marrowby) == (better.seq, better.hash)
    assert list(of_the_baths(marrowby, upto_seq=check.seq)) == [check]
    assert list(of_the_baths(marrowby, upto_seq=better.seq)) == [better]
    undone = write(kind="undone", payload={}, replaces=better.pk, private={"reason": b"No check"})
    assert not of_the_baths(marrowby, upto_seq=undone.seq).exists()


def test_only_who_sets_up_a_kitchen_decides_over_its_meters_verdicts_people_and_records():
    decided = {kind for kind in KINDS if act_of(kind) is Act.SET_UP}
    assert decided == {"comparison", "meter_order", "relied", "review", "reviewed", "training"}
    assert {act_of(kind) for kind in set(KINDS) - decided} == {Act.RECORD}
