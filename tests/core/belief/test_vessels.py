"""Oil that is changed, moved, stored, brought back, or stands cold."""

from dataclasses import replace

import pytest

from kettlewell.book import (
    Change,
    HotHours,
    Move,
    OutOfOrder,
    Product,
    Return,
    Store,
    TopUp,
    history_of,
)
from kettlewell.core import assess

OLD = (4, 7, 10, 13)  # read on the mornings of days 0 to 3


def levels(told, entries, now):
    return {key: told(entries, now, fryer=key).tpc_mean_pct for key in ("big", "small")}


@pytest.mark.parametrize("mass_kg", [1.0, 2.5, 4.0, 8.0])
def test_a_move_mixes_by_mass(told, book, at, mass_kg):
    """Into a bath of 10 kg."""
    entries = [*book(*OLD), Change(at=at(3, "09:10"), fryer="small")]
    before = levels(told, entries, at(3, "09:30"))
    move = Move(at=at(3, "09:20"), fryer="big", into="small", mass_kg=mass_kg)
    after = levels(told, [*entries, move], at(3, "09:30"))
    share = mass_kg / 10
    assert after["small"] == pytest.approx(share * before["big"] + (1 - share) * before["small"], abs=0.02)
    assert after["big"] == pytest.approx(before["big"])


def test_a_move_of_all_that_fits_brings_age_and_readings_along(told, book, at):
    entries = [*book(*OLD), Change(at=at(3, "09:10"), fryer="small")]
    move = Move(at=at(3, "09:20"), fryer="big", into="small")
    now = at(3, "09:30")
    before, after = levels(told, entries, now), levels(told, [*entries, move], now)
    assert after["small"] == pytest.approx(before["big"])
    assert told([*entries, move], now, fryer="small").filled_at == at(0, "08:00")
    assert told([*entries, move], now, fryer="small").last_reading_pct == told(entries, now).last_reading_pct


def test_a_move_of_all_that_fits_empties_a_bath_that_is_no_larger(told, book, at):
    entries = [*book(*OLD), Change(at=at(3, "09:10"), fryer="small")]
    up, down = (
        Move(at=at(3, "09:20"), fryer=one, into=other) for one, other in (("small", "big"), ("big", "small"))
    )
    now = at(3, "09:30")
    assert told([*entries, up], now, fryer="small").in_use is False
    assert told([*entries, down], now, fryer="big").in_use is True


def test_a_fill_stored_and_brought_back_has_the_level_it_had(told, book, at):
    entries, stored = book(*OLD), Store(at=at(3, "09:10"), fryer="big")
    back = Return(at=at(6, "09:00"), fryer="big")
    before, after = told(entries, at(3, "09:05")), told([*entries, stored, back], at(6, "09:30"))
    assert after.tpc_mean_pct == pytest.approx(before.tpc_mean_pct, rel=1e-4)
    assert after.tpc_sd_pct == pytest.approx(before.tpc_sd_pct, rel=1e-2)
    assert (after.filled_at, after.last_reading_pct, after.in_use) == (at(0, "08:00"), 13, True)


def test_a_stored_fill_waits_while_another_is_fried_in(told, book, at):
    entries = [
        *book(*OLD),
        Store(at=at(3, "09:10"), fryer="big"),
        Change(at=at(3, "09:20"), fryer="big"),
        Return(at=at(5, "09:00"), fryer="big"),
    ]
    between, after = told(entries, at(3, "09:30")), told(entries, at(5, "09:30"))
    assert between.tpc_mean_pct == pytest.approx(4, abs=0.6)
    assert after.tpc_mean_pct == pytest.approx(told(book(*OLD), at(3, "09:05")).tpc_mean_pct)


def test_storing_what_is_already_stored_changes_nothing(told, book, at):
    once = [*book(*OLD), Store(at=at(3, "09:10"), fryer="big")]
    back = Return(at=at(6, "09:00"), fryer="big")
    one = told([*once, back], at(6, "09:30"))
    two = told([*once, Store(at=at(4, "09:10"), fryer="big"), back], at(6, "09:30"))
    assert (two.tpc_mean_pct, two.in_use) == (pytest.approx(one.tpc_mean_pct, rel=1e-4), True)


def test_bringing_back_what_was_never_stored_changes_nothing(told, book, at):
    entries, back = book(*OLD), Return(at=at(3, "09:10"), fryer="big")
    assert told([*entries, back], at(3, "09:30")) == told(entries, at(3, "09:30"))


def test_a_change_takes_the_fresh_value_of_the_oil_filled_in(told, book, at):
    own, palm = (
        told([*book(*OLD), Change(at=at(3, "09:10"), fryer="big", oil=oil)], at(3, "09:30"))
        for oil in (None, "palm")
    )
    for filled, fresh_pct in ((own, 4), (palm, 7.5)):
        assert filled.tpc_mean_pct == pytest.approx(filled.fresh_tpc_pct, abs=0.05)
        assert filled.fresh_tpc_pct == pytest.approx(fresh_pct, abs=0.8)


def test_a_change_forgets_the_old_oil_and_keeps_the_rate(told, book, at):
    before = told(book(*OLD), at(3, "09:05"))
    after = told([*book(*OLD), Change(at=at(3, "09:10"), fryer="big")], at(3, "09:30"))
    assert after.rate_pct_per_h == pytest.approx(before.rate_pct_per_h)
    assert (after.filled_at, after.last_reading_at) == (at(3, "09:10"), None)


def test_a_fryer_out_of_order_stands_cold(told, book, at):
    entries = [*book(*OLD), OutOfOrder(at=at(3, "09:10"), fryer="big")]
    before, later = told(entries, at(3, "09:30")), told(entries, at(5, "09:30"))
    assert later.tpc_mean_pct == pytest.approx(before.tpc_mean_pct)
    assert not later.in_use


def test_a_fryer_put_back_into_use_ages_again(told, book, at):
    entries = [
        *book(*OLD),
        OutOfOrder(at=at(3, "09:10"), fryer="big"),
        OutOfOrder(at=at(4, "09:10"), fryer="big", back=True),
    ]
    stood, worked = told(entries, at(4, "09:30")), told(entries, at(4, "16:00"))
    assert worked.in_use
    assert worked.tpc_mean_pct > stood.tpc_mean_pct + 0.5


def test_a_fryer_taken_out_of_order_after_a_service_has_worked_in_it(told, book, at):
    entries, now = book(*OLD), at(3, "16:00")
    broken = OutOfOrder(at=at(3, "15:00"), fryer="big")
    assert told([*entries, broken], now).tpc_mean_pct == pytest.approx(told(entries, now).tpc_mean_pct)


def test_a_fryer_put_back_after_a_service_stood_cold_in_it(told, book, at):
    entries = [*book(*OLD), OutOfOrder(at=at(3, "09:10"), fryer="big")]
    back = OutOfOrder(at=at(3, "15:00"), fryer="big", back=True)
    before, after = told(entries, at(3, "09:30")), told([*entries, back], at(3, "16:00"))
    assert after.tpc_mean_pct == pytest.approx(before.tpc_mean_pct)


def test_no_hot_hours_age_nothing(told, book, at):
    entries = [*book(*OLD), HotHours(at=at(3, "13:00"), fryer="big", hot_h=0.0)]
    before, after = told(entries, at(3, "09:30")), told(entries, at(3, "16:00"))
    assert after.tpc_mean_pct == pytest.approx(before.tpc_mean_pct)


@pytest.mark.parametrize(("longer", "shorter"), [({"hot_h": 5.0}, {"hot_h": 2.0}), ({"oil_temp_c": 190}, {})])
def test_more_or_hotter_hours_age_more(told, book, at, longer, shorter):
    def after(given):
        hours = HotHours(at=at(3, "13:00"), fryer="big", **{"hot_h": 3.0, **given})
        return told([*book(*OLD), hours], at(3, "16:00")).tpc_mean_pct

    assert after(longer) > after(shorter) + 0.1


def test_a_bath_ages_by_the_part_of_a_service_that_has_passed(told, at):
    fresh = [Change(at=at(0, "08:00"), fryer="big")]
    start, middle, end = (told(fresh, at(0, clock)).tpc_mean_pct for clock in ("11:00", "12:30", "14:00"))
    assert middle - start == pytest.approx(end - middle, rel=0.1)
    assert told(fresh, at(0, "16:30")).tpc_mean_pct == pytest.approx(end)


def test_oil_moved_into_an_empty_bath_mixes_with_nothing(told, book, at):
    entries = [*book(*OLD), Store(at=at(3, "09:10"), fryer="small")]
    move = Move(at=at(3, "09:20"), fryer="big", into="small", mass_kg=3.0)
    after = levels(told, [*entries, move], at(3, "09:30"))
    assert after["small"] == pytest.approx(after["big"])


def test_a_top_up_that_no_gap_explains_was_drained_first_and_freshens_the_bath(told, book, at):
    usual, large = (TopUp(at=at(3, "14:10"), fryer="big", mass_kg=mass_kg) for mass_kg in (1.4, 12.0))
    now = at(3, "16:00")
    assert told([*book(*OLD), large], now).tpc_mean_pct < told([*book(*OLD), usual], now).tpc_mean_pct - 3


def test_a_fryer_that_breaks_down_after_settings_changed_stands_cold_in_the_service_that_runs(kitchen, at):
    """Lunch begins at 11, a product is added at 11:20, and at 11:40 the fryer is found broken."""
    products = (*kitchen.products, Product(key="scampi", name="Scampi"))
    settings = history_of(kitchen).then(replace(kitchen, products=products), at(0, "11:20"))
    entries = [
        Change(at=at(0, "08:00"), fryer="big"),
        OutOfOrder(at=at(0, "11:40"), fryer="big"),
    ]
    plain, changed = (
        assess(place, entries, now=at(0, "16:00"), of=["big"])[0].tpc_mean_pct
        for place in (kitchen, settings)
    )
    assert changed == pytest.approx(plain, abs=1e-9)


def test_a_move_of_all_that_fits_between_like_baths_empties_the_one_it_came_from(told, kitchen, book, at):
    """Two like fryers are the usual case."""
    like = replace(kitchen, fryers=tuple(replace(fryer, oil_mass_kg=12) for fryer in kitchen.fryers))
    entries = [*book(*OLD), Change(at=at(3, "09:10"), fryer="small")]
    move, now = Move(at=at(3, "09:20"), fryer="big", into="small"), at(3, "09:30")
    before = told(entries, now, place=like)
    left, full = (told([*entries, move], now, fryer=fryer, place=like) for fryer in ("big", "small"))
    assert (left.empty, left.in_use, full.empty) == (True, False, False)
    assert full.tpc_mean_pct == pytest.approx(before.tpc_mean_pct)
