"""What must hold of oil topped up and of hours worked, whatever else a kitchen wrote down."""

from dataclasses import replace
from datetime import time, timedelta

import pytest
from drawn import FEW, FEWER, KITCHEN, NOW, START, books
from hypothesis import given
from hypothesis import strategies as st
from states import assert_alike

from kettlewell.book import Change, HotHours, Load, Reading, TopUp
from kettlewell.core import assess
from kettlewell.core.belief.joint import LEVEL
from kettlewell.core.belief.walk import walk_to

DAYS = 4
MORNING = START + timedelta(days=DAYS, hours=2)  # eight o'clock; lunch is from eleven to two
BEGINS, ENDS = MORNING + timedelta(hours=3), MORNING + timedelta(hours=6)
masses_kg = st.floats(0.1, 18)
temps_c = st.none() | st.integers(140, 200)
baths = st.sampled_from(["one", "two"])


@pytest.fixture(scope="module")
def regular():
    """A book of regular days: read in the morning, loads and what they took written down while frying."""
    entries = [Change(at=START, fryer=fryer) for fryer in ("one", "two")]
    for day in range(DAYS):
        morning = START + timedelta(days=day, hours=2)
        for fryer, load_kg in (("one", 20.0), ("two", 4.0)):
            entries.append(Reading(at=morning, fryer=fryer, tpc_pct=5 + 3.5 * day, oil_temp_c=150.0))
            for hours in (5.5, 11.5) if fryer == "one" else (5.5,):
                at = morning + timedelta(hours=hours)
                entries.append(Load(at=at, fryer=fryer, product="fries", mass_kg=load_kg))
                entries.append(TopUp(at=at, fryer=fryer, mass_kg=0.07 * load_kg))
    return entries


def above_fresh(entries, now, fryer="one"):
    """Return how far the level of a bath stands above that of fresh oil."""
    belief, i = walk_to(KITCHEN, entries, now=now).up_to_date(), ["one", "two"].index(fryer)
    return belief.own_mean()[0, i, LEVEL] - belief.fresh_mean()[0, i]


def told(entries, now, fryer="one", **rest):
    return next(bath for bath in assess(KITCHEN, entries, now=now, **rest) if bath.fryer == fryer)


@given(mass_kg=masses_kg, minutes=st.integers(0, 170), fryer=baths)
@FEW
def test_oil_poured_between_services_is_mixed_by_mass_from_its_time_on(regular, mass_kg, minutes, fryer):
    """Also at a quarter of the bath and beyond, where some was drained first."""
    at = MORNING + timedelta(minutes=minutes)
    bath_kg = {"one": 20.0, "two": 8.0}[fryer]
    mass_kg = min(mass_kg, 0.95 * bath_kg)
    topped = [*regular, TopUp(at=at, fryer=fryer, mass_kg=mass_kg)]
    before, after = (above_fresh(entries, at, fryer) for entries in (regular, topped))
    assert after == pytest.approx((1 - mass_kg / bath_kg) * before, rel=1e-9)


def test_a_reading_before_the_oil_is_poured_is_not_thinned_and_one_after_it_is(regular):
    top_up = TopUp(at=MORNING + timedelta(minutes=30), fryer="one", mass_kg=5.0)
    read = Reading(at=MORNING, fryer="one", tpc_pct=18.0, oil_temp_c=150.0)
    early = above_fresh([*regular, read, top_up], MORNING + timedelta(hours=1))
    late_read = replace(read, at=MORNING + timedelta(minutes=45), tpc_pct=14.0)
    late = above_fresh([*regular, late_read, top_up], MORNING + timedelta(hours=1))
    assert early == pytest.approx(0.75 * above_fresh([*regular, read], MORNING), rel=1e-9)
    assert late == above_fresh([*regular, late_read, top_up], late_read.at)


@given(mass_kg=masses_kg, minutes=st.integers(1, 110), fryer=baths)
@FEW
def test_oil_poured_after_a_service_does_not_lower_what_it_reaches(regular, mass_kg, minutes, fryer):
    """However much: planned beforehand, it leaves the coming service no milder than without a plan."""
    load = Load(at=BEGINS, fryer=fryer, product="fries", mass_kg=5.0)
    plan = [load, TopUp(at=ENDS + timedelta(minutes=minutes), fryer=fryer, mass_kg=mass_kg)]
    usual, planned = (told(regular, MORNING, fryer, planned=of_it) for of_it in ([load], plan))
    assert planned.verdict.passing_probability >= usual.verdict.passing_probability - 1e-12
    assert planned.forecast[0].tpc_mean_pct >= usual.forecast[0].tpc_mean_pct - 1e-9


@given(few_kg=masses_kg, more_kg=masses_kg)
@FEWER
def test_how_much_is_poured_after_a_service_changes_nothing_it_reached(regular, few_kg, more_kg):
    """But for what it says of the food: here that was written down."""
    load = Load(at=BEGINS, fryer="one", product="fries", mass_kg=20.0)
    plans = [[load, TopUp(at=ENDS + timedelta(hours=1), fryer="one", mass_kg=kg)] for kg in (few_kg, more_kg)]
    few, more = (told(regular, MORNING, planned=plan) for plan in plans)
    assert_alike(few.forecast[0], more.forecast[0], rel=1e-9)


@given(mass_kg=st.floats(2.0, 10), minutes=st.integers(1, 178))
@FEW
def test_oil_planned_before_a_service_leads_to_what_then_happens(regular, mass_kg, minutes):
    top_up = TopUp(at=MORNING + timedelta(minutes=minutes), fryer="one", mass_kg=mass_kg)
    planned = told(regular, MORNING, planned=[top_up]).forecast
    happened = told([*regular, top_up], top_up.at).forecast
    for ahead, then in zip(planned[:4], happened[:4], strict=True):
        assert then.tpc_mean_pct == pytest.approx(ahead.tpc_mean_pct, rel=1e-9)
        assert then.tpc_sd_pct == pytest.approx(ahead.tpc_sd_pct, rel=1e-9)


@given(entries=books, mass_kg=masses_kg, hours=st.integers(0, 23 * 4), fryer=baths)
@FEW
def test_a_top_up_in_two_halves_at_one_time_is_one(entries, mass_kg, hours, fryer):
    whole = TopUp(at=START + timedelta(days=2, minutes=15 * hours), fryer=fryer, mass_kg=mass_kg, ref="1")
    halves = [replace(whole, mass_kg=mass_kg / 2, ref=ref) for ref in ("1", "2")]
    once, twice = (assess(KITCHEN, [*entries, *of_it], now=NOW) for of_it in ([whole], halves))
    for one, two in zip(once, twice, strict=True):
        assert_alike(two, one, rel=1e-7)


@given(entries=books, hot_h=st.floats(0.1, 3), temp_c=temps_c, other_c=temps_c, fryer=baths)
@FEW
def test_hot_hours_add_up_by_temperature_in_any_order_and_any_parts(entries, hot_h, temp_c, other_c, fryer):
    at = START + timedelta(days=2, hours=8)
    first = HotHours(at=at, fryer=fryer, hot_h=hot_h, oil_temp_c=temp_c, ref="a")
    other = HotHours(at=at, fryer=fryer, hot_h=1.0, oil_temp_c=other_c, ref="b")
    halves = [replace(first, hot_h=hot_h / 2, ref=ref) for ref in ("a", "c")]
    swapped = [replace(first, ref="b"), replace(other, ref="a")]
    once, *others = (
        assess(KITCHEN, [*entries, *of_it], now=NOW) for of_it in ([first, other], [*halves, other], swapped)
    )
    for answer in others:
        for one, two in zip(once, answer, strict=True):
            assert_alike(two, one, rel=1e-7)


def test_an_hour_at_a_higher_temperature_ages_more_whatever_the_others_were_at(regular):
    def aged(*temps_c):
        hot = [
            HotHours(at=ENDS, fryer="one", hot_h=1.0, oil_temp_c=temp_c, ref=str(n))
            for n, temp_c in enumerate(temps_c)
        ]
        return above_fresh([*regular, *hot], ENDS + timedelta(minutes=1))

    assert aged(160, 160) < aged(160, 190) == pytest.approx(aged(190, 160), rel=1e-12)
    assert aged(160, 190) < aged(190, 190)


@given(minutes=st.floats(0.5, 10))
@FEWER
def test_minutes_of_heat_age_the_oil_by_minutes(regular, minutes):
    """At most twice as fast as in a usual service, heating up and all, and nothing for no heat."""
    cold, warm, hot = (
        above_fresh(
            [*regular, HotHours(at=BEGINS, fryer="two", hot_h=hot_h)], ENDS + timedelta(minutes=1), "two"
        )
        for hot_h in (0.0, minutes / 60, 3.0)
    )
    assert cold < warm < cold + 2.5 * (hot - cold) * minutes / 180


@given(load_kg=st.floats(1, 20))
@FEWER
def test_a_kilogram_of_food_wears_alike_in_a_long_service_and_a_short_one(load_kg):
    """Lunch lasts three hours, on Fridays six; the oil is fresh and not topped up."""
    lunch = replace(KITCHEN.services[0], weekdays=(0, 1, 2, 3, 5, 6))
    friday = replace(lunch, weekdays=(4,), ends=time(17))
    kitchen = replace(KITCHEN, services=(lunch, friday))

    def worn(day, mass_kg):
        begins = START + timedelta(days=day, hours=5)
        entries = [
            Change(at=begins - timedelta(hours=1), fryer="two"),
            Load(at=begins, fryer="two", product="fries", mass_kg=mass_kg),
            TopUp(at=begins, fryer="two", mass_kg=0.0),
        ]
        return walk_to(kitchen, entries, now=begins + timedelta(hours=7)).up_to_date().own_mean()[0, 1, LEVEL]

    short, long = (worn(day, load_kg) - worn(day, 0.0) for day in (3, 4))
    assert short > 0
    assert long == pytest.approx(short, rel=1e-9)
