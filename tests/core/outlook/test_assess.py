"""The one call: what it takes, what it refuses, and in which order it answers."""

from dataclasses import replace

import pytest

from kettlewell.book import (
    Change,
    Fryer,
    HotHours,
    Kitchen,
    LabResult,
    Load,
    Move,
    Oil,
    OutOfOrder,
    Reading,
    SensoryNote,
    Service,
)
from kettlewell.core import answer, assess, checkpoint, history
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.outlook.assess import urgency
from kettlewell.core.outlook.values import Lack

URGENCY = ["change_before", "change_after", "measure_again", "fry_on"]


@pytest.fixture
def place(kitchen, at, read):
    """Six fryers, one for each verdict, one out of order and one riskier than its neighbour."""
    last = {"a": 9.0, "b": 24.0, "c": 8.0, "d": 10.0, "e": 9.0, "f": 8.5}
    fryers = tuple(replace(kitchen.fryers[0], key=key, name=key) for key in last)
    entries = []
    for key, tpc_pct in last.items():
        entries.append(Change(at=at(0, "08:00"), fryer=key))
        entries += [read(day, "09:00", 4 + (tpc_pct - 4) * day / 4, fryer=key) for day in range(5)]
    entries.append(SensoryNote(at=at(4, "09:10"), fryer="c", spoiled=True))
    entries.append(read(4, "09:20", 18.0, fryer="d", sound=False))
    entries.append(OutOfOrder(at=at(4, "09:10"), fryer="e"))
    return replace(kitchen, fryers=fryers, services=kitchen.services[:1]), entries, at(4, "09:30")


@pytest.fixture
def many(place):
    """What is told of these fryers."""
    kitchen, entries, now = place
    return assess(kitchen, entries, now=now)


def test_answers_come_sorted_by_urgency_with_fryers_out_of_use_last(many):
    keys = [URGENCY.index(one.verdict.key) for one in many if one.in_use]
    assert keys == sorted(keys)
    assert len(set(keys)) >= 3
    assert [one.fryer for one in many if not one.in_use] == [many[-1].fryer] == ["e"]


def test_among_equal_verdicts_the_likelier_to_pass_comes_first(many):
    odds = [
        one.verdict.passing_probability_next for one in many if one.in_use and one.verdict.key == "fry_on"
    ]
    assert len(odds) == 2
    assert odds == sorted(odds, reverse=True)


def test_chances_alike_but_for_the_last_bits_of_a_number_leave_the_order_to_the_names(fry_on):
    """Or two baths of one history would stand in another order on another machine."""
    first, second = (
        replace(fry_on, fryer=name, verdict=replace(fry_on.verdict, passing_probability_next=0.3 + more))
        for name, more in (("F1", 0.0), ("F2", 1e-12))
    )
    assert urgency(first) < urgency(second)


@pytest.mark.parametrize("of", ["a", "b", "c", "e", "cb", ""], ids="fryers {}".format)
def test_of_some_fryers_the_same_is_told_as_among_all(place, many, of):
    """Also which others take over the work of one that must cool."""
    kitchen, entries, now = place
    told = assess(kitchen, entries, now=now, of=set(of))
    assert told == tuple(one for one in many if one.fryer in of)
    assert "c" not in of or next(one for one in told if one.fryer == "c").verdict.taken_over_by


def test_every_fryer_is_answered_for(kitchen, at):
    answers = assess(kitchen, [], now=at(0, "09:00"))
    assert {one.fryer for one in answers} == {"big", "small"}


def test_it_works_without_any_file(tmp_path, monkeypatch, at):
    """The smallest kitchen: a fryer, an oil, a service, a jurisdiction."""
    monkeypatch.chdir(tmp_path)
    place = Kitchen(
        name="Hut",
        fryers=(Fryer(key="pan", name="Pan", oil="oil", oil_mass_kg=8),),
        oils=(Oil(key="oil", name="Oil"),),
        services=(
            Service(name="Lunch", weekdays=(5,), begins=at(0, "11:00").time(), ends=at(0, "14:00").time()),
        ),
        jurisdiction="FR",
    )
    (one,) = assess(place, [Change(at=at(0, "08:00"), fryer="pan")], now=at(0, "09:00"))
    assert one.verdict.key == "fry_on"
    assert one.tpc_mean_pct == pytest.approx(4, abs=0.5)
    assert list(tmp_path.iterdir()) == []


def test_entries_after_now_are_left_aside(kitchen, book, at):
    entries, now = book(4, 6.5, 9, 11.5, 14), at(3, "12:00")
    assert assess(kitchen, entries, now=now) == assess(kitchen, [e for e in entries if e.at <= now], now=now)


def test_entries_may_be_any_iterable(kitchen, book, at):
    entries, now = book(4, 6.5, 9), at(2, "09:30")
    assert assess(kitchen, iter(entries), now=now) == assess(kitchen, tuple(entries), now=now)


def test_moments_count_and_not_the_zone_they_are_told_in(kitchen, book, at, tokyo):
    entries, now = book(4, 6.5, 9), at(2, "09:30")
    elsewhere = [replace(entry, at=entry.at.astimezone(tokyo)) for entry in entries]
    assert assess(kitchen, elsewhere, now=now) == assess(kitchen, entries, now=now)


@pytest.mark.parametrize("call", [assess, history], ids=["assess", "history"])
def test_a_now_without_a_zone_is_refused(kitchen, book, at, call):
    with pytest.raises(ValueError, match="no time zone"):
        call(kitchen, book(4, 6), now=at(1, "09:30").replace(tzinfo=None))


def test_a_checkpoint_at_a_time_without_a_zone_is_refused(kitchen, book, at):
    with pytest.raises(ValueError, match="no time zone"):
        checkpoint(kitchen, book(4, 6), at=at(1, "09:30").replace(tzinfo=None))


def test_an_entry_without_a_zone_is_refused_and_named(at):
    with pytest.raises(ValueError, match=r"log\.csv:7: the time .* names no time zone"):
        Change(at=at(0, "08:00").replace(tzinfo=None), fryer="big", ref="log.csv:7")


@pytest.mark.parametrize(
    ("lacks", "says"),
    [
        ({"services": ()}, "'Test kitchen' has no services: say on which days and hours it fries"),
        ({"fryers": ()}, "'Test kitchen' has no fryers"),
        ({"limits": ()}, "fryer big: No limit judges the oil .* Set a limit of your own"),
        (
            {"limits": (), "jurisdiction": "GB"},
            "fryer big: No limit judges the oil .* Set a limit of your own",
        ),
        ({"limits": (), "jurisdiction": "AT"}, "fryer big: No limit judges the oil"),
        ({"jurisdiction": "XX"}, "jurisdiction 'XX' is not known"),
    ],
)
def test_a_kitchen_that_lacks_what_it_needs_is_refused_in_a_sentence(kitchen, at, lacks, says):
    with pytest.raises(ValueError, match=says):
        assess(replace(kitchen, **lacks), [], now=at(0, "09:00"))


def test_a_fryer_that_no_service_names_costs_no_other_its_answer(kitchen, at):
    found = answer(replace(kitchen, services=kitchen.services[1:]), [], now=at(0, "09:00"))
    assert [assessment.fryer for assessment in found.assessments] == ["big"]
    assert [(fryer.fryer, fryer.lacks) for fryer in found.unanswered] == [("small", Lack.SERVICE)]


def test_one_that_is_asked_for_alone_and_has_no_answer_is_refused_in_a_sentence(kitchen, at):
    with pytest.raises(ValueError, match="fryer small: no service of the week names it"):
        assess(replace(kitchen, services=kitchen.services[1:]), [], now=at(0, "09:00"), of=["small"])


STRANGE = {
    "fryer": lambda when: Change(at=when, fryer="huge", ref="row 3"),
    "oil": lambda when: Change(at=when, fryer="big", oil="lard", ref="row 3"),
    "product": lambda when: Load(at=when, fryer="big", product="pizza", mass_kg=2, ref="row 3"),
    "meter": lambda when: Reading(at=when, fryer="big", tpc_pct=5, meter="lent", ref="row 3"),
}
NAMES = {"fryer": "huge", "oil": "lard", "product": "pizza", "meter": "lent"}


@pytest.mark.parametrize("what", ["fryer", "oil", "product", "meter"])
def test_an_entry_that_names_what_the_kitchen_lacks_is_refused_with_its_place(kitchen, at, what):
    with pytest.raises(ValueError, match=f"row 3: no {what} '{NAMES[what]}'"):
        assess(kitchen, [STRANGE[what](at(0, "09:00"))], now=at(1, "09:00"))


def test_a_move_into_a_fryer_the_kitchen_lacks_names_that_fryer(kitchen, at):
    with pytest.raises(ValueError, match="row 3: no fryer 'huge'"):
        assess(kitchen, [Move(at=at(0, "09:00"), fryer="big", into="huge", ref="row 3")], now=at(1, "09:00"))


@pytest.mark.parametrize("what", ["fryer", "product"])
def test_a_plan_that_names_what_the_kitchen_lacks_is_refused(kitchen, at, what):
    planned = replace(STRANGE["product"](at(1, "11:30")), fryer="huge") if what == "fryer" else None
    with pytest.raises(ValueError, match=NAMES[what]):
        assess(kitchen, [], now=at(1, "09:00"), planned=[planned or STRANGE[what](at(1, "11:30"))])


def test_rate_and_turnover_are_told_in_the_units_of_their_names(told, book, at):
    """Three hours and a heating-up at 175 °C; 20 kg of fries take up 7 % of their weight from 20 kg."""
    one = told(book(4), at(0, "09:30"))
    rise_pct = one.forecast[0].tpc_mean_pct - one.tpc_mean_pct
    assert one.turnover_per_service == pytest.approx(0.07 * PACKAGED.replaced.value)
    assert rise_pct == pytest.approx(3.0 * one.rate_pct_per_h - 0.07 * rise_pct / 2, rel=0.03)


def test_a_laboratory_result_alone_is_no_meter_reading(told, at):
    entries = [Change(at=at(0, "08:00"), fryer="big"), LabResult(at=at(1, "09:00"), fryer="big", tpc_pct=6)]
    one = told(entries, at(1, "09:30"))
    assert (one.last_reading_at, one.last_reading_pct) == (None, None)
    assert one.tpc_mean_pct == pytest.approx(6, abs=0.5)


@pytest.mark.parametrize(("plan", "why"), [(HotHours, "lies before"), (Change, "a Change cannot be planned")])
def test_what_cannot_be_planned_is_refused(kitchen, book, at, plan, why):
    when = {"at": at(1, "11:30"), "hot_h": 9.0} if plan is HotHours else {"at": at(3, "11:30")}
    with pytest.raises(ValueError, match=why):
        assess(kitchen, book(4, 6.5, 9), now=at(2, "09:30"), planned=[plan(fryer="big", **when)])


def test_a_plan_for_the_running_service_counts(told, book, at):
    now = at(2, "12:00")
    planned = [Load(at=at(2, "12:30"), fryer="big", product="fries", mass_kg=80.0)]
    usual, busy = (
        told(book(4, 6.5, 9), now, planned=plan).forecast[0].tpc_mean_pct for plan in ((), planned)
    )
    assert busy > usual
