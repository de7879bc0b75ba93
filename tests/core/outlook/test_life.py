"""What is left in a fill, when to read next, and what planned work does to both."""

from dataclasses import replace
from datetime import time, timedelta

import numpy as np
import pytest

from kettlewell.book import Change, HotHours, Load, SensoryNote, Service, TopUp
from kettlewell.core.outlook.life import Coming, life_of

HALFWAY = (4, 7, 10, 13, 16)


@pytest.fixture
def halfway(told, book, at):
    """Say what is assessed of a bath about halfway to its limit, before lunch on the fifth day."""
    return lambda **rest: told(book(*HALFWAY), at(4, "09:30"), **rest)


def test_the_median_lies_inside_the_range_in_services_hours_and_dates(halfway):
    life = halfway().life
    assert 0 < life.services_low < life.services_median < life.services_high <= life.horizon_services
    assert 0 < life.hot_h_low < life.hot_h_median < life.hot_h_high
    assert life.ends_at_low < life.ends_at_median < life.ends_at_high


def test_hours_and_dates_are_those_of_the_services(halfway):
    """Every service of this bath lasts three hours."""
    one = halfway()
    for end in ("low", "median", "high"):
        services = getattr(one.life, f"services_{end}")
        coming = one.forecast[int(services)]
        part = (services - int(services)) * (coming.ends_at - coming.begins_at)
        assert getattr(one.life, f"hot_h_{end}") == pytest.approx(3 * services)
        assert abs(getattr(one.life, f"ends_at_{end}") - coming.begins_at - part) < timedelta(seconds=1)


def test_the_limit_is_passed_by_the_median_service_with_even_odds(halfway):
    one = halfway()
    n = int(one.life.services_median)
    assert one.forecast[n - 1].passing_probability < 0.5 <= one.forecast[n].passing_probability


def test_the_probability_of_having_passed_never_falls_along_the_forecast(halfway):
    chances = [coming.passing_probability for coming in halfway().forecast]
    assert chances == sorted(chances)


def test_only_services_the_fryer_works_in_are_counted(told, book, at):
    big, small = (told(book(5, 6, 7, fryer=key), at(2, "09:30"), fryer=key) for key in ("big", "small"))
    assert {coming.name for coming in big.forecast} == {"Lunch", "Dinner"}
    assert {coming.name for coming in small.forecast} == {"Lunch"}
    days = {coming.begins_at.date() for coming in small.forecast}
    assert len(days) == len(small.forecast) == small.life.horizon_services


def test_a_bath_that_is_past_its_limit_has_no_service_left(told, book, at):
    life = told(book(4, 10, 16, 22, 28), at(4, "09:30")).life
    assert (life.services_low, life.services_median, life.hot_h_median, life.never) == (0, 0, 0, False)


def test_no_end_of_a_life_lies_in_the_past_during_a_service(told, book, at):
    now = at(4, "12:30")
    life = told(book(4, 10, 16, 22, 28), now).life
    assert life.ends_at_low >= now


def test_a_reading_due_at_once_during_a_service_is_not_due_in_the_past(told, book, at):
    now = at(4, "12:30")
    assert told(book(4, 10, 16, 22, 28), now).read_by >= now


def test_the_rest_of_a_running_service_has_the_rest_of_its_hours(told, book, at):
    """Half of lunch is left, so the first service from now counts as one and a half hours."""
    one = told(book(*HALFWAY), at(4, "12:30"))
    assert one.forecast[0].begins_at == at(4, "12:30")
    services = one.life.services_median
    assert services > 1
    assert one.life.hot_h_median == pytest.approx(1.5 + 3 * (services - 1))


def test_a_steady_state_below_the_limit_is_told_as_never(told, book, at):
    one = told(book(4, 7, 8.5, 9.5, 10, 10.5, 10.5, 10.5, *[11] * 30), at(37, "09:30"))
    assert one.steady_state_tpc_pct < 24
    assert one.life.never
    assert one.life.services_median is one.life.ends_at_median is None


def test_a_life_beyond_the_horizon_is_unknown_and_not_never(at):
    begins = tuple(at(day, "11:00") for day in range(4))
    ends = tuple(at(day, "14:00") for day in range(4))
    coming = Coming(names=("Lunch",) * 4, begins=begins, ends=ends, hot_h=np.full(4, 3.0))
    life = life_of(np.full(4, 0.2), 0.0, coming, steady_below_limit=False)
    assert (life.services_low, life.services_median, life.never) == (pytest.approx(0.5), None, False)
    assert life.horizon_services == 4


def test_faster_oil_ends_earlier(told, book, at):
    slow = told(book(4, 6, 8, 10, 12), at(4, "09:30")).life
    fast = told(book(4, 7, 10, 13, 16), at(4, "09:30")).life
    assert fast.services_low < slow.services_low
    assert fast.services_median < slow.services_median


def test_more_planned_food_that_takes_up_no_oil_ends_the_fill_earlier(halfway, at):
    def planned(mass_kg):
        loads = [
            Load(at=at(day, clock), fryer="big", product="dry", mass_kg=mass_kg)
            for day in range(4, 12)
            for clock in ("11:30", "17:30")
        ]
        return halfway(planned=loads)

    light, heavy = planned(10.0), planned(60.0)
    assert heavy.forecast[3].tpc_mean_pct > light.forecast[3].tpc_mean_pct
    assert heavy.life.services_median < light.life.services_median


def test_more_planned_hot_hours_age_the_oil_more(halfway, at):
    usual = halfway().forecast[0].tpc_mean_pct
    longer = halfway(planned=[HotHours(at=at(4, "11:30"), fryer="big", hot_h=6.0)])
    assert longer.forecast[0].tpc_mean_pct > usual + 0.3


def test_a_service_planned_cold_is_none_of_the_coming_ones(halfway, at):
    plan = [HotHours(at=at(4, "11:30"), fryer="big", hot_h=0.0)]
    assert [halfway(planned=planned).forecast[0].name for planned in (None, plan)] == ["Lunch", "Dinner"]


def test_a_planned_top_up_beyond_the_usual_makes_the_bath_fresher(told, book, at):
    """Where every service is topped up, a larger top-up replaces more of the bath."""
    loads = [entry for entry in book(*HALFWAY) if isinstance(entry, Load)]
    usual = [TopUp(at=load.at, fryer="big", mass_kg=1.4) for load in loads]
    plan = [TopUp(at=at(4, "11:30"), fryer="big", mass_kg=6.0)]
    entries = [*book(*HALFWAY), *usual]
    unplanned, planned = (told(entries, at(4, "09:30"), planned=one).forecast[0] for one in (None, plan))
    assert planned.tpc_mean_pct < unplanned.tpc_mean_pct - 0.2


def test_a_plan_for_one_fryer_leaves_the_others_as_they_are(told, book, at):
    """Loads that were not written down in the past must not change what the plan of another fryer does."""
    entries = [
        *book(*HALFWAY[:2]),
        *book(*HALFWAY)[-2:],
        SensoryNote(at=at(4, "09:10"), fryer="big", spoiled=False),
    ]
    plan = [Load(at=at(4, "11:30"), fryer="small", product="fish", mass_kg=20.0)]
    unplanned, planned = (told(entries, at(4, "09:30"), planned=one).forecast[0] for one in (None, plan))
    assert planned == unplanned


def test_the_next_reading_is_due_while_the_risk_of_having_passed_unseen_is_accepted(halfway):
    """And not long before it is accepted no more."""
    one = halfway()
    due = next(n for n, coming in enumerate(one.forecast) if coming.begins_at == one.read_by)
    assert due > 0
    assert one.forecast[due].passing_probability <= one.verdict.risk
    assert one.forecast[due + 3].passing_probability > one.verdict.risk


def test_fry_on_holds_until_the_next_reading_is_due(halfway):
    one = halfway()
    assert one.verdict.key == "fry_on"
    assert one.verdict.holds_until == one.read_by > one.at


def test_a_reading_is_due_within_two_weeks_of_the_last_however_slow_the_oil(told, book, at):
    one = told(book(4, 4.5, 5, 5, 5.5), at(4, "09:30"))
    assert one.at < one.read_by <= at(18, "09:00")


def test_a_doubted_reading_does_not_put_off_the_next(told, book, read, at):
    entries = book(4, 4.5, 5, 5, 5.5)
    one = told([*entries, read(10, "09:00", 25)], at(10, "09:30"))
    assert one.verdict.key == "measure_again"
    assert one.read_by <= at(18, "09:00")


def test_a_fresh_fill_is_read_before_its_first_service(told, at):
    one = told([Change(at=at(0, "08:00"), fryer="big")], at(0, "08:30"))
    assert one.read_by == at(0, "11:00")


def test_a_verdict_to_change_holds_until_the_end_of_the_coming_service(told, book, at):
    one = told(book(4, 10, 16, 22, 28), at(4, "09:30"))
    assert (one.verdict.key, one.verdict.holds_until) == ("change_before", at(4, "14:00"))
    assert one.read_by == at(4, "11:00")


def test_a_service_past_midnight_ends_on_the_next_day(told, at, kitchen):
    late = Service(name="Late", weekdays=tuple(range(7)), begins=time(20), ends=time(1))
    one = told(
        [Change(at=at(0, "08:00"), fryer="big")], at(0, "08:30"), place=replace(kitchen, services=(late,))
    )
    assert (one.forecast[0].begins_at, one.forecast[0].ends_at) == (at(0, "20:00"), at(1, "01:00"))


@pytest.mark.parametrize(("day", "hour"), [(0, "10:00"), (60, "11:00")])
def test_services_keep_the_kitchens_own_time_when_clocks_are_put_back(told, at, kitchen, day, hour):
    """London: an hour ahead of UTC in September, none in November."""
    place = replace(kitchen, timezone="Europe/London")
    one = told([Change(at=at(day, "08:00"), fryer="big")], at(day, "08:30"), place=place)
    assert one.forecast[0].begins_at == at(day, hour)
