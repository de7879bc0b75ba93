"""A setting counts from its time on: what was is as it was, and what comes is as supposed."""

from dataclasses import replace
from datetime import time

import numpy as np
import pytest
from states import differences

from kettlewell.book import (
    Change,
    FoodKind,
    HotHours,
    LabResult,
    Load,
    Oil,
    OilKind,
    Reading,
    TopUp,
    history_from,
    history_of,
)
from kettlewell.core import assess, checkpoint, history
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.ageing.rates import temperature_factor
from kettlewell.core.belief.baths import baths_of
from kettlewell.core.belief.joint import LEVEL
from kettlewell.core.belief.walk import walk_to
from kettlewell.practice.hand_meter import HAND_METER

MONTH = 28
HOTTER = temperature_factor(185.0, activation_energy_kj_per_mol=34)  # relative to 175 °C: 1.22


@pytest.fixture
def month(at, read):
    """A month of ``big``, changed each week, read every morning, fried in as usual."""
    entries = []
    for day in range(MONTH):
        if day % 7 == 0:
            entries.append(Change(at=at(day, "08:00"), fryer="big"))
        entries.append(read(day, "09:00", 4.0 + 2.0 * (day % 7)))
        entries += [
            Load(at=at(day, clock), fryer="big", product="fries", mass_kg=20.0)
            for clock in ("13:50", "19:50")
        ]
    return entries


def with_fryer(kitchen, key="big", **fields):
    """Return a kitchen with one fryer set otherwise."""
    fryers = (replace(fryer, **fields) if fryer.key == key else fryer for fryer in kitchen.fryers)
    return replace(kitchen, fryers=tuple(fryers))


def big(settings, entries, now, **rest):
    """Return what is assessed of ``big``."""
    return assess(settings, entries, now=now, of=["big"], **rest)[0]


def test_a_thermostat_turned_up_ages_the_oil_faster_whether_supposed_or_saved(kitchen, month, at):
    """From 175 to 185 °C: the rate rises by 1.22 and the life falls, and goes on so the days after."""
    now, saved_at = at(MONTH - 1, "21:00"), at(MONTH - 1, "20:30")
    hotter = with_fryer(kitchen, set_temp_c=185.0)
    before = big(kitchen, month, now)
    supposed = big(history_of(kitchen).then(hotter, now), month, now)
    saved = big(history_of(kitchen).then(hotter, saved_at), month, now)
    assert supposed.rate_pct_per_h == pytest.approx(HOTTER * before.rate_pct_per_h, rel=1e-6)
    assert saved.rate_pct_per_h == pytest.approx(supposed.rate_pct_per_h, rel=1e-9)
    assert saved.tpc_mean_pct == pytest.approx(before.tpc_mean_pct, rel=1e-9)
    assert supposed.life.services_median < 0.9 * before.life.services_median
    assert saved.life.services_median == pytest.approx(supposed.life.services_median, rel=1e-6)


def test_a_thermostat_turned_up_last_week_ages_by_the_hotter_rate_since_then(kitchen, month, at):
    """The readings of its last week are taken as of a bath at 185 °C, those before as at 175 °C."""
    now, turned = at(MONTH - 1, "21:00"), at(MONTH - 7, "08:30")
    hotter = with_fryer(kitchen, set_temp_c=185.0)
    always_cool, always_hot = (big(place, month, now).rate_pct_per_h for place in (kitchen, hotter))
    since_then = big(history_of(kitchen).then(hotter, turned), month, now).rate_pct_per_h
    assert always_cool < since_then < HOTTER * always_cool
    assert always_hot == pytest.approx(always_cool, rel=0.06)


AT_REST = temperature_factor(140.0, activation_energy_kj_per_mol=34)  # relative to 175 °C: 0.46


def fried(at, day, kg):
    """Return the food of both services of a day."""
    return [Load(at=at(day, f"{h}:50"), fryer="big", product="fries", mass_kg=kg) for h in (13, 19)]


def test_hours_without_food_age_at_the_standby_temperature(kitchen, month, at):
    """Hot and nothing fried: as a bath set to it, but for the heating-up; with food: in between."""
    standby, cool = (with_fryer(kitchen, **{name: 140.0}) for name in ("standby_temp_c", "set_temp_c"))
    rises = {}
    for kg in (0.0, 20.0):
        day = [*month, Change(at=at(MONTH, "08:00"), fryer="big"), *fried(at, MONTH, kg)]
        for name, settings in (("set", kitchen), ("standby", standby), ("cool", cool)):
            history = history_of(kitchen).then(settings, at(MONTH, "07:00"))
            before, after = (big(history, day, at(MONTH, clock)).tpc_mean_pct for clock in ("08:30", "23:00"))
            rises[name, kg] = after - before
    assert rises["set", 0.0] > rises["standby", 0.0] > rises["cool", 0.0]
    hours, up = 3.0, PACKAGED.heat_up_h.value
    idle = PACKAGED.load_share.value * hours
    assert rises["standby", 0.0] / rises["set", 0.0] == pytest.approx(
        (AT_REST * idle + up) / (idle + up), rel=0.02
    )
    assert rises["standby", 20.0] > 0.5 * rises["set", 20.0] > rises["cool", 20.0]


def test_a_standby_temperature_of_what_is_set_or_above_changes_nothing(kitchen, month, at):
    now = at(MONTH - 1, "21:00")
    plain = big(kitchen, month, now)
    for temp_c in (175.0, 190.0):
        assert big(with_fryer(kitchen, standby_temp_c=temp_c), month, now) == plain


def test_hot_hours_whose_temperature_is_told_are_weighed_by_it_alone(kitchen, month, at):
    told = [HotHours(at=at(MONTH - 1, f"{h}:55"), fryer="big", hot_h=3.0, oil_temp_c=175.0) for h in (13, 19)]
    settings = history_of(kitchen).then(with_fryer(kitchen, standby_temp_c=140.0), at(MONTH - 1, "07:00"))
    now = at(MONTH - 1, "21:00")
    as_told, plain = (big(place, [*month, *told], now).tpc_mean_pct for place in (settings, kitchen))
    assert as_told == pytest.approx(plain, rel=1e-12)
    assert big(settings, month, now).tpc_mean_pct < plain


def test_a_lower_standby_temperature_makes_oil_last_longer_and_the_rate_says_so(kitchen, month, at):
    now = at(MONTH - 1, "21:00")
    plain, lowered = (
        big(place, month, now)
        for place in (kitchen, history_of(kitchen).then(with_fryer(kitchen, standby_temp_c=140.0), now))
    )
    hours, up = 3.0, PACKAGED.heat_up_h.value
    usual = (0.5 * hours * (1 + AT_REST) + up) / (hours + up)
    assert lowered.rate_pct_per_h == pytest.approx(usual * plain.rate_pct_per_h, rel=1e-6)
    assert lowered.life.services_median > 1.1 * plain.life.services_median
    assert lowered.tpc_mean_pct == plain.tpc_mean_pct


def test_a_usual_load_stated_anew_counts_for_more_beside_a_standby_temperature(kitchen, month, at):
    """The food of twice the load ages twice as much, at the set temperature, the hours as they did."""
    standby, now = with_fryer(kitchen, standby_temp_c=140.0), at(MONTH - 1, "21:00")
    restated = history_of(standby).then(with_fryer(standby, usual_load_kg=40.0), now)
    was, told = (big(place, month, now).rate_pct_per_h for place in (standby, restated))
    assert told / was == pytest.approx((0.5 * AT_REST + 0.5 * 2) / (0.5 * AT_REST + 0.5), rel=1e-6)


@pytest.fixture
def covered(kitchen, month, at):
    """A checkpoint after two weeks."""
    return checkpoint(kitchen, month, at=at(14, "12:00"))


def test_a_setting_dated_before_a_checkpoint_is_refused_in_a_sentence(kitchen, month, covered, at):
    settings = history_of(kitchen).then(with_fryer(kitchen, set_temp_c=185.0), at(10, "08:00"))
    with pytest.raises(ValueError, match=r"settings from before .* differ from those .* rests on: replay"):
        big(settings, month, at(MONTH, "12:00"), since=covered)


def test_a_setting_dated_in_the_past_is_replayed_from_a_checkpoint_before_it(kitchen, month, at):
    settings = history_of(kitchen).then(with_fryer(kitchen, set_temp_c=185.0), at(10, "08:00"))
    before, now = checkpoint(kitchen, month, at=at(7, "12:00")), at(MONTH, "12:00")
    rest = [entry for entry in month if entry.at >= before.covers_to]
    assert big(settings, rest, now, since=before) == big(settings, month, now)


@pytest.mark.parametrize("field", ["name", "limits", "risk", "permissible_pct"])
def test_settings_that_ageing_does_not_depend_on_are_never_refused(kitchen, month, covered, at, field):
    value = {"name": "Other", "limits": kitchen.limits, "risk": 0.01, "permissible_pct": 1.5}[field]
    settings = history_of(kitchen).then(replace(kitchen, **{field: value}), at(10, "08:00"))
    now = at(MONTH, "12:00")
    assert big(settings, month, now, since=covered) == big(settings, month, now)


def test_a_change_on_the_instant_of_a_checkpoint_comes_after_it(kitchen, month, covered, at):
    settings = history_of(kitchen).then(with_fryer(kitchen, oil_mass_kg=30.0), covered.covers_to)
    now = at(MONTH, "12:00")
    assert big(settings, month, now, since=covered) == big(settings, month, now)
    assert not differences(covered, checkpoint(settings, month, at=at(14, "12:00")))


def test_a_change_of_settings_leaves_what_was_told_of_the_days_before_it(kitchen, month, at):
    settings = history_of(kitchen).then(with_fryer(kitchen, set_temp_c=185.0), at(20, "08:00"))
    before = history(kitchen, month, now=at(20, "07:59"))["big"]
    after = history(settings, month, now=at(MONTH, "12:00"))["big"]
    assert len(before) == 2 * 20 + 2  # two services of each day, and of the day before the book
    assert after[: len(before)] == pytest.approx(before)
    assert len(after) > len(before) + 10


def test_dinner_dropped_from_next_week_on_was_worked_until_then(kitchen, month, at):
    """Dinners that were fried stay fried; then a fresh fill has two lunches in two days, not four."""
    lunch = replace(kitchen, services=kitchen.services[:1])
    settings = history_of(kitchen).then(lunch, at(20, "21:00"))
    now = at(20, "21:00")
    was, told = big(kitchen, month, now), big(settings, month, now)
    assert told.tpc_mean_pct == pytest.approx(was.tpc_mean_pct, rel=1e-9)
    assert told.rate_pct_per_h == pytest.approx(was.rate_pct_per_h, rel=1e-9)
    assert {service.name for service in told.forecast} == {"Lunch"}
    later = at(22, "21:00")
    quiet = [entry for entry in month if not isinstance(entry, Reading | Load) or entry.at < now]
    both, one = (big(place, quiet, later).tpc_mean_pct for place in (kitchen, settings))
    assert both > 7
    assert one - 4 == pytest.approx((both - 4) / 2, rel=0.35)


def test_a_service_that_was_added_counts_from_its_day_on(kitchen, month, at):
    breakfast = replace(
        kitchen.services[0], name="Breakfast", begins=kitchen.services[0].begins.replace(hour=6)
    )
    breakfast = replace(breakfast, ends=breakfast.begins.replace(hour=8))
    more = replace(kitchen, services=(breakfast, *kitchen.services))
    settings = history_of(kitchen).then(more, at(26, "21:00"))
    now = at(26, "21:00")
    was, told = big(kitchen, month, now), big(settings, month, now)
    assert told.tpc_mean_pct == pytest.approx(was.tpc_mean_pct, rel=1e-9)
    assert [service.name for service in told.forecast[:3]] == ["Breakfast", "Lunch", "Dinner"]


def test_a_long_service_that_a_change_ends_before_its_time_is_over_after_a_checkpoint_too(kitchen, at):
    """``small`` works all day, across the beginning of lunch, from which a checkpoint goes on."""
    all_day = replace(kitchen.services[0], name="All day", begins=time(20), ends=time(12), fryers=("small",))
    lunch = replace(kitchen.services[0], fryers=("big",))
    night = replace(kitchen, services=(lunch, all_day))
    settings = history_of(night).then(replace(kitchen, services=(lunch,)), at(2, "11:10"))
    entries, now = [Change(at=at(0, "08:00"), fryer="small")], at(2, "15:00")
    before = checkpoint(night, entries, at=at(2, "11:05"))
    assert [(service.whole[0] > 0).tolist() for service in before.place.running] == [[False, True]]
    cut, whole = (walk_to(place, entries, now=now).up_to_date() for place in (settings, night))
    gone_on = walk_to(settings, [], now=now, since=before).up_to_date()
    assert gone_on.own_mean()[0, 1, LEVEL] == cut.own_mean()[0, 1, LEVEL] < whole.own_mean()[0, 1, LEVEL]


THIRD = {"key": "third", "name": "Third pan"}


def lived(kitchen, at):
    """Return a history in which a fryer with an oil of its own comes on day 5 and goes on day 10."""
    oils = (*kitchen.oils, Oil(key="beef", name="Dripping", kind=OilKind.OTHER, fresh_tpc_pct=6.0))
    third = replace(kitchen.fryers[0], oil="beef", **THIRD)
    came = replace(kitchen, oils=oils, fryers=(*kitchen.fryers, third))
    return history_from([(at(0, "00:00"), kitchen), (at(5, "08:00"), came), (at(10, "08:00"), kitchen)])


def third_read(at, day, pct=9.0):
    """Return a reading of the fryer that comes and goes."""
    return Reading(at=at(day, "09:00"), fryer="third", tpc_pct=pct, oil_temp_c=150.0)


@pytest.mark.parametrize("day", [3, 7, 12], ids=["before", "while", "after"])
def test_an_entry_of_a_fryer_is_taken_before_it_was_written_down_and_after_it_was_removed(kitchen, at, day):
    """It is there from that entry on; what was read of it teaches what the others share."""
    settings = lived(kitchen, at)
    entries = [Change(at=at(0, "08:00"), fryer="big"), third_read(at, day)]
    now = at(day, "09:30")
    walked = walk_to(settings, entries, now=now)
    assert ("third" in walked.place.baths.fryers) is True
    plain = walk_to(settings, entries[:1], now=now).up_to_date()
    layout = walked.state.belief.layout
    offset = layout.offsets(0).start
    assert walked.state.belief.shared_cov[0, offset, offset] < plain.shared_cov[0, offset, offset]
    asked = {bath.fryer for bath in assess(settings, entries, now=now)}
    assert asked == {"big", "small"} | ({"third"} if 5 <= day < 10 else set())


def test_what_no_settings_ever_had_is_refused_in_a_sentence(kitchen, at):
    with pytest.raises(ValueError, match="no fryer 'fourth' in 'Test kitchen'"):
        assess(lived(kitchen, at), [replace(third_read(at, 3), fryer="fourth")], now=at(4, "12:00"))


@pytest.mark.parametrize("day", [3, 7, 12])
def test_a_change_may_name_both_a_fryer_and_its_oil_that_came_later(kitchen, at, day):
    entries = [Change(at=at(day, "09:00"), fryer="third", oil="beef")]
    walked = walk_to(lived(kitchen, at), entries, now=at(day, "09:30"))
    baths = walked.place.baths
    assert walked.place.account.bath("third").oil == "beef"
    assert walked.state.belief.oil[0, baths.fryer_index("third")] == baths.oil_index("beef")


def test_a_fryer_that_comes_borrows_what_the_others_taught(kitchen, month, at):
    """Its rate is drawn to that of its siblings, and is surer than the prior."""
    third = replace(kitchen.fryers[0], **THIRD)
    came = replace(kitchen, fryers=(*kitchen.fryers, third))
    now = at(MONTH - 1, "21:00")

    def rates(settings, entries):
        found = {bath.fryer: bath for bath in assess(settings, entries, now=now)}
        return found["third"], found["big"]

    (new, old), (prior, _) = rates(history_of(kitchen).then(came, now), month), rates(came, month[:1])
    ordered = [prior.rate_pct_per_h, new.rate_pct_per_h, old.rate_pct_per_h]
    assert ordered in (sorted(ordered), sorted(ordered, reverse=True))
    assert old.rate_sd_pct_per_h < new.rate_sd_pct_per_h < prior.rate_sd_pct_per_h


def test_a_fryer_that_comes_holds_what_it_was_filled_with_since(kitchen, month, at):
    third = replace(kitchen.fryers[0], **THIRD)
    settings = history_of(kitchen).then(replace(kitchen, fryers=(*kitchen.fryers, third)), at(20, "08:00"))
    entries = [*month, Change(at=at(20, "08:30"), fryer="third"), TopUp(at=at(20, "14:10"), fryer="third")]
    found = {bath.fryer: bath for bath in assess(settings, entries, now=at(20, "09:00"))}
    assert found["third"].tpc_mean_pct == pytest.approx(found["third"].fresh_tpc_pct, abs=0.05)
    assert found["third"].filled_at == at(20, "08:30")


def test_a_fryer_that_goes_takes_nothing_with_it_that_the_others_rest_on(kitchen, month, at):
    """What the readings of both taught of the meter and the rate stays."""
    small = [
        Reading(at=at(day, "09:02"), fryer="small", tpc_pct=5.0 + day % 3, oil_temp_c=150.0)
        for day in range(MONTH)
    ]
    only = replace(kitchen, fryers=kitchen.fryers[:1])
    now = at(MONTH - 1, "21:00")
    settings = history_of(kitchen).then(only, now)
    was, told = (big(place, [*month, *small], now) for place in (kitchen, settings))
    for field in ("tpc_mean_pct", "tpc_sd_pct", "rate_pct_per_h", "rate_sd_pct_per_h", "fresh_tpc_pct"):
        assert getattr(told, field) == pytest.approx(getattr(was, field), rel=1e-9)


def test_a_meter_that_comes_later_is_unsure_beside_one_that_was_checked_by_the_laboratory(kitchen, month, at):
    """It is no part of the scale: its ratio is as unknown as beforehand, and what was known stays known."""
    more = replace(
        kitchen,
        meters=(
            *kitchen.meters,
            replace(HAND_METER, key="new", name="New meter"),
        ),
    )
    now = at(MONTH - 1, "21:00")
    was, came = (
        walk_to(place, month, now=now).up_to_date()
        for place in (kitchen, history_of(kitchen).then(more, now))
    )
    layout = came.layout
    assert (layout.meters, layout.scale_meters) == (2, 1)
    np.testing.assert_allclose(came.shared[0, layout.gains], was.shared[0, was.layout.gains], rtol=1e-9)
    ratio_sd = [np.sqrt(came.shared_cov[0, layout.ratio(meter), layout.ratio(meter)]) for meter in (0, 1)]
    assert ratio_sd[0] < 1e-3
    assert ratio_sd[1] > 0.02


@pytest.mark.parametrize("read_before", [False, True])
def test_a_meter_that_was_only_assumed_counts_beside_the_first_once_it_was_read(
    kitchen, at, read, read_before
):
    """What no reading was taken by leaves no trace: the first meter is then as one there was all along."""
    none = replace(kitchen, meters=())
    settings = history_of(none).then(kitchen, at(1, "08:00"))
    entries = [Change(at=at(0, "08:00"), fryer="big")]
    entries += [read(0, "09:00", 5.0)] if read_before else []
    place = walk_to(settings, [*entries, read(1, "09:00", 7.0)], now=at(1, "10:00")).place
    keys = [meter.key for meter in place.baths.meters]
    assert keys == ["", kitchen.meters[0].key] if read_before else [kitchen.meters[0].key]
    assert [meter.used for meter in place.meters] == [True] * len(keys)


def test_a_larger_bath_is_drawn_on_by_a_smaller_share_from_then_on(kitchen, month, at):
    """The same food carries out the same oil: as measured by the top-ups, of 20 kg or of 30."""
    tops = [TopUp(at=at(day, "19:55"), fryer="big", mass_kg=5.0) for day in range(MONTH)]
    now = at(MONTH - 1, "21:00")
    settings = history_of(kitchen).then(with_fryer(kitchen, oil_mass_kg=30.0), now)
    was, told = (big(place, [*month, *tops], now) for place in (kitchen, settings))
    prior = big(kitchen, month[:1], now)
    assert was.turnover_per_service != pytest.approx(prior.turnover_per_service, rel=0.1)
    assert told.turnover_per_service == pytest.approx(was.turnover_per_service * 20 / 30, rel=1e-6)


def test_oil_told_to_be_of_another_kind_ages_at_that_kinds_rate_from_then_on(kitchen, month, at):
    """What was learnt of the fryer stays; palm olein ages at 0.45 of the rate of rapeseed."""
    palm = replace(kitchen.oils[0], kind=OilKind.PALM_OLEIN)
    now = at(MONTH - 1, "21:00")
    settings = history_of(kitchen).then(replace(kitchen, oils=(palm, *kitchen.oils[1:])), now)
    was, told = (big(place, month, now) for place in (kitchen, settings))
    factors = [PACKAGED.oils[kind].rate_factor for kind in (OilKind.RAPESEED, OilKind.PALM_OLEIN)]
    assert told.rate_pct_per_h == pytest.approx(was.rate_pct_per_h * factors[1] / factors[0], rel=1e-6)


def test_a_load_stated_anew_counts_from_then_on(kitchen, month, at):
    """Twice the usual food: the part of the ageing that goes with the load doubles, and so does the draw."""
    now = at(MONTH - 1, "21:00")
    settings = history_of(kitchen).then(with_fryer(kitchen, usual_load_kg=40.0), now)
    was, told = (big(place, month, now) for place in (kitchen, settings))
    share = PACKAGED.load_share.value
    assert told.rate_pct_per_h == pytest.approx(was.rate_pct_per_h * (1 + share), rel=0.02)
    assert told.turnover_per_service == pytest.approx(2 * was.turnover_per_service, rel=0.02)


def test_other_food_wears_and_draws_as_that_food_does_from_then_on(kitchen, month, at):
    """The load that was learnt stays in kg: fish wears the oil more than fries."""
    now = at(MONTH - 1, "21:00")
    settings = history_of(kitchen).then(with_fryer(kitchen, fries=("fish",)), now)
    was, told = (big(place, month, now) for place in (kitchen, settings))
    fries, fish = (PACKAGED.foods[kind] for kind in (FoodKind.FROZEN_FRIES, FoodKind.BATTERED_FISH))
    assert told.rate_pct_per_h == pytest.approx(
        was.rate_pct_per_h * fish.wear_factor / fries.wear_factor, rel=1e-6
    )
    drawn = fish.uptake_kg_per_kg / fries.uptake_kg_per_kg
    assert told.turnover_per_service == pytest.approx(was.turnover_per_service * drawn, rel=1e-6)


def test_fresher_oil_counts_for_the_next_fill_and_leaves_this_one(kitchen, month, at):
    """The oil of this fill was filled in as it was; the next is of the fresher."""
    fresher = replace(kitchen.oils[0], fresh_tpc_pct=2.0)
    now, later = at(MONTH - 1, "21:00"), at(MONTH, "08:30")
    settings = history_of(kitchen).then(replace(kitchen, oils=(fresher, *kitchen.oils[1:])), now)
    was, told = (big(place, month, now) for place in (kitchen, settings))
    assert told.tpc_mean_pct == pytest.approx(was.tpc_mean_pct, rel=1e-9)
    assert told.fresh_tpc_pct == pytest.approx(2.0, abs=0.05)
    filled = big(settings, [*month, Change(at=at(MONTH, "08:00"), fryer="big")], later)
    assert filled.tpc_mean_pct == pytest.approx(2.0, abs=0.05)


def test_loads_learnt_by_the_weekday_stay_with_their_services_when_others_come(kitchen, at, read):
    """Fridays are busy; they stay so once there is a breakfast."""
    entries = [Change(at=at(0, "08:00"), fryer="big")]
    for day in range(MONTH):
        mass_kg = 60.0 if day % 7 == 4 else 10.0
        entries += [
            Load(at=at(day, clock), fryer="big", product="fries", mass_kg=mass_kg)
            for clock in ("13:50", "19:50")
        ]
    now = at(MONTH, "05:00")
    breakfast = replace(kitchen.services[0], name="Breakfast", begins=time(6), ends=time(8))
    settings = history_of(kitchen).then(replace(kitchen, services=(breakfast, *kitchen.services)), now)
    usual, more = (walk_to(place, entries, now=now).state.pattern for place in (kitchen, settings))
    kept = [n for n, (_, name) in enumerate(baths_of(settings.now).slots) if name != "Breakfast"]
    np.testing.assert_array_equal(more.slot_sum[0, 0, kept], usual.slot_sum[0, 0])
    np.testing.assert_array_equal(more.slot_count[0, 0, kept], usual.slot_count[0, 0])
    assert more.slot_count[0, 0].sum() == usual.slot_count[0, 0].sum() > 0


def test_an_oil_that_comes_is_believed_as_if_it_had_been_there_all_along(kitchen, month, at):
    """What the laboratory taught of how the meter takes other oils holds for it as well.

    Its offset alone is a little off, by what the meter had drifted before it came.
    """
    entries = [
        *month,
        *(
            LabResult(at=at(day, "09:05"), fryer="big", tpc_pct=1.2 * (4 + 2 * (day % 7)))
            for day in (5, 12, 19)
        ),
    ]
    without = replace(kitchen, oils=kitchen.oils[:2])
    now = at(MONTH - 1, "21:00")
    settings = history_of(without).then(kitchen, at(MONTH - 2, "21:00"))
    came, ever = (walk_to(place, entries, now=now).up_to_date() for place in (settings, kitchen))
    known = slice(0, came.layout.offsets(0).stop - 1)
    np.testing.assert_allclose(came.shared[:, known], ever.shared[:, known], rtol=1e-6)
    np.testing.assert_allclose(came.shared_cov[:, known, known], ever.shared_cov[:, known, known], atol=1e-9)
    np.testing.assert_allclose(came.shared, ever.shared, atol=1e-3)
    np.testing.assert_allclose(came.shared_cov, ever.shared_cov, atol=0.02)
    prior = walk_to(kitchen, [], now=now).up_to_date()
    palm = came.layout.gains.start + 2
    assert abs(came.shared[0, palm] - prior.shared[0, palm]) > 0.02
