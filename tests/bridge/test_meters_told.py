"""What follows from an entry about a meter: a belief computed anew, and the verdicts that changed."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError

from kettlewell.bridge.entries import book_of
from kettlewell.bridge.setups import setup_of
from kettlewell.bridge.standing import minute_after, standing
from kettlewell.bridge.verdicts import record
from kettlewell.core import assess
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, setting_add
from kettlewell.records.models import Kitchen

NOW = datetime(2026, 11, 20, 15, 30, tzinfo=UTC)
DAY = timedelta(days=1)
SOUND = {"no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}
LOT = {"name": "Lot 7", "tpc_pct": "18", "expanded_u_pct": "0.6", "best_before": "2026-01-31"}
CHECK = {"meter": "hand", "lot": "bottle", "readings": ["10", "10", "10"], "oil_temp_c": "50"}


@pytest.fixture
def started_at():
    return NOW - 100 * DAY


@pytest.fixture
def write(marrowby, owner, started_at):
    """Write what happened, at a time, as if it had been told then or at ``told_at``."""
    setting_add(marrowby, "reference_lots", "bottle", LOT, hand=Hand(person=owner, now=started_at))

    def write_down(kind, at, payload, told_at=None, **more):
        told = Told(id=uuid7(at), kind=kind, happened_at=at, payload=payload, **more)
        return record(marrowby, told, Hand(person=owner, now=told_at or at))

    return write_down


@pytest.fixture
def weeks(write):
    """Readings of both fryers, each day one, to 20 % on the evening before NOW."""
    for fryer in ("F1", "F2"):
        write("change", NOW - 16 * DAY, {"fryer": fryer})
        for day in range(15):
            at = NOW - (15 - day) * DAY
            write("reading", at, {"fryer": fryer, "tpc_pct": str(5.5 + day), **SOUND})


def told(entry):
    return [one.fryer for one in entry.answers.order_by("seq")]


def told_last(kitchen):
    """Return by fryer the verdict that was told last, and of all fryers what stands."""
    verdicts = kitchen.entries.filter(kind="verdict").order_by("seq")
    assessments = standing(kitchen, NOW).assessments
    return (
        {one.fryer: one.payload["verdict"] for one in verdicts},
        {one.fryer: one.verdict.key for one in assessments},
    )


def afresh(kitchen):
    """Return what the core says of the whole book, without anything stored."""
    value = setup_of(kitchen).kitchen
    return assess(value, book_of(kitchen, upto_seq=kitchen.head_seq), now=minute_after(NOW))


@pytest.mark.usefixtures("weeks")
def test_after_a_check_each_fryer_in_use_is_told_its_verdict_if_it_is_another(write, marrowby):
    write("order", NOW - timedelta(hours=2), {"fryer": "F2", "back": False})
    recorded = write("meter_check", NOW, CHECK)
    assert (recorded.verdict, recorded.assessment) == (None, None)
    assert told(recorded.entry) == ["F1"]
    again = write("meter_check", NOW, {**CHECK, "readings": ["10"]})
    assert told(again.entry) == []


@pytest.mark.usefixtures("weeks")
def test_a_check_sent_twice_is_told_of_once(write):
    one = write("meter_check", NOW, CHECK).entry
    sent = Told(id=one.pk, kind="meter_check", happened_at=NOW, payload=CHECK)
    twice = record(one.kitchen, sent, Hand(person=one.person, now=NOW + timedelta(minutes=1)))
    assert (twice.new, twice.verdict) == (False, None)
    assert told(one) == ["F1", "F2"]


@pytest.mark.usefixtures("weeks")
@pytest.mark.parametrize(
    ("kind", "payload"),
    [
        ("meter_check", CHECK),
        ("meter_order", {"meter": "hand", "back": False}),
        (
            "comparison",
            {
                "meter": "hand",
                "oil": "rapeseed",
                "offset_pct": "-3",
                "offset_u_pct": "0.3",
                "gain": "1",
                "gain_u": "0.02",
                "correlation": "-0.9",
            },
        ),
    ],
)
def test_what_is_told_late_of_a_meter_or_undone_counts_from_when_it_happened(write, marrowby, kind, payload):
    before = standing(marrowby, NOW).assessments
    late = write(kind, NOW - 3 * DAY, payload, told_at=NOW).entry
    assert standing(marrowby, NOW).assessments == afresh(marrowby) != before
    last, stands = told_last(marrowby)
    assert last == stands
    write("undone", NOW, {}, replaces=late.pk, private={"reason": b"It was another meter."})
    assert standing(marrowby, NOW).assessments == afresh(marrowby) == before
    last, stands = told_last(marrowby)
    assert last == stands


@pytest.mark.usefixtures("weeks")
def test_a_corrected_check_counts_instead_of_the_first(write, marrowby):
    wrong = write("meter_check", NOW - 2 * DAY, CHECK).entry
    right = {**CHECK, "readings": ["18", "18", "18"]}
    private = {"reason": b"Misread."}
    write("meter_check", NOW - 2 * DAY, right, told_at=NOW, replaces=wrong.pk, private=private)
    assert standing(marrowby, NOW).assessments == afresh(marrowby)
    assert [entry.readings_pct for entry in book_of(marrowby, upto_seq=marrowby.head_seq)[-3:-2]] == [
        (18.0, 18.0, 18.0)
    ]


def test_a_check_before_the_meter_was_in_use_is_refused_at_its_time_and_nothing_is_written(
    write, marrowby, owner
):
    since = date(2026, 11, 20)
    setting_add(
        marrowby, "meters", "hand", {"name": "Hand", "in_use_since": since}, hand=Hand(person=owner, now=NOW)
    )
    head = marrowby.head_seq
    with pytest.raises(ValidationError, match="not in use yet") as error:
        write("meter_check", NOW - DAY, CHECK, told_at=NOW)
    assert set(error.value.message_dict) == {"happened_at"}
    assert Kitchen.objects.get().head_seq == head
    assert write("meter_check", NOW, CHECK).new


def test_a_check_in_reference_oil_past_its_day_is_taken(write):
    """The bottle of these tests was best before January."""
    assert write("meter_check", NOW, CHECK).new
