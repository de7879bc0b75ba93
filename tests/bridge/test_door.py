"""What makes an entry true is asked by the service, for a form, a file and a script alike."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from kettlewell import clock
from kettlewell.book.kinds import KINDS
from kettlewell.bridge.door import MAY_SLIP
from kettlewell.bridge.standing import standing
from kettlewell.bridge.verdicts import record as recorded
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, entry_add, setting_add
from kettlewell.records.models import Role
from kettlewell.records.people import SeatTerms, seat_set

NOW = clock.now().replace(microsecond=0) - timedelta(minutes=1)


@pytest.fixture
def record(marrowby, owner):
    """Record what happened some hours ago, told now."""

    def record_it(kind, hours_ago=0, *, replaces=None, entry_id=None, person=owner, note=b"", **payload):
        at = NOW - timedelta(hours=hours_ago)
        private = {"reason": b"a slip"} if replaces else {}
        told = Told(
            id=entry_id or uuid7(NOW),
            kind=kind,
            happened_at=at,
            payload=payload if kind == "undone" else {"fryer": "F1", **payload},
            private={**private, **({"note": note} if note else {})},
            replaces=replaces.pk if replaces else None,
        )
        return recorded(marrowby, told, Hand(person=person, now=NOW)).entry

    return record_it


def refused(record, kind, *args, **payload):
    with pytest.raises(ValidationError) as error:
        record(kind, *args, **payload)
    return (
        error.value.message_dict if hasattr(error.value, "error_dict") else {"__all__": error.value.messages}
    )


@pytest.mark.parametrize(
    ("payload", "field"),
    [
        ({"unit": "kg", "amount": "1", "mass_kg": "5000"}, "mass_kg"),
        ({"unit": "jug", "amount": "1", "mass_kg": "0.001"}, "mass_kg"),
        ({"unit": "mark", "mass_kg": "1"}, "mass_kg"),
        ({"unit": "kg", "amount": "16.1"}, "amount"),
        ({"unit": "kg", "amount": "16.1", "mass_kg": "16.1"}, "amount"),
        ({"unit": "kg"}, "amount"),
    ],
)
def test_an_amount_of_oil_and_its_mass_agree_and_go_into_the_bath(record, payload, field):
    assert set(refused(record, "top_up", **payload)) == {field}


@pytest.mark.parametrize(
    ("payload", "mass_kg"),
    [
        ({"unit": "jug", "amount": "2"}, "3.68"),
        ({"unit": "jug", "amount": "2", "mass_kg": "3.68"}, "3.68"),
        ({"unit": "pack", "amount": "0.5"}, "4.6"),
        ({"unit": "kg", "amount": "16"}, "16"),
        ({"unit": "mark"}, None),
    ],
)
def test_the_mass_of_an_amount_of_oil_is_worked_out_where_it_is_missing(record, payload, mass_kg):
    assert record("top_up", **payload).payload.get("mass_kg") == mass_kg


def test_the_mass_of_food_is_worked_out_and_held_against_what_is_told(record):
    food = {"product": "fries", "unit": "portion", "amount": "10"}
    assert record("load", **food).payload["mass_kg"] == "2"
    assert set(refused(record, "load", **food, mass_kg="3")) == {"mass_kg"}
    assert set(refused(record, "load", **{**food, "unit": "basket"})) == {"unit"}
    assert "mass_kg" not in record("load", product="fries").payload


def test_an_amount_sent_again_after_the_jug_has_changed_is_the_same_entry(marrowby, hand, record):
    """Corrected, too, it may stay what it was."""
    jugs = {"unit": "jug", "amount": "2"}
    first = record("top_up", **jugs)
    kitchen = {"name": "Marrowby", "timezone": "Europe/London", "jug_l": "1"}
    setting_add(marrowby, "kitchen", "", kitchen, hand=hand)
    assert record("top_up", entry_id=first.pk, **jugs) == first
    assert record("top_up", 1, replaces=first, **first.payload).payload == first.payload


def test_oil_is_not_stored_twice(record):
    record("store", 2)
    assert refused(record, "store", 1) == {"fryer": ["According to the day book this fryer is empty."]}


def test_no_oil_is_moved_out_of_an_empty_bath(record):
    record("store", 2)
    assert set(refused(record, "move", 1, into="F2", mass_kg="1")) == {"fryer"}


def test_nothing_is_put_back_where_nothing_was_kept(record):
    assert refused(record, "return") == {"fryer": ["According to the day book no oil of this fryer is kept."]}


def test_no_more_is_taken_out_than_there_is(record):
    record("move", 3, into="F2", mass_kg="10")
    assert set(refused(record, "move", 2, into="F2", mass_kg="7")) == {"mass_kg"}
    record("top_up", 2, unit="mark")
    record("move", 1, into="F2", mass_kg="7")


def test_all_that_fits_goes_only_into_an_empty_bath(record):
    assert set(refused(record, "move", into="F2")) == {"mass_kg"}
    record("store", 2, fryer="F2")
    record("move", 1, into="F2")


def test_what_was_told_before_may_stay_so_in_a_correction(marrowby, owner, record):
    """As in a day book of before, when nobody asked for the amount."""
    at = NOW - timedelta(hours=3)
    told = Told(id=uuid7(at), kind="move", happened_at=at, payload={"fryer": "F1", "into": "F2"})
    before, _new = entry_add(marrowby, told, Hand(person=owner, now=at))
    record("move", 2, into="F2", replaces=before)


def test_a_late_entry_is_judged_by_what_stood_then(record):
    record("store", 1)
    assert set(refused(record, "return", 2)) == {"fryer"}
    assert set(refused(record, "store", 2)) == {"happened_at"}, "the oil stored later was not there then"


def test_what_later_entries_rest_on_is_not_undone_before_them(record):
    stored = record("store", 3)
    back = record("return", 2)
    assert set(refused(record, "undone", replaces=stored)) == {"__all__"}
    record("undone", replaces=back)
    record("undone", replaces=stored)


def test_a_bath_is_drained_by_someone_of_this_kitchen_who_is_trained_to(marrowby, owner, cook, record):
    assert set(refused(record, "change", drained_by=str(uuid4()))) == {"drained_by"}
    assert set(refused(record, "store", drained_by=str(cook.pk))) == {"drained_by"}
    assert record("change", drained_by=str(owner.pk)).payload["drained_by"] == str(owner.pk)
    seat_set(
        marrowby, cook, SeatTerms(role=Role.COOK, trained_to_drain=True), hand=Hand(person=owner, now=NOW)
    )
    assert record("store", drained_by=str(cook.pk))


def test_out_of_a_bath_with_a_pump_anyone_of_the_kitchen_drains(marrowby, hand, cook, stranger, record):
    pump = {"name": "Fries", "oil": "rapeseed", "oil_mass_kg": "16", "fries": ["fries"], "draining": "pump"}
    setting_add(marrowby, "fryers", "F1", pump, hand=hand)
    assert record("change", drained_by=str(cook.pk))
    assert set(refused(record, "change", drained_by=str(stranger.pk))) == {"drained_by"}


def test_a_kitchen_is_closed_until_a_later_time_and_is_answered_all_the_same(marrowby, record):
    """That no service happens then is not believed yet."""
    assert set(refused(record, "closed", until=(NOW - timedelta(hours=1)).isoformat())) == {"until"}
    assert record("closed", until=(NOW + timedelta(days=3)).isoformat())
    ahead = {"begins": (NOW + timedelta(days=5)).isoformat()}
    assert set(refused(record, "closed", until=(NOW + timedelta(days=4)).isoformat(), **ahead)) == {"until"}
    assert record("closed", until=(NOW + timedelta(days=9)).isoformat(), **ahead)
    whole = Told(
        id=uuid7(NOW),
        kind="closed",
        happened_at=NOW,
        payload={"until": (NOW + timedelta(days=3)).isoformat()},
    )
    recorded(marrowby, whole, Hand(person=None, now=NOW))
    assert len(standing(marrowby, NOW).assessments) == 2


def test_only_those_write_who_may(inspector, stranger, cook, record):
    for person in (inspector, stranger):
        with pytest.raises(PermissionDenied):
            record("care", care="skim", person=person)
    assert record("care", care="skim", person=cook)


def test_what_the_program_writes_is_told_by_nobody(marrowby, owner):
    told = Told(id=uuid7(NOW), kind="erased", happened_at=NOW, payload={"entries": [str(uuid4())]})
    with pytest.raises(ValidationError) as error:
        recorded(marrowby, told, Hand(person=owner, now=NOW))
    assert set(error.value.message_dict) == {"kind"}


def test_what_is_refused_is_not_written(marrowby, record):
    before = marrowby.entries.count()
    refused(record, "return")
    assert marrowby.entries.count() == before


SO = dict.fromkeys(("no_food", "no_bubbles", "probe_clear", "steady"), "yes")
SLIPS = [
    ("reading", {"tpc_pct": "65", **SO}, "tpc_pct"),
    ("reading", {"tpc_pct": "0", **SO}, "tpc_pct"),
    ("laboratory", {"tpc_pct": "65"}, "tpc_pct"),
    ("load", {"product": "fries", "unit": "kg", "amount": "1500"}, "amount"),
]


@pytest.mark.parametrize(("kind", "payload", "field"), SLIPS)
def test_a_slip_of_the_pen_is_asked_about_and_taken_once_somebody_is_sure(
    marrowby, owner, record, kind, payload, field
):
    assert set(refused(record, kind, **payload)) == {field}
    told = Told(id=uuid7(NOW), kind=kind, happened_at=NOW, payload={"fryer": "F1", **payload}, sure=True)
    assert recorded(marrowby, told, Hand(person=owner, now=NOW)).new


def test_what_may_be_a_slip_is_a_kind_that_there_is():
    assert set(MAY_SLIP) <= set(KINDS)


def test_what_is_likely_is_not_asked_about(record):
    assert record("reading", tpc_pct="6.5", **SO)
    assert record("load", product="fries", unit="kg", amount="15")
