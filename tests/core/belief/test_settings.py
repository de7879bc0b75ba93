"""A setting counts from its time on: what was is as it was, and what comes is as supposed."""

from dataclasses import replace

import numpy as np
import pytest
from states import differences

from kettlewell.book import Change, Load, Meter, Oil, OilKind, Reading, TopUp, history_from, history_of
from kettlewell.core import assess, checkpoint, history
from kettlewell.core.ageing.rates import temperature_factor
from kettlewell.core.belief.walk import walk_to

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
    more = replace(kitchen, meters=(*kitchen.meters, Meter(key="new", name="New meter")))
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
