"""Writing in the day book: once, in order, and nothing that its kind does not know."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from django.core.exceptions import ValidationError
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kettlewell import clock
from kettlewell.records.checks import checked_payload
from kettlewell.records.ledger import TakenIdError, entry_add, private_erase, setting_add
from kettlewell.records.models import Entry, Kitchen, Private
from kettlewell.records.selectors import notes_of, unreplaced
from kettlewell.records.verify import verify

CALL = {"fryer": "F1"}
SETTLED = {"fryer": "F1", "oil_done": "drained", "food_done": "none"}
VERDICT = {
    "fryer": "F1",
    "verdict": "change_before",
    "reason": {"text": "The reading lies past the limit."},
    "changes_if": {"text": "Fresh oil."},
    "passing_probability": "1",
    "passing_probability_next": "1",
    "risk": "0.05",
    "holds_until": "2026-11-26T11:30:00Z",
    "tpc_mean_pct": "26",
    "tpc_sd_pct": "1",
    "model_version": "1",
    "head_seq": "1",
    "head_hash": "ab" * 32,
}


@pytest.fixture
def another(marrowby, hand):
    """Another kitchen, which has a fryer called F1 as well."""
    kitchen = Kitchen.objects.create(slug="another")
    setting_add(kitchen, "fryers", "F1", {"name": "Fries"}, hand=hand)
    return kitchen


def test_an_entry_takes_the_next_number_and_moves_the_head(marrowby, write):
    before = marrowby.head_seq
    first, second = write(), write()
    assert [first.seq, second.seq] == [before + 1, before + 2]
    assert second.previous == first.hash
    head = Kitchen.objects.get(pk=marrowby.pk)
    assert (head.head_seq, head.head_hash) == (second.seq, second.hash)
    assert (marrowby.head_seq, marrowby.head_hash) == (second.seq, second.hash)


def test_every_kitchen_counts_for_itself(marrowby, another, write, told, hand):
    write()
    head = another.head_hash
    entry, _ = entry_add(another, told(), hand)
    assert (entry.seq, entry.previous) == (2, head)


def test_twice_is_once(marrowby, told, hand):
    """The phone that sent an entry twice, the second time by a later clock, found wrong by a little more."""
    one = told(private={"note": b"smelt of fish"}, clock_error_s=Decimal("0.5"))
    first, new = entry_add(marrowby, one, hand)
    later = replace(one, happened_at=one.happened_at + timedelta(seconds=3), clock_error_s=Decimal("0.7"))
    again, new_again = entry_add(marrowby, later, hand)
    assert (new, new_again) == (True, False)
    assert again.pk == first.pk
    assert Entry.objects.filter(pk=one.id).count() == 1
    assert Private.objects.filter(entry=first).count() == 1


@pytest.mark.parametrize(
    "other",
    [
        {"payload": {"fryer": "F1", "tpc_pct": "16", **dict.fromkeys(["no_food", "steady"], "yes")}},
        {"kind": "call", "payload": {"fryer": "F1"}},
        {"private": {"note": b"another note"}},
        {"private": {}},
        {"replaces": uuid4()},
        {"happened_at": clock.now() - timedelta(hours=3)},
        {"clock_error_s": Decimal(0)},
    ],
    ids=["payload", "kind", "note", "no note", "correction", "time given", "time of a clock"],
)
def test_an_id_that_was_used_for_something_else_is_refused(marrowby, told, hand, other):
    one = told(private={"note": b"a note"})
    entry_add(marrowby, one, hand)
    if "payload" in other and "tpc_pct" in other["payload"]:
        other = {"payload": {**one.payload, "tpc_pct": "16"}}
    with pytest.raises(TakenIdError):
        entry_add(marrowby, replace(one, **other), hand)


def test_an_id_of_another_kitchen_is_refused(marrowby, another, told, hand):
    one = told()
    entry_add(marrowby, one, hand)
    with pytest.raises(TakenIdError):
        entry_add(another, one, hand)


@pytest.mark.parametrize(
    "other",
    [UUID(int=7), uuid4(), UUID("01a214c6-ffc1-759e-c33e-9e07b8330e7e")],
    ids=["nothing but 7", "version 4", "another variant"],
)
def test_an_id_that_is_no_uuid_of_version_7_is_refused(write, other):
    with pytest.raises(ValidationError, match="version 7") as error:
        write(id=other)
    assert set(error.value.message_dict) == {"id"}


@pytest.mark.parametrize(
    ("kind", "payload", "field"),
    [
        ("reading", {"fryer": "F9"}, "fryer"),
        ("call", {"fryer": "f1"}, "fryer"),
        ("move", {"fryer": "F1", "into": "F9"}, "into"),
        ("move", {"fryer": "F9", "into": "F1"}, "fryer"),
    ],
)
def test_a_fryer_that_the_kitchen_does_not_have_is_refused(marrowby, write, told, kind, payload, field):
    head = marrowby.head_seq
    with pytest.raises(ValidationError) as error:
        write(kind=kind, payload={**(told().payload if kind == "reading" else {}), **payload})
    assert set(error.value.message_dict) == {field}
    assert marrowby.head_seq == head


def test_a_fryer_that_was_taken_away_is_refused_from_then_on(marrowby, write, hand):
    write(kind="call", payload={"fryer": "F2"})
    setting_add(marrowby, "fryers", "F2", None, hand=hand)
    with pytest.raises(ValidationError, match="no such fryer"):
        write(kind="call", payload={"fryer": "F2"})


@pytest.mark.parametrize("kind", ["reading", "change", "load"])
def test_what_was_taken_away_is_named_by_no_entry_from_then_on(marrowby, write, told, hand, kind):
    """Nor by one that corrects an entry which named it while it was there."""
    thing, whole = {
        "reading": ("meters", {**told().payload, "meter": "spare"}),
        "change": ("oils", {"fryer": "F1", "oil": "spare"}),
        "load": ("products", {"fryer": "F1", "product": "spare", "mass_kg": "1"}),
    }[kind]
    setting_add(marrowby, thing, "spare", {"name": "Spare"}, hand=hand)
    entry = write(kind=kind, payload=whole)
    setting_add(marrowby, thing, "spare", None, hand=hand)
    for again in ({}, {"replaces": entry.pk, "private": {"reason": b"slip"}}):
        with pytest.raises(ValidationError, match="There is no such") as error:
            write(kind=kind, payload=whole, **again)
        assert set(error.value.message_dict) == {thing.removesuffix("s")}


def test_an_entry_whose_note_was_erased_is_still_the_same(marrowby, told, hand):
    one = told(private={"note": b"a name"})
    entry, _ = entry_add(marrowby, one, hand)
    private_erase(marrowby, [entry], hand)
    assert entry_add(marrowby, one, hand) == (entry, False)


@pytest.mark.parametrize(
    ("later", "clock_error_s"),
    [
        (timedelta(minutes=6), None),
        (timedelta(days=-365 * 40), None),
        (timedelta(0), Decimal(-600)),
        (timedelta(0), Decimal(2_000_000_000)),
        (timedelta(days=365), Decimal(365 * 86_400)),
        (timedelta(days=-365), Decimal(-365 * 86_400)),
        (timedelta(0), Decimal(86_401)),
        (timedelta(0), Decimal("NaN")),
        (timedelta(0), Decimal("Infinity")),
    ],
)
def test_a_time_that_cannot_be_is_refused(write, later, clock_error_s):
    with pytest.raises(ValidationError) as error:
        write(happened_at=clock.now() + later, clock_error_s=clock_error_s)
    assert set(error.value.message_dict) == {"happened_at"}


@pytest.mark.parametrize(
    ("later", "clock_error_s"),
    [
        (timedelta(minutes=4), None),
        (timedelta(hours=1), Decimal(3600)),
        (timedelta(hours=-1), Decimal(-3600)),
        (timedelta(hours=-23), Decimal(-23 * 3600)),
        (timedelta(days=-700), None),
    ],
)
def test_a_wrong_clock_and_a_late_entry_are_taken(marrowby, write, later, clock_error_s):
    happened_at = clock.now() + later
    entry = write(happened_at=happened_at, clock_error_s=clock_error_s)
    entry.refresh_from_db()
    assert (entry.happened_at, entry.clock_error_s) == (happened_at, clock_error_s)
    assert verify(marrowby) is None


def test_a_clock_error_is_kept_to_the_millisecond_and_hashed_as_kept(marrowby, write):
    entry = write(clock_error_s=Decimal("1.23456789"))
    entry.refresh_from_db()
    assert entry.clock_error_s == Decimal("1.235")
    assert verify(marrowby) is None


def test_a_correction_replaces_an_entry_and_both_stay(marrowby, write):
    wrong = write()
    right = write(replaces=wrong.id, private={"reason": b"typed 15.5 for 18.5"})
    assert right.replaces == wrong
    assert Entry.objects.filter(pk=wrong.pk).exists()
    assert list(unreplaced(marrowby).filter(kind="reading")) == [right]
    assert verify(marrowby) is None


def test_a_correction_is_corrected_and_then_undone(marrowby, write):
    reason = {"reason": b"a slip"}
    first = write()
    second = write(replaces=first.id, private=reason)
    third = write(replaces=second.id, private=reason)
    assert list(unreplaced(marrowby).filter(kind="reading")) == [third]
    write(kind="undone", payload={}, replaces=third.id, private=reason)
    assert list(unreplaced(marrowby).exclude(kind="setting")) == []
    assert verify(marrowby) is None


@pytest.mark.parametrize("reason", [{}, {"reason": b""}, {"note": b"not a reason"}])
def test_a_correction_without_a_reason_is_refused(write, reason):
    wrong = write()
    with pytest.raises(ValidationError) as error:
        write(replaces=wrong.id, private=reason)
    assert set(error.value.message_dict) == {"reason"}


def test_what_was_corrected_is_not_corrected_again(write):
    wrong = write()
    write(replaces=wrong.id, private={"reason": b"a slip"})
    with pytest.raises(ValidationError) as error:
        write(replaces=wrong.id, private={"reason": b"another"})
    assert set(error.value.message_dict) == {"replaces"}


def test_another_kind_another_kitchens_and_an_unknown_entry_are_not_corrected(
    marrowby, another, write, told, hand
):
    elsewhere, _ = entry_add(another, told(), hand)
    call = write(kind="call", payload={"fryer": "F1"})
    setting = Entry.objects.filter(kitchen=marrowby, kind="setting").first()
    for replaced in (elsewhere.id, call.id, setting.id, uuid4()):
        with pytest.raises(ValidationError) as error:
            write(replaces=replaced, private={"reason": b"a slip"})
        assert set(error.value.message_dict) == {"replaces"}


def test_undoing_nothing_is_refused(write):
    with pytest.raises(ValidationError) as error:
        write(kind="undone", payload={}, private={"reason": b"a slip"})
    assert set(error.value.message_dict) == {"replaces"}


def test_what_is_refused_leaves_no_trace(marrowby, write):
    head = marrowby.head_seq
    with pytest.raises(ValidationError):
        write(payload={"fryer": "F1"})
    marrowby.refresh_from_db()
    assert marrowby.head_seq == head
    assert write().seq == head + 1


def test_a_note_is_kept_beside_the_entry_and_can_be_erased(marrowby, write, hand):
    entry = write(private={"note": "Café".encode()})
    assert notes_of([entry]) == {(entry.pk, "note"): "Café"}
    private_erase(marrowby, [entry], hand)
    assert notes_of([entry]) == {}
    row = Private.objects.get(entry=entry)
    assert (row.salt, row.content) == (None, None)
    last = Entry.objects.filter(kitchen=marrowby).last()
    assert (last.kind, last.payload) == ("erased", {"entries": [str(entry.pk)]})
    assert verify(marrowby) is None


def test_one_note_twice_has_two_digests(write):
    """A digest without salt would give a name away to who tries names."""
    first, second = (write(private={"note": b"Olive"}) for _ in range(2))
    assert first.private["note"] != second.private["note"]


def test_a_private_field_there_is_not_is_refused(write):
    with pytest.raises(ValidationError) as error:
        write(private={"address": b"Quay 1"})
    assert set(error.value.message_dict) == {"address"}


@pytest.mark.parametrize("text", ["a\x00b", "\ud800"], ids=["NUL", "half a character"])
@pytest.mark.parametrize(
    "payload",
    [
        lambda text: ("top_up", {"fryer": text, "unit": "mark"}),
        lambda text: ("setting", {"thing": "oils", "key": "x", "values": {"name": text}}),
        lambda text: ("setting", {"thing": "oils", "key": "x", "values": {text: "x"}}),
        lambda text: ("setting", {"thing": "oils", "key": text, "values": {"list": [{"x": "y"}]}}),
        lambda text: ("setting", {"thing": "oils", "key": "x", "values": {"list": [{"x": text}]}}),
    ],
)
def test_text_that_a_database_cannot_keep_is_refused(payload, text):
    kind, told = payload(text)
    with pytest.raises(ValidationError):
        checked_payload(kind, told)


def test_a_number_that_is_none_is_refused():
    with pytest.raises(ValidationError):
        checked_payload("setting", {"thing": "oils", "key": "x", "values": {"pack_kg": float("nan")}})


JSON = st.recursive(
    st.none() | st.booleans() | st.text() | st.floats() | st.integers(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(JSON)
def test_whatever_a_setting_says_is_refused_by_name_or_stands(marrowby, write, values):
    try:
        entry = write(kind="setting", payload={"thing": "oils", "key": "x", "values": values})
    except ValidationError:
        return
    there = Entry.objects.get(pk=entry.pk)
    assert there.payload == entry.payload
    assert verify(marrowby) is None


def test_an_answer_to_an_entry_of_no_or_another_day_book_is_refused(marrowby, another, write, told, hand):
    elsewhere, _ = entry_add(another, told(kind="call", payload=CALL), hand)
    for call in (uuid4(), elsewhere.pk):
        with pytest.raises(ValidationError) as error:
            write(kind="answer", payload={**CALL, "call": str(call)})
        assert set(error.value.message_dict) == {"call"}
    here = write(kind="call", payload=CALL)
    assert write(kind="answer", payload={**CALL, "call": str(here.pk)}).about == here


def test_an_answer_names_a_call_and_a_settlement_a_verdict_of_the_same_fryer(write):
    reading, call = write(), write(kind="call", payload=CALL)
    verdict = write(kind="verdict", payload={**VERDICT, "answers": str(reading.pk)})
    other_call = write(kind="call", payload={"fryer": "F2"})
    other_verdict = write(kind="verdict", payload={**VERDICT, "fryer": "F2"})
    for field, kind, payload, wrong in (
        ("call", "answer", CALL, (reading, verdict, other_call)),
        ("verdict", "settled", SETTLED, (reading, call, other_verdict)),
        ("answers", "verdict", VERDICT, (call, verdict)),
    ):
        for one in wrong:
            with pytest.raises(ValidationError, match="another kind, or of another fryer") as error:
                write(kind=kind, payload={**payload, field: str(one.pk)})
            assert set(error.value.message_dict) == {field}
    settled = write(kind="settled", payload={**SETTLED, "verdict": str(verdict.pk)})
    answer = write(kind="answer", payload={**CALL, "call": str(call.pk)})
    assert (settled.about, answer.about) == (verdict, call)


def test_a_verdict_answers_what_concerned_its_fryer_also_as_the_one_that_got_the_oil(write):
    move = write(kind="move", payload={"fryer": "F1", "into": "F2"})
    undone = write(kind="undone", payload={}, replaces=move.pk, private={"reason": b"a slip"})
    for about in (move, undone):
        for fryer in ("F1", "F2"):
            payload = {**VERDICT, "fryer": fryer, "answers": str(about.pk)}
            assert write(kind="verdict", payload=payload).about == about
