"""The kitchen's services in time: nights with a clock change, and settings that change while one runs."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise, takewhile
from zoneinfo import ZoneInfo

import pytest
from drawn import KITCHEN
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.book import History, Service, history_of
from kettlewell.book.history import Epoch
from kettlewell.core.belief.week import (
    AtOnceError,
    Slot,
    clock_time,
    lasts_min,
    minute,
    running_at,
    slots_from,
    slots_of_week,
    slots_over,
    week_of,
)

EVERY_DAY = tuple(range(7))
NEW_YORK = ZoneInfo("America/New_York")
FORWARD, BACK = date(2026, 3, 8), date(2026, 11, 1)  # nights in New York, by the zone database
PUT_FORWARD = datetime(2026, 3, 8, 7, tzinfo=UTC)
ZONES = ("America/New_York", "Europe/Berlin", "Australia/Lord_Howe", "America/Havana", "Asia/Tehran", "UTC")


def service(begins, ends, name="Late", weekdays=EVERY_DAY, fryers=()):
    return Service(name=name, weekdays=weekdays, begins=begins, ends=ends, fryers=fryers)


def slots(kitchen, since, until):
    return list(takewhile(lambda slot: slot.begins < until, slots_from(kitchen, since)))


@pytest.fixture
def of(kitchen):
    """Return a function that gives the kitchen other services, and another zone."""
    return lambda *services, zone="UTC": replace(kitchen, services=services, timezone=zone)


def test_a_skipped_time_is_the_instant_at_which_clocks_are_put_forward():
    for at in (time(2), time(2, 1), time(2, 30), time(2, 59)):
        assert clock_time(FORWARD, at, NEW_YORK) == PUT_FORWARD
    assert clock_time(FORWARD, time(1, 59), NEW_YORK) == PUT_FORWARD - timedelta(minutes=1)
    assert clock_time(FORWARD, time(3), NEW_YORK) == PUT_FORWARD
    assert clock_time(FORWARD, time(3, 1), NEW_YORK) == PUT_FORWARD + timedelta(minutes=1)


def test_a_time_that_clocks_show_twice_is_the_first_of_both():
    assert clock_time(BACK, time(1, 30), NEW_YORK) == datetime(2026, 11, 1, 5, 30, tzinfo=UTC)


def test_half_an_hour_is_skipped_where_clocks_change_by_half_an_hour():
    island = ZoneInfo("Australia/Lord_Howe")  # 2026-10-04 02:00 becomes 02:30, by the zone database
    changed = datetime(2026, 10, 3, 15, 30, tzinfo=UTC)
    assert clock_time(date(2026, 10, 4), time(2, 10), island) == changed
    assert clock_time(date(2026, 10, 4), time(2, 30), island) == changed


def test_a_service_that_ends_in_the_skipped_hour_ends_before_the_next_begins(of):
    place = of(
        service(time(22), time(2, 30)),
        service(time(3), time(6), name="Early"),
        zone="America/New_York",
    )
    late, early = slots(place, datetime(2026, 3, 8, 1, tzinfo=UTC), datetime(2026, 3, 8, 12, tzinfo=UTC))
    assert (late.ends, early.begins) == (PUT_FORWARD, PUT_FORWARD)
    assert (late.hours, early.hours) == (4, 3)


def test_a_service_whose_hours_are_all_skipped_is_not_held_that_day(of):
    place = of(service(time(2, 15), time(2, 45)), zone="America/New_York")
    held = slots(place, PUT_FORWARD - timedelta(days=1), PUT_FORWARD + timedelta(days=2))
    assert [slot.day.day for slot in held] == [7, 9, 10]


@given(
    zone=st.sampled_from(ZONES),
    start=st.dates(date(2015, 1, 1), date(2030, 1, 1)),
    minutes=st.sets(st.integers(0, 1439), min_size=2, max_size=8),
)
def test_services_that_follow_each_other_count_every_hour_once(zone, start, minutes):
    times = [time(*divmod(n, 60)) for n in sorted(minutes)]
    turns = zip(times, [*times[1:], times[0]], strict=True)
    place = replace(KITCHEN, services=tuple(service(*turn) for turn in turns), timezone=zone)
    since = datetime.combine(start, time(), UTC)
    found = slots(place, since, since + timedelta(days=370))
    assert all(slot.begins < slot.ends for slot in found)
    assert all(one.ends == following.begins for one, following in pairwise(found))


def test_a_share_counts_from_the_begin_to_the_end_or_to_the_cut():
    begins = datetime(2026, 9, 1, 10, tzinfo=UTC)
    slot = Slot(
        name="Lunch",
        begins=begins,
        ends=begins + timedelta(hours=4),
        day=begins.date(),
        of_week=0,
        fryers=frozenset({"one"}),
    )
    shares = [slot.share(begins + timedelta(hours=hours)) for hours in (-1, 0, 1, 4, 5)]
    assert shares == [0, 0, 0.25, 1, 1]
    cut = replace(slot, cut=begins + timedelta(hours=2))
    assert [cut.share(begins + timedelta(hours=hours)) for hours in (1, 2, 3, 5)] == [0.25, 0.5, 0.5, 0.5]


def test_minutes_of_the_week_and_of_a_service():
    assert minute(2, time(3, 4)) == 2 * 1440 + 184
    lengths = [lasts_min(service(time(10), ends)) for ends in (time(10, 1), time(10), time(9, 59), time(23))]
    assert lengths == [1, 1440, 1439, 780]


def test_services_of_the_week_in_order_and_each_weekday_once(of):
    place = of(
        service(time(17), time(20), "Dinner", (4, 1, 4)),
        service(time(11), time(14), "Lunch", (1,)),
        service(time(11), time(14), "Brunch", (1,)),
    )
    assert [(day, held.name) for day, held in slots_of_week(place)] == [
        (1, "Brunch"),
        (1, "Lunch"),
        (1, "Dinner"),
        (4, "Dinner"),
    ]


def test_a_fryer_in_two_services_at_once_is_refused_and_one_in_both_in_turn_is_not(of, kitchen):
    fryer = kitchen.fryers[0]
    in_turn = of(service(time(11), time(14), "Lunch"), service(time(14), time(20), "Dinner"))
    assert len(week_of(in_turn, fryer)) == 14
    at_once = of(service(time(11), time(14, 1), "Lunch"), service(time(14), time(20), "Dinner"))
    with pytest.raises(AtOnceError) as error:
        week_of(at_once, fryer)
    assert (error.value.fryer, error.value.first, error.value.second) == (fryer.key, "Lunch", "Dinner")


def test_a_sunday_night_that_runs_into_the_first_service_of_monday_is_refused(of, kitchen):
    fryer = kitchen.fryers[0]
    monday = service(time(6), time(9), "Breakfast", (0,))
    week_of(of(monday, service(time(22), time(6), "Night", (6,))), fryer)
    with pytest.raises(AtOnceError):
        week_of(of(monday, service(time(22), time(6, 1), "Night", (6,))), fryer)


def test_services_begin_at_the_very_start_asked_for_and_never_before(of):
    place = of(service(time(11), time(14)))
    eleven = datetime(2026, 9, 1, 11, tzinfo=UTC)
    assert next(slots_from(place, eleven)).begins == eleven
    assert next(slots_from(place, eleven + timedelta(minutes=1))).begins == eleven + timedelta(days=1)


def test_what_runs_at_a_time_has_begun_before_it_and_not_ended(of):
    place = of(service(time(11), time(14)), service(time(14), time(11), "Round"))
    held = {
        hour: [slot.name for slot in running_at(place, datetime(2026, 9, 2, hour, tzinfo=UTC))]
        for hour in (10, 11, 12, 14, 15)
    }
    assert held == {10: ["Round"], 11: [], 12: ["Late"], 14: [], 15: ["Round"]}


def changed_at(old, new, since):
    return History(epochs=(Epoch(since=None, kitchen=old), Epoch(since=since, kitchen=new)))


def told_over(history, since, until):
    return [
        (slot.name, slot.begins.hour, slot.ends.hour, slot.cut and slot.cut.hour, sorted(slot.fryers))
        for slot in takewhile(lambda slot: slot.begins < until, slots_over(history, since))
    ]


def test_settings_that_change_while_a_service_runs_cut_it_for_whom_it_ends(of):
    old = of(service(time(10), time(16), "Long"))
    day = datetime(2026, 9, 1, tzinfo=UTC)
    keys = sorted(fryer.key for fryer in old.fryers)
    kept = replace(old, services=(service(time(10), time(16), "Long", fryers=(keys[0],)),))
    told = told_over(changed_at(old, kept, day.replace(hour=13)), day, day + timedelta(days=1))
    assert told == [("Long", 10, 16, 13, keys[1:]), ("Long", 10, 16, None, keys[:1])]


def test_a_service_that_new_settings_have_running_begins_when_they_do(of):
    old = of(service(time(20), time(22), "Evening"))
    new = replace(old, services=(service(time(10), time(16), "Long"),))
    day = datetime(2026, 9, 1, tzinfo=UTC)
    keys = sorted(fryer.key for fryer in old.fryers)
    history = changed_at(old, new, day.replace(hour=13))
    assert told_over(history, day, day + timedelta(days=1)) == [("Long", 13, 16, None, keys)]
    assert told_over(history, day.replace(hour=14), day + timedelta(days=1)) == []
    assert told_over(history, day.replace(hour=13), day + timedelta(days=1)) == [("Long", 13, 16, None, keys)]


def test_a_service_that_new_settings_keep_goes_on_as_it_began(of):
    old = of(service(time(10), time(16), "Long"))
    new = replace(old, services=(*old.services, service(time(18), time(20), "Dinner")))
    day = datetime(2026, 9, 1, tzinfo=UTC)
    keys = sorted(fryer.key for fryer in old.fryers)
    history = changed_at(old, new, day.replace(hour=13))
    assert told_over(history, day, day + timedelta(days=1)) == [
        ("Long", 10, 16, None, keys),
        ("Dinner", 18, 20, None, keys),
    ]


def test_without_changes_services_over_a_history_are_those_of_its_kitchen(of):
    place = of(service(time(10), time(16), "Long"))
    since = datetime(2026, 9, 1, tzinfo=UTC)
    both = slots_over(history_of(place), since), slots_from(place, since)
    assert [next(both[0]) for _ in range(9)] == [next(both[1]) for _ in range(9)]
