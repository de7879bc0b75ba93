"""Every kind of entry takes what it is for and refuses what it is not."""

from uuid import UUID

import pytest
from django.core.exceptions import ValidationError

from kettlewell.book.kinds import KINDS
from kettlewell.records.checks import checked_payload
from kettlewell.records.kinds import PAYLOADS

OTHER = str(UUID(int=7))
ANSWERS = {"no_food": "yes", "no_bubbles": "no", "probe_clear": "yes", "steady": "unknown"}
FRYER = {"fryer": "F1"}
VERDICT = {
    **FRYER,
    "verdict": "fry_on",
    "reason": {"text": "The limit is far."},
    "changes_if": {"text": "A reading of more."},
    "passing_probability": "0.01",
    "passing_probability_next": "0.02",
    "risk": "0.05",
    "holds_until": "2026-11-26T11:30:00Z",
    "tpc_mean_pct": "15.25",
    "tpc_sd_pct": "1.1",
    "services": [{"name": "Lunch"}],
    "limits": [{"value": "24"}],
    "model_version": "1",
    "head_seq": "12",
    "head_hash": "ab" * 32,
    "recomputing": False,
}
COMPARISON = {
    "meter": "second",
    "against": "hand",
    "oil": "rapeseed",
    "offset_pct": "-0.25",
    "offset_u_pct": "0.4",
    "gain": "1.03",
    "gain_u": "0.02",
    "correlation": "-0.9",
}
GOOD_AND_BAD = {
    "reading": ({**FRYER, "tpc_pct": "15.5", **ANSWERS}, {"tpc_pct": "101"}),
    "laboratory": ({**FRYER, "tpc_pct": "15.5", "u_pct": "0.8"}, {"u_pct": "0"}),
    "senses": ({**FRYER, "spoiled": True, "signs": ["smell", "foam"]}, {"signs": ["noise"]}),
    "top_up": ({**FRYER, "unit": "jug", "amount": "2", "mass_kg": "3.68"}, {"unit": "bucket"}),
    "care": ({**FRYER, "care": "filter"}, {"care": "prayed"}),
    "change": ({**FRYER, "oil": "rapeseed"}, {"oil": "x" * 41}),
    "move": ({**FRYER, "into": "F2", "mass_kg": "4"}, {"into": "F1"}),
    "store": (FRYER, {"fryer": ""}),
    "return": (FRYER, {"fryer": "x" * 41}),
    "load": ({**FRYER, "product": "fries", "unit": "kg", "amount": "2.5"}, {"amount": "-1"}),
    "hot_hours": ({**FRYER, "hot_h": "3.25"}, {"hot_h": "25"}),
    "order": ({**FRYER, "back": True}, {"fryer": ""}),
    "closed": ({**FRYER, "until": "2026-12-27T10:00:00.000000Z"}, {"until": "tomorrow"}),
    "meter_check": (
        {"meter": "hand", "lot": "bottle", "readings": ["17.5", "18"], "oil_temp_c": "50", "adjusted": False},
        {"readings": ["17.5", "18", "17.5", "18"]},
    ),
    "meter_order": ({"meter": "hand", "back": True}, {"meter": ""}),
    "comparison": (COMPARISON, {"gain": "0"}),
    "call": (FRYER, {"fryer": ""}),
    "answer": ({**FRYER, "call": OTHER}, {"call": "yesterday's"}),
    "settled": (
        {**FRYER, "verdict": OTHER, "oil_done": "drained", "food_done": "held", "drained_by": OTHER},
        {"food_done": "eaten"},
    ),
    "reviewed": ({**FRYER, "settled": OTHER}, {"settled": "yesterday"}),
    "review": ({"first_day": "2026-11-01", "last_day": "2026-11-15"}, {"last_day": "soon"}),
    "complaint": ({**FRYER, "complained_of": ["taste", "other"]}, {"complained_of": ["price"]}),
    "recall": ({"delivery": "L 4711"}, {"delivery": ""}),
    "training": ({"trained": OTHER, "trained_in": ["readings"]}, {"trained_in": []}),
    "collected": (
        {
            "mass_kg": "84.5",
            "containers": "3",
            "container_l": "30",
            "carrier": "A firm",
            "receiver": "Another",
            "waste_code": "20 01 25",
            "paid": "-12.5",
            "currency": "EUR",
        },
        {"carrier": ""},
    ),
    "relied": (
        {
            **FRYER,
            "verdict": OTHER,
            "check": OTHER,
            "stands": "not",
            "oil_done": "kept",
            "food_done": "served",
        },
        {"stands": "perhaps"},
    ),
    "verdict": (VERDICT, {"risk": "1.5"}),
    "setting": (
        {"thing": "oils", "key": "rapeseed", "values": {"name": "Rapeseed"}, "removed": False},
        {"thing": "weather"},
    ),
    "undone": ({}, {"fryer": "F1"}),
    "erased": ({"entries": [OTHER]}, {"entries": []}),
    "imported": (
        {"first": "12", "last": "940", "digest": "0" * 64, "recipe": {"header": "1"}},
        {"first": "0", "digest": "0" * 65},
    ),
}


def test_every_kind_is_tried_here():
    assert set(GOOD_AND_BAD) == set(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_a_good_payload_is_written_down_as_it_was_told(kind):
    good, _ = GOOD_AND_BAD[kind]
    assert checked_payload(kind, good) == good


@pytest.mark.parametrize("kind", KINDS)
def test_a_bad_payload_is_refused_by_its_field(kind):
    good, bad = GOOD_AND_BAD[kind]
    with pytest.raises(ValidationError) as error:
        checked_payload(kind, {**good, **bad})
    assert set(error.value.message_dict) == (set(bad) if kind != "undone" else {"__all__"})


@pytest.mark.parametrize("kind", KINDS)
def test_what_a_kind_does_not_know_is_refused(kind):
    good, _ = GOOD_AND_BAD[kind]
    with pytest.raises(ValidationError, match="does not belong"):
        checked_payload(kind, {**good, "colour_of_the_wall": "blue"})


def test_a_kind_there_is_not_is_refused():
    with pytest.raises(ValidationError):
        checked_payload("weather", {})


@pytest.mark.parametrize(
    ("typed", "written"), [("15,5", "15.5"), (" 15.50 % ", "15.5"), ("15", "15"), ("0,0", "0")]
)
def test_a_number_is_typed_with_a_comma_or_a_point(typed, written):
    told = checked_payload("reading", {**FRYER, "tpc_pct": typed, **ANSWERS})
    assert told["tpc_pct"] == written


@pytest.mark.parametrize("typed", ["15.5.5", "1e500", "NaN", "∞", "fifteen", "", "-1", "15.555"])
def test_what_is_no_measured_value_is_refused(typed):
    with pytest.raises(ValidationError) as error:
        checked_payload("reading", {**FRYER, "tpc_pct": typed, **ANSWERS})
    assert set(error.value.message_dict) == {"tpc_pct"}


@pytest.mark.parametrize("readings", [[], [""], ["101"], ["17.5", "x"], ["1.234"], "", [["17"]]])
def test_a_meter_check_has_readings_that_can_be(readings):
    told = {"meter": "hand", "lot": "bottle", "readings": readings}
    with pytest.raises(ValidationError) as error:
        checked_payload("meter_check", told)
    assert set(error.value.message_dict) == {"readings"}


def test_readings_of_a_check_are_typed_as_any_number_and_empty_ones_are_left_out():
    told = {"meter": "hand", "lot": "bottle", "readings": ["17,5", "", " 18.0 % "]}
    assert checked_payload("meter_check", told)["readings"] == ["17.5", "18"]


def test_a_meter_is_not_compared_with_itself():
    with pytest.raises(ValidationError) as error:
        checked_payload("comparison", {**COMPARISON, "against": "second"})
    assert set(error.value.message_dict) == {"against"}


@pytest.mark.parametrize(
    ("stands", "needed"), [("stands", set()), ("unknown", set()), ("not", {"oil_done", "food_done"})]
)
def test_what_was_done_is_asked_for_where_a_verdict_does_not_stand(stands, needed):
    told = {**FRYER, "verdict": OTHER, "check": OTHER, "stands": stands}
    if not needed:
        assert checked_payload("relied", told) == told
        return
    with pytest.raises(ValidationError) as error:
        checked_payload("relied", told)
    assert set(error.value.message_dict) == needed


@pytest.mark.parametrize("stands", ["stands", "unknown"])
def test_what_was_done_is_refused_where_a_verdict_may_stand(stands):
    told = {**FRYER, "verdict": OTHER, "check": OTHER, "stands": stands, "oil_done": "kept"}
    with pytest.raises(ValidationError) as error:
        checked_payload("relied", told)
    assert error.value.message_dict == {"oil_done": ["Only if the verdict was wrong."]}


def test_what_was_not_said_is_not_written():
    told = checked_payload("load", {**FRYER, "product": "fries", "unit": "", "amount": ""})
    assert told == {**FRYER, "product": "fries"}


@pytest.mark.parametrize("typed", ["NaN", "-Infinity", "sNaN", "fifteen", ""])
def test_what_is_no_number_is_shown_again_as_it_was_typed(typed):
    assert PAYLOADS["reading"].base_fields["tpc_pct"].prepare_value(typed) == typed


@pytest.mark.parametrize("oil_temp_c", ["0", "300"])
def test_oil_may_be_as_cold_as_ice_and_as_hot_as_it_ever_gets(oil_temp_c):
    told = {**FRYER, "tpc_pct": "9", "oil_temp_c": oil_temp_c, **ANSWERS}
    assert checked_payload("reading", told)["oil_temp_c"] == oil_temp_c


@pytest.mark.parametrize("oil_temp_c", ["-0.1", "300.1"])
def test_oil_colder_or_hotter_than_that_is_refused(oil_temp_c):
    with pytest.raises(ValidationError, match="oil_temp_c"):
        checked_payload("reading", {**FRYER, "tpc_pct": "9", "oil_temp_c": oil_temp_c, **ANSWERS})


@pytest.mark.parametrize(("offset_pct", "sound"), [("-100", True), ("100", True), ("-100.1", False)])
def test_a_comparison_is_off_by_all_there_is_at_most(offset_pct, sound):
    told = {**COMPARISON, "offset_pct": offset_pct}
    if sound:
        assert checked_payload("comparison", told)["offset_pct"] == offset_pct
    else:
        with pytest.raises(ValidationError, match="offset_pct"):
            checked_payload("comparison", told)
