"""How entries meet services: nothing that was written down before now is without effect."""

from dataclasses import replace
from datetime import time

import numpy as np
import pytest

from kettlewell.book import (
    Change,
    HotHours,
    Load,
    Move,
    Oil,
    OilKind,
    Product,
    Reading,
    Service,
    TopUp,
    history_of,
)
from kettlewell.core import assess, checkpoint, history
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.ageing.rates import temperature_factor
from kettlewell.core.belief.filter import AFTER, BEFORE, HOURS
from kettlewell.core.belief.loads import AFTER_FRYING, BEFORE_FRYING, BEFORE_NEXT, WHILE_FRYING
from kettlewell.core.belief.services import moment_of
from kettlewell.core.belief.state import Running
from kettlewell.core.belief.week import slots_from

EVERY_DAY = tuple(range(7))


def lunch(begins=11, ends=14, fryers=(), name="Lunch"):
    return Service(name=name, weekdays=EVERY_DAY, begins=time(begins), ends=time(ends), fryers=fryers)


@pytest.fixture
def split(kitchen):
    """Give the kitchen with one lunch a fryer, at the same time."""
    each = (lunch(fryers=("big",), name="Lunch big"), lunch(fryers=("small",), name="Lunch small"))
    return replace(kitchen, services=each)


@pytest.fixture
def fried(at):
    """Write down a change of both baths and the loads of both on three days."""
    entries = [Change(at=at(0, "08:00"), fryer=fryer) for fryer in ("big", "small")]
    for day in range(3):
        entries.append(Load(at=at(day, "13:50"), fryer="big", product="fries", mass_kg=45.0))
        entries.append(Load(at=at(day, "13:55"), fryer="small", product="fish", mass_kg=2.0))
    return entries


def test_services_that_begin_together_count_as_one_that_all_work_in(told, kitchen, split, fried, at):
    together = replace(kitchen, services=(lunch(),))
    for fryer in ("big", "small"):
        one, two = (told(fried, at(2, "16:00"), fryer=fryer, place=place) for place in (together, split))
        assert two.tpc_mean_pct == pytest.approx(one.tpc_mean_pct, abs=1e-9)
        assert two.turnover_per_service == pytest.approx(one.turnover_per_service)


@pytest.mark.parametrize(("day", "clock"), [(1, "10:00"), (2, "12:00"), (2, "23:00")])
def test_a_checkpoint_among_services_that_overlap_equals_a_replay(kitchen, fried, at, day, clock):
    long = lunch(10, 22, ("small",), "All day")
    for services in ((lunch(fryers=("big",)), long), (lunch(10, 14, ("big",)), long)):
        place = replace(kitchen, services=services)
        then, now = checkpoint(place, fried, at=at(day, clock)), at(3, "11:30")
        assert assess(place, fried, now=now, since=then) == assess(place, fried, now=now)


def test_a_long_service_ages_its_bath_by_the_clock_though_others_begin_meanwhile(told, kitchen, at):
    place = replace(kitchen, services=(lunch(fryers=("big",)), lunch(10, 22, ("small",), "All day")))
    change = [Change(at=at(0, "08:00"), fryer="small")]
    early, soon, late = (
        told(change, at(0, clock), fryer="small", place=place).tpc_mean_pct
        for clock in ("10:59", "11:30", "22:00")
    )
    assert early < soon < early + 0.1 * (late - early)


def test_a_running_long_service_has_its_rest_to_come(told, kitchen, at):
    place = replace(kitchen, services=(lunch(fryers=("big",)), lunch(10, 22, ("small",), "All day")))
    one = told([Change(at=at(0, "08:00"), fryer="small")], at(0, "16:00"), fryer="small", place=place)
    assert (one.forecast[0].name, one.forecast[0].begins_at) == ("All day", at(0, "16:00"))
    assert one.forecast[0].ends_at == at(0, "22:00")


@pytest.mark.parametrize("services", [(lunch(), lunch(13, 16, name="Tea")), (lunch(20, 12), lunch())])
def test_a_fryer_cannot_work_in_two_services_at_once(kitchen, at, services):
    with pytest.raises(ValueError, match=r"works in .* at once"):
        assess(replace(kitchen, services=services), [], now=at(0, "12:00"))


def test_work_outside_the_plan_ages_the_oil(told, at):
    """``small`` has no dinner; on Monday its lunch was worked as usual."""
    change, now = Change(at=at(0, "08:00"), fryer="small"), at(0, "23:00")
    more = HotHours(at=at(0, "20:00"), fryer="small", hot_h=9.0)
    without, longer = (told([change, *extra], now, fryer="small").tpc_mean_pct for extra in ((), (more,)))
    assert longer > without + 1


def test_a_fryer_without_a_service_that_day_worked_if_a_load_says_so(told, kitchen, at):
    sundays = replace(lunch(fryers=("small",), name="Sunday"), weekdays=(6,))
    place = replace(kitchen, services=(lunch(fryers=("big",)), sundays))
    change, now = Change(at=at(0, "08:00"), fryer="small"), at(0, "23:00")
    load = Load(at=at(0, "13:00"), fryer="small", product="fish", mass_kg=5.0)
    idle, busy = (
        told([change, *extra], now, fryer="small", place=place).tpc_mean_pct for extra in ((), (load,))
    )
    assert busy > idle + 0.5


def test_a_lunch_load_written_down_in_the_evening_counts_for_lunch(told, at):
    change, now = Change(at=at(0, "08:00"), fryer="small"), at(0, "23:00")
    at_noon, at_night = (
        told([change, Load(at=at(0, clock), fryer="small", product="fish", mass_kg=12.0)], now, fryer="small")
        for clock in ("13:55", "19:00")
    )
    assert at_night.tpc_mean_pct == at_noon.tpc_mean_pct


def test_within_a_minute_oil_is_moved_before_the_bath_is_filled_again(told, book, at):
    minute = at(4, "15:00")
    entries = [
        *book(4, 8, 12, 16, 20),
        Change(at=at(0, "08:00"), fryer="small"),
        Change(at=minute, fryer="big"),
        Move(at=minute, fryer="big", into="small"),
    ]
    big, small = (told(entries, at(4, "15:30"), fryer=fryer).tpc_mean_pct for fryer in ("big", "small"))
    assert big < 6
    assert small > 15


def test_within_a_minute_oil_is_read_before_it_is_changed(told, book, at):
    minute = at(4, "15:00")
    entries = [
        *book(4, 8, 12, 16, 20),
        Reading(at=minute, fryer="big", tpc_pct=21.0),
        Change(at=minute, fryer="big"),
    ]
    one = told(entries, at(4, "15:30"))
    assert (one.flags, one.last_reading_pct) == ((), None)


def test_records_of_a_day_do_not_move_when_the_meter_drifts_later(kitchen, at, read):
    """A meter whose offset wanders up by 1.5 points in 120 days, on oil changed every fifth day."""
    entries = []
    for day in range(120):
        if day % 5 == 0:
            entries.append(Change(at=at(day, "08:00"), fryer="big"))
        entries.append(read(day, "09:00", 4 + 3 * (day % 5) + 1.5 * day / 120))
    early, late = (history(kitchen, entries, now=at(day, "09:30"))["big"] for day in (20, 119))
    then = {one.at: one for one in late}
    moved = [abs(then[one.at].tpc_mean_pct - one.tpc_mean_pct) / one.tpc_sd_pct for one in early]
    assert max(moved) < 1


def test_oil_of_another_kind_ages_at_its_own_rate(told, kitchen, at):
    """Palm olein ages at half the rate of rapeseed, by the coefficients."""
    palm = Oil(key="olein", name="Palm olein", kind=OilKind.PALM_OLEIN)
    place, now = replace(kitchen, oils=(*kitchen.oils, palm)), at(0, "23:00")
    changes = ([Change(at=at(0, "08:00"), fryer="big", oil=oil)] for oil in (None, "olein"))
    rape, other = (told(change, now, place=place) for change in changes)
    assert other.rate_pct_per_h == pytest.approx(0.5 * rape.rate_pct_per_h)
    assert other.rate_sd_pct_per_h / other.rate_pct_per_h > rape.rate_sd_pct_per_h / rape.rate_pct_per_h


def test_the_rate_is_told_at_the_set_temperature(told, kitchen, at):
    hotter = replace(kitchen, fryers=tuple(replace(fryer, set_temp_c=190.0) for fryer in kitchen.fryers))
    change, now = [Change(at=at(0, "08:00"), fryer="big")], at(0, "23:00")
    usual, hot = (told(change, now, place=place).rate_pct_per_h for place in (kitchen, hotter))
    assert hot == pytest.approx(usual * temperature_factor(190.0, activation_energy_kj_per_mol=34), rel=1e-6)


def test_a_limit_that_forbids_its_own_value_is_past_at_it(told, kitchen, book, at):
    strict = replace(kitchen.limits[0], unfit_when=">=", value=19.0)
    entries = [*book(4, 8, 12, 16, 18.5), Reading(at=at(4, "09:10"), fryer="big", tpc_pct=19.5)]
    one = told(entries, at(4, "09:30"), place=replace(kitchen, limits=(strict,)))
    assert (one.verdict.key, one.verdict.reason.code) == ("change_before", "mean_past")


def test_a_load_of_a_product_written_down_since_the_service_counts_for_it(kitchen, at):
    """At noon they fried what the settings tell of at three only."""
    scampi = Product(key="scampi", name="Scampi", wear_factor=1.5, uptake_kg_per_kg=0.1)
    settings = history_of(kitchen).then(
        replace(kitchen, products=(*kitchen.products, scampi)), at(0, "15:00")
    )
    change, now = Change(at=at(0, "08:00"), fryer="big"), at(0, "16:00")
    little, much = (
        Load(at=at(0, "15:30"), fryer="big", product="scampi", mass_kg=mass_kg) for mass_kg in (2.0, 40.0)
    )
    levels = [
        assess(settings, [change, load], now=now, of=["big"])[0].tpc_mean_pct for load in (little, much)
    ]
    assert levels[1] > levels[0] + 0.5


def test_what_is_written_of_a_fryer_that_has_just_come_costs_no_other_its_answer(kitchen, at):
    third = replace(kitchen.fryers[0], key="third", name="Third pan")
    settings = history_of(kitchen).then(replace(kitchen, fryers=(*kitchen.fryers, third)), at(0, "15:00"))
    entries = [
        Change(at=at(0, "08:00"), fryer="big"),
        Change(at=at(0, "15:10"), fryer="third"),
        TopUp(at=at(0, "15:20"), fryer="third", mass_kg=1.0),
    ]
    answers = assess(settings, entries, now=at(0, "16:00"))
    assert {bath.fryer for bath in answers} == {"big", "small", "third"}


@pytest.mark.parametrize(
    ("clock", "moment"),
    [
        ("10:59", BEFORE_FRYING),
        ("11:00", WHILE_FRYING),
        ("14:00", WHILE_FRYING),
        ("14:01", AFTER_FRYING),
        ("16:00", AFTER_FRYING),
        ("16:01", BEFORE_NEXT),
    ],
)
def test_oil_is_poured_before_a_service_while_it_runs_after_it_or_for_the_next(kitchen, at, clock, moment):
    slot = next(slots_from(replace(kitchen, services=(lunch(),)), at(0, "09:00")))
    assert moment_of(slot, at(0, clock), PACKAGED) == moment


def test_both_fryers_set_hotter_age_faster_from_then_on(kitchen, fried, at):
    now = at(2, "16:00")
    hotter = replace(kitchen, fryers=tuple(replace(each, set_temp_c=190.0) for each in kitchen.fryers))
    settings = history_of(kitchen).then(hotter, at(2, "15:30"))
    was, then = (
        {bath.fryer: bath.rate_pct_per_h for bath in assess(of, fried, now=now)} for of in (kitchen, settings)
    )
    for fryer in ("big", "small"):
        assert then[fryer] > 1.1 * was[fryer]


@pytest.mark.parametrize(
    ("done", "share", "poured"),
    [(0.0, 0.5, [1, 0]), (0.5, 1.0, [0, 1]), (0.0, 1.0, [1, 1]), (0.2, 0.6, [0, 0]), (1.0, 1.0, [0, 0])],
)
def test_oil_is_poured_as_a_service_begins_and_as_it_ends(kitchen, at, done, share, poured):
    slot = next(slots_from(replace(kitchen, services=(lunch(),)), at(0, "09:00")))
    service = Running(slot=slot, whole=np.ones((7, 1)), hot_h=np.ones(1))
    part = service.part(done, share)
    assert part[[BEFORE, AFTER], 0].tolist() == poured
    assert part[HOURS, 0] == pytest.approx(share - done)
