"""What stands now is what the whole book says, however much of it was stored beforehand."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from cast import written_into
from django.core.exceptions import ValidationError

from kettlewell.book.plain import decimal_text, time_text
from kettlewell.bridge import beliefs, replays
from kettlewell.bridge.amounts import oil_amount_kg
from kettlewell.bridge.entries import book_of
from kettlewell.bridge.fills import past_fills
from kettlewell.bridge.past import past_of
from kettlewell.bridge.settings import SettingChange, settings_change
from kettlewell.bridge.setups import history_of, setup_of
from kettlewell.bridge.standing import minute_after, standing
from kettlewell.bridge.suppose import Supposition, what_if
from kettlewell.bridge.verdicts import record, tell_now, told_message
from kettlewell.core import assess, history
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, setting_add
from kettlewell.records.models import Replay
from kettlewell.records.selectors import last_that_counts, open_changes
from kettlewell.records.settings import settings_of
from kettlewell.telling.reasons import reason_message

NOW = datetime(2026, 11, 20, 15, 30, 20, tzinfo=UTC)
SOUND = {"no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}


@pytest.fixture
def started_at():
    """Long enough ago for the oldest entry of these tests."""
    return NOW - timedelta(days=400)


@pytest.fixture
def write(marrowby, owner):
    """Write what happened, at a time, as if it had been told then or at ``told_at``."""

    def write_down(kind, at, told_at=None, **payload):
        told = Told(id=uuid7(at), kind=kind, happened_at=at, payload={"fryer": "F1", **payload}, private={})
        return record(marrowby, told, Hand(person=owner, now=told_at or at))

    return write_down


@pytest.fixture
def weeks(marrowby, write):
    """Write some weeks of readings with a change every ten days, up to the evening before NOW."""

    def write_weeks(days):
        written_into(marrowby, days, lambda: write_all(days))

    def write_all(days):
        for day in range(days):
            at = NOW - timedelta(days=days - day, hours=5)
            if day % 10 == 0:
                write("change", at)
            write("reading", at + timedelta(minutes=5), tpc_pct=str(5 + day % 10), **SOUND)

    return write_weeks


def afresh(kitchen):
    """Return what the core says of the whole book, without anything stored."""
    entries = book_of(kitchen, upto_seq=kitchen.head_seq)
    return assess(history_of(kitchen), entries, now=minute_after(NOW))


def test_an_answer_from_stored_beliefs_is_that_of_the_whole_book(marrowby, weeks):
    weeks(30)
    assert marrowby.beliefs.count() > 10
    assert standing(marrowby, NOW).assessments == afresh(marrowby)


def test_something_told_late_counts_from_when_it_happened(marrowby, weeks, write):
    weeks(30)
    before = standing(marrowby, NOW).assessments
    write("change", NOW - timedelta(days=4), told_at=NOW)
    after = standing(marrowby, NOW)
    assert after.assessments == afresh(marrowby) != before
    assert not after.recomputing


def test_something_told_of_more_than_90_days_ago_is_recomputed_in_the_background(
    marrowby, owner, weeks, write, monkeypatch
):
    weeks(120)
    before = standing(marrowby, NOW).assessments
    monkeypatch.setattr(replays, "take_up", lambda *_: None)
    late = write("reading", NOW - timedelta(days=100), told_at=NOW, tpc_pct="13", **SOUND)
    assert late.late
    assert late.verdict is None
    told = tell_now(marrowby, Hand(person=owner, now=NOW))
    assert told["F1"].payload["recomputing"] is True
    meanwhile = standing(marrowby, NOW)
    assert meanwhile.recomputing
    assert meanwhile.assessments == before
    Replay.objects.update(taken_at=NOW)
    replays.replay(marrowby, NOW)
    after = standing(marrowby, NOW)
    assert not after.recomputing
    assert after.assessments == afresh(marrowby) != before


def test_a_corrected_reading_no_longer_counts(marrowby, weeks, write, hand):
    weeks(8)
    before = standing(marrowby, NOW).assessments
    wrong = write("reading", NOW - timedelta(hours=1), tpc_pct="23.5", **SOUND)
    undone = Told(
        id=uuid7(NOW),
        kind="undone",
        happened_at=NOW,
        payload={},
        private={"reason": b"wrong fryer"},
        replaces=wrong.entry.id,
    )
    assert standing(marrowby, NOW).assessments != before
    record(marrowby, undone, replace(hand, now=NOW))
    assert standing(marrowby, NOW).assessments == before


def test_a_stricter_limit_counts_at_once_and_keeps_what_was_learnt(marrowby, weeks, hand):
    weeks(20)
    standing(marrowby, NOW)
    stored = set(marrowby.beliefs.values_list("pk", flat=True))
    values = settings_of(marrowby)["limits"]["house"] | {"value": "12"}
    setting_add(marrowby, "limits", "house", values, hand=replace(hand, now=NOW))
    told = standing(marrowby, NOW)
    assert told.assessments == afresh(marrowby)
    assert {limit.tpc_pct for one in told.assessments for limit in one.limits} == {12.0}
    assert stored == set(marrowby.beliefs.values_list("pk", flat=True))


def hotter(kitchen):
    """Return the change that sets a fryer to 190 °C."""
    values = settings_of(kitchen)["fryers"]["F1"] | {"set_temp_c": "190"}
    return SettingChange(thing="fryers", key="F1", values=values)


def of_f1(assessments):
    """Return what is told of the fryer F1."""
    return next(told for told in assessments if told.fryer == "F1")


def test_another_set_temperature_leaves_the_past_and_what_is_stored_of_it_alone(marrowby, weeks, hand):
    weeks(20)
    before = of_f1(standing(marrowby, NOW).assessments)
    stored = set(marrowby.beliefs.values_list("pk", flat=True))
    settings_change(marrowby, [hotter(marrowby)], replace(hand, now=NOW))
    after = standing(marrowby, NOW).assessments
    assert after == afresh(marrowby)
    assert of_f1(after).tpc_mean_pct == pytest.approx(before.tpc_mean_pct, rel=1e-9)
    assert of_f1(after).life.services_median < before.life.services_median
    assert stored == set(marrowby.beliefs.values_list("pk", flat=True))


def test_a_set_temperature_of_the_past_is_walked_anew_from_there(marrowby, weeks, hand):
    """It counts from its time on: what is stored from before stays, the rest is made again."""
    weeks(20)
    before = standing(marrowby, NOW).assessments
    since = NOW - timedelta(days=10, hours=7)
    earlier = set(marrowby.beliefs.filter(covers_to__lte=since).values_list("pk", flat=True))
    settings_change(marrowby, [hotter(marrowby)], replace(hand, now=NOW), counts_from=since)
    after = standing(marrowby, NOW)
    assert after.assessments == afresh(marrowby) != before
    assert not after.recomputing
    assert earlier
    assert earlier <= set(marrowby.beliefs.values_list("pk", flat=True))


def test_a_set_temperature_of_long_ago_is_recomputed_in_the_background(marrowby, weeks, hand, monkeypatch):
    weeks(120)
    standing(marrowby, NOW)
    monkeypatch.setattr(replays, "take_up", lambda *_: None)
    long_ago = NOW - timedelta(days=100)
    settings_change(marrowby, [hotter(marrowby)], replace(hand, now=NOW), counts_from=long_ago)
    assert standing(marrowby, NOW).recomputing
    finish_replay(marrowby)
    assert standing(marrowby, NOW).assessments == afresh(marrowby)


def test_the_same_reading_sent_twice_is_told_once(marrowby, weeks, hand):
    weeks(3)
    told = Told(
        id=uuid7(NOW), kind="reading", happened_at=NOW, payload={"fryer": "F1", "tpc_pct": "9", **SOUND}
    )
    first = record(marrowby, told, replace(hand, now=NOW))
    again = record(marrowby, told, replace(hand, now=NOW + timedelta(seconds=4)))
    assert (first.new, again.new) == (True, False)
    assert again.verdict == first.verdict
    assert marrowby.entries.filter(kind="verdict", payload__answers=str(told.id)).count() == 1


def test_a_verdict_says_what_it_was_computed_from_and_can_be_told_again(marrowby, write, weeks):
    weeks(3)
    told = write("reading", NOW, tpc_pct="9", **SOUND)
    payload = told.verdict.payload
    assert payload["head_seq"] == str(told.entry.seq)
    assert payload["head_hash"] == told.entry.hash
    assert payload["limits"][0]["value"] == "24"
    assert told_message(payload["reason"]) == reason_message(told.assessment.verdict.reason)


def test_a_verdict_is_written_down_with_the_code_and_the_numbers_of_its_reason(marrowby, write, weeks):
    weeks(3)
    told = write("reading", NOW, tpc_pct="9", **SOUND)
    payload, reason = told.verdict.payload, told.assessment.verdict.reason
    assert payload["reason"]["code"] == "risk_accepted"
    assert payload["reason"]["numbers"] == {
        "quantity": "total polar compounds",
        "limit_pct": "24",
        "service": reason.service,
        "ends_at": time_text(reason.ends_at),
        "passing_probability": decimal_text(round(reason.passing_probability, 6)),
        "risk": "0.05",
        "metered": True,
    }
    assert payload["changes_if"]["code"] == "reading_from"
    reading_pct = told.assessment.verdict.changes_if.reading_pct
    assert payload["changes_if"]["numbers"] == {"reading_pct": decimal_text(reading_pct)}


def test_a_doubted_reading_is_written_down_with_what_it_showed(marrowby, write, weeks):
    weeks(3)
    payload = write("reading", NOW, tpc_pct="16", **{**SOUND, "steady": "no"}).verdict.payload
    assert payload["reason"]["code"] == "doubted"
    assert payload["reason"]["numbers"]["kind"] == "unsound"
    assert payload["reason"]["numbers"]["reading_pct"] == "16"


def test_a_verdict_from_before_reasons_had_codes_is_told_as_it_was(marrowby, write, weeks):
    weeks(3)
    payload = write("reading", NOW, tpc_pct="9", **SOUND).verdict.payload
    old = {name: payload["reason"][name] for name in ("text", "values")}
    assert str(told_message(old)).startswith("Chance of going over the 24 % limit")


def test_what_if_changes_the_forecast_and_stores_nothing(marrowby, weeks):
    weeks(9)
    usual = next(one for one in standing(marrowby, NOW).assessments if one.fryer == "F1")
    head = marrowby.head_hash
    hotter = what_if(marrowby, "F1", Supposition(set_temp_c=195), NOW)
    fresher = what_if(marrowby, "F1", Supposition(top_up_kg=2), NOW)
    cooler = what_if(marrowby, "F1", Supposition(standby_temp_c=140), NOW)
    cool = what_if(marrowby, "F1", Supposition(set_temp_c=140), NOW)
    expected = [one.forecast[5].tpc_mean_pct for one in (cool, cooler, usual)]
    assert expected == sorted(set(expected))
    assert hotter.tpc_mean_pct == cool.tpc_mean_pct == usual.tpc_mean_pct  # the hours past stay as they were
    assert hotter.forecast[5].tpc_mean_pct > usual.forecast[5].tpc_mean_pct
    assert fresher.forecast[5].tpc_mean_pct < usual.forecast[5].tpc_mean_pct
    marrowby.refresh_from_db()
    assert marrowby.head_hash == head


@pytest.mark.parametrize("supposed", [{"top_up_kg": 50.0}, {"load_kg": 900.0}])
def test_what_if_refuses_an_amount_that_would_be_asked_about_in_the_day_book(marrowby, weeks, supposed):
    weeks(2)
    with pytest.raises(ValidationError) as refused:
        what_if(marrowby, "F1", Supposition(**supposed), NOW)
    assert refused.value.error_dict.keys() == supposed.keys()


def test_a_kitchen_that_cannot_be_answered_yet_says_why(marrowby, hand):
    for key in ("lunch", "dinner"):
        setting_add(marrowby, "services", key, None, hand=replace(hand, now=NOW))
    told = standing(marrowby, NOW)
    assert told.assessments == ()
    assert "no services" in str(told.problem)


def test_past_fills_are_told_with_their_last_reading(marrowby, weeks):
    weeks(25)
    fills = past_fills(marrowby, "F1", NOW)
    assert [fill.last_reading_pct for fill in fills] == [14.0, 14.0]
    assert [fill.days for fill in fills] == [10.0, 10.0]


@pytest.mark.parametrize("late", [None, 3], ids=["as it came", "told late"])
def test_the_past_of_a_fryer_is_what_the_whole_book_says_now(marrowby, weeks, write, late):
    """Also of what was told late, between the stored beliefs of which the past is made up."""
    weeks(30)
    at, begins = minute_after(NOW), NOW - timedelta(days=9)
    span = {"begins": begins, "now": at}
    past_of(marrowby, "F1", **span, head=last_that_counts(marrowby))
    if late:
        write("reading", NOW - timedelta(days=late), told_at=NOW, tpc_pct="13", **SOUND)
    value = setup_of(marrowby).kitchen
    whole = history(value, book_of(marrowby, upto_seq=marrowby.head_seq), now=at)["F1"]
    told = past_of(marrowby, "F1", **span, head=last_that_counts(marrowby))
    assert [one.at for one in told] == [one.at for one in whole if one.at >= begins]
    for name in ("tpc_mean_pct", "tpc_sd_pct"):
        expected = [getattr(one, name) for one in whole[-len(told) :]]
        assert [getattr(one, name) for one in told] == pytest.approx(expected, rel=1e-6)


def test_a_reading_from_a_clock_that_is_fast_counts_at_once(marrowby, weeks, write):
    """Nothing happens after it was received: it would be answered as if nobody had read."""
    weeks(8)
    told = write("reading", NOW + timedelta(minutes=4), told_at=NOW, tpc_pct="30", **SOUND)
    assert told.entry.at == NOW
    assert told.verdict.payload["verdict"] != "fry_on"
    assert told.assessment.last_reading_pct == 30


@pytest.fixture
def correct(marrowby, hand):
    """Undo a reading, or say what it was."""

    def corrected(entry, **payload):
        told = Told(
            id=uuid7(NOW),
            kind="reading" if payload else "undone",
            happened_at=entry.at if payload else NOW,
            payload={**entry.payload, **payload} if payload else {},
            private={"reason": b"mistyped"},
            replaces=entry.id,
        )
        return record(marrowby, told, replace(hand, now=NOW))

    return corrected


@pytest.fixture
def asked(weeks, write):
    """Two readings past the limit, each of which asks what was done."""
    weeks(8)
    at = NOW - timedelta(hours=1)
    return [write("reading", at + timedelta(minutes=m), tpc_pct="30", **SOUND) for m in (0, 2)]


def test_readings_that_were_undone_ask_nothing(marrowby, asked, correct):
    assert set(open_changes(marrowby)) == {"F1"}
    for one in asked:
        correct(one.entry)
    assert open_changes(marrowby) == {}


def test_what_was_settled_is_not_asked_again_when_its_reading_is_corrected(marrowby, asked, write, correct):
    at, verdict = NOW - timedelta(minutes=30), open_changes(marrowby)["F1"]
    write("settled", at, verdict=str(verdict.pk), oil_done="kept", food_done="thrown_away")
    write("change", at + timedelta(minutes=1))
    assert open_changes(marrowby) == {}
    correct(asked[-1].entry, tpc_pct="29")
    assert open_changes(marrowby) == {}


@pytest.mark.parametrize(
    ("amount", "unit", "mass_kg"),
    [(None, "mark", None), ("1", "pack", "9.2"), ("1.5", "kg", "1.5"), ("1", "jug", "1.84")],
)
def test_oil_is_measured_as_the_kitchen_measures_it(marrowby, amount, unit, mass_kg):
    """A jug of 2 l at 20 °C weighs 1.84 kg at 0.92 kg/l, the density the core takes by default."""
    found = oil_amount_kg(setup_of(marrowby), "F1", amount and Decimal(amount), unit)
    assert found == (mass_kg and pytest.approx(Decimal(mass_kg), abs=Decimal("0.02")))


@pytest.fixture
def replaying(marrowby, weeks, hand, monkeypatch):
    """A kitchen with a long book of which no belief is stored: its replay has not run yet."""
    weeks(120)
    monkeypatch.setattr(replays, "take_up", lambda *_: None)
    marrowby.beliefs.all().delete()
    assert standing(marrowby, NOW).recomputing
    return marrowby


def test_a_stricter_limit_counts_while_a_replay_runs(replaying, hand):
    values = settings_of(replaying)["limits"]["house"] | {"value": "12"}
    setting_add(replaying, "limits", "house", values, hand=replace(hand, now=NOW))
    told = standing(replaying, NOW)
    assert told.recomputing
    assert {limit.tpc_pct for one in told.assessments for limit in one.limits} == {12.0}


def test_a_new_oil_can_be_filled_in_while_a_replay_runs(replaying, hand, write):
    values = {"name": "Sunflower oil", "kind": "sunflower"}
    setting_add(replaying, "oils", "sunflower", values, hand=replace(hand, now=NOW))
    told = write("change", NOW, oil="sunflower")
    assert told.assessment.filled_at == NOW
    assert standing(replaying, NOW).recomputing
    finish_replay(replaying)
    assert standing(replaying, NOW).assessments == afresh(replaying)


def test_while_a_replay_runs_the_last_90_days_are_answered_with_todays_settings(replaying):
    lately = book_of(replaying, since=minute_after(NOW) - timedelta(days=90), upto_seq=replaying.head_seq)
    told = standing(replaying, NOW)
    assert (
        told.assessments == assess(history_of(replaying), lately, now=minute_after(NOW)) != afresh(replaying)
    )


def test_a_replay_that_ends_is_seen_at_once(replaying):
    assert standing(replaying, NOW).recomputing
    finish_replay(replaying)
    told = standing(replaying, NOW)
    assert not told.recomputing
    assert told.assessments == afresh(replaying)


def test_what_comes_while_a_replay_runs_neither_undoes_it_nor_is_lost(replaying, write, monkeypatch):
    """Beliefs that the new entry does not reach back into are stored; the next answer makes the others."""
    Replay.objects.update(taken_at=NOW)
    made = beliefs.ladder

    def overtaken(*args, **kwargs):
        found = made(*args, **kwargs)
        write("change", NOW - timedelta(days=3), told_at=NOW)
        return found

    monkeypatch.setattr(beliefs, "ladder", overtaken)
    replays.replay(replaying, NOW)
    monkeypatch.undo()
    assert not Replay.objects.exists()
    newest = beliefs.newest(replaying, before=NOW)
    assert timedelta(days=3) < NOW - newest.covers_to < timedelta(days=5)
    assert standing(replaying, NOW).assessments == afresh(replaying)


def finish_replay(kitchen):
    """Do what the background would."""
    Replay.objects.update(taken_at=NOW)
    replays.replay(kitchen, NOW)


def test_a_reading_put_at_the_wrong_fryer_is_told_anew_for_both(marrowby, weeks, write, hand):
    weeks(8)
    wrong = write("reading", NOW, tpc_pct="25", **SOUND)
    assert wrong.verdict.payload["verdict"] != "fry_on"
    right = Told(
        id=uuid7(NOW),
        kind="reading",
        happened_at=NOW,
        payload={"fryer": "F2", "tpc_pct": "9", **SOUND},
        private={"reason": b"wrong fryer"},
        replaces=wrong.entry.id,
    )
    record(marrowby, right, replace(hand, now=NOW))
    last = marrowby.entries.filter(kind="verdict", fryer="F1").order_by("-seq").first()
    assert last.payload["verdict"] == "fry_on"


def test_a_replay_of_a_book_that_came_to_nothing_ends(marrowby, write, hand):
    only = write("change", NOW - timedelta(days=100))
    undone = Told(
        id=uuid7(NOW),
        kind="undone",
        happened_at=NOW,
        payload={},
        private={"reason": b"never happened"},
        replaces=only.entry.id,
    )
    record(marrowby, undone, replace(hand, now=NOW))
    Replay.objects.update_or_create(kitchen=marrowby, defaults={"since": NOW - timedelta(days=100)})
    replays.replay(marrowby, NOW)
    assert not Replay.objects.exists()
    assert standing(marrowby, NOW).assessments == afresh(marrowby)
    assert all(one.filled_at is None for one in afresh(marrowby))
