"""What was fried when nobody wrote it down, and what top-ups and loads say of each other."""

from dataclasses import fields, replace

import numpy as np
import pytest

from kettlewell.book import Change, Load, TopUp
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.loads import (
    AFTER_FRYING,
    BEFORE_FRYING,
    WHILE_FRYING,
    LoadEstimate,
    Pattern,
    ServiceRecord,
    count,
    expect,
    infer,
    initial_pattern,
)

DRAW = 0.07  # the share of the bath a usual load takes up
ESTIMATED = [field.name for field in fields(LoadEstimate)]


LEARNT = [field.name for field in fields(Pattern) if field.name != "known"]


def pattern(slots=2, *, stated=True):
    share = np.full((1, 1), DRAW)
    return initial_pattern(PACKAGED, share, np.full((1, 1), 0.3), stated=np.full((1, 1), stated), slots=slots)


def served(services):
    """Return slots and what the book says of (slot, load, top-up) of each service; None is nothing."""
    told = np.array(services, dtype=float)[:, :, None, None]
    worked = np.ones((len(services), 1, 1), bool)
    poured = np.zeros((*worked.shape, 4))
    poured[..., WHILE_FRYING] = np.nan_to_num(told[:, 2])
    said = ServiceRecord(
        load=told[:, 1],
        taken=told[:, 1],
        topped=~np.isnan(told[:, 2]),
        poured=poured,
        worked=worked,
        lasted=np.ones(worked.shape),
    )
    return told[:, 0, 0, 0].astype(int), said


def after(services, learnt=None):
    """Return the pattern and the last service's load after (slot, load, top-up) of each service."""
    learnt, fried = infer(learnt or pattern(), *served(services))
    return learnt, LoadEstimate(**{name: getattr(fried, name)[-1] for name in ESTIMATED})


def test_services_at_once_teach_what_they_teach_one_by_one():
    rng = np.random.default_rng(4)
    services = [
        (n % 2, load if rng.random() < 0.5 else None, top_up if rng.random() < 0.5 else None)
        for n, (load, top_up) in enumerate(
            zip(rng.uniform(0.2, 2, 60), rng.uniform(0.02, 0.3, 60), strict=True)
        )
    ]
    at_once, last = after(services)
    one_by_one = pattern()
    for service in services:
        one_by_one, single = after([service], one_by_one)
    for name in LEARNT:
        np.testing.assert_array_equal(getattr(at_once, name), getattr(one_by_one, name))
    for name in ESTIMATED:
        np.testing.assert_array_equal(getattr(last, name), getattr(single, name))


def test_an_unlogged_load_is_about_the_usual_one_and_uncertain():
    _, unlogged = after([(0, None, None)])
    _, logged = after([(0, 1.0, None)])
    assert unlogged.relative.item() == pytest.approx(1.0, abs=0.15)
    assert unlogged.relative_sd.item() > 2 * logged.relative_sd.item() > 0


def test_a_logged_load_of_nothing_is_nothing():
    _, fried = after([(0, 0.0, None)])
    assert fried.relative.item() == fried.poured.sum() == 0


def test_an_unlogged_service_ages_the_oil_and_a_logged_one_without_food_ages_it_less(told, at):
    fresh, now = Change(at=at(0, "08:00"), fryer="big"), at(0, "16:00")
    unlogged, idle = (
        told([fresh, *more], now).tpc_mean_pct
        for more in ([], [Load(at=at(0, "13:50"), fryer="big", product="fries", mass_kg=0.0)])
    )
    assert unlogged > idle > 4.0


def test_a_large_logged_top_up_raises_an_unlogged_load_and_makes_it_surer():
    _, without = after([(0, None, None)])
    _, topped = after([(0, None, 2 * DRAW)])
    assert topped.relative.item() > without.relative.item() + 0.2
    assert topped.relative_sd.item() < without.relative_sd.item()


def test_a_small_logged_top_up_lowers_an_unlogged_load():
    _, without = after([(0, None, None)])
    _, topped = after([(0, None, DRAW / 3)])
    assert topped.relative.item() < without.relative.item() - 0.2


def replaced(fried):
    """Return the share of old oil that fresh oil replaced in a service, as -ln of what stays."""
    return fried.poured.sum()


def test_a_logged_load_without_top_up_says_how_much_oil_was_replaced_as_far_as_it_usually_is():
    turnovers = [replaced(after([(0, load, None)])[1]) for load in (0.5, 1.0, 2.0)]
    usually = PACKAGED.replaced.value
    assert turnovers == pytest.approx([usually * DRAW / 2, usually * DRAW, usually * 2 * DRAW])


def test_a_fryer_whose_loads_are_logged_and_never_a_top_up_sinks():
    """Nor is it expected to be topped up from now on."""
    learnt, fried = after([(0, 1.0, None)] * 40)
    assert replaced(fried) < 0.1 * DRAW
    assert replaced(expect(learnt, np.array([0]))) < 0.1 * DRAW


def test_one_of_which_nothing_is_logged_is_taken_to_be_topped_up_as_usual():
    learnt, fried = after([(0, None, None)] * 40)
    assert replaced(fried) > 0.8 * DRAW
    assert replaced(expect(learnt, np.array([0]))) > 0.8 * DRAW


def test_top_ups_that_make_up_for_all_services_since_leave_none_unwritten():
    """Every third service by three times as much: the two before had none."""
    learnt, fried = after([(0, 1.0, None), (0, 1.0, None), (0, 1.0, 3 * DRAW)] * 12 + [(0, 1.0, None)])
    assert replaced(fried) < 0.15 * DRAW
    assert replaced(expect(learnt, np.array([0]))) == pytest.approx(DRAW, rel=0.05)


def test_top_ups_too_small_to_make_up_for_the_services_since_tell_of_some_that_were_not_written_down():
    learnt, fried = after([(0, 1.0, None), (0, 1.0, None), (0, 1.0, DRAW)] * 12 + [(0, 1.0, None)])
    assert 0.4 * DRAW < replaced(fried) < 0.8 * DRAW
    assert 0.6 * DRAW < replaced(expect(learnt, np.array([0]))) < 0.9 * DRAW


@pytest.mark.parametrize("moment", [BEFORE_FRYING, WHILE_FRYING, AFTER_FRYING])
def test_when_a_fryer_is_topped_up_is_learnt_from_its_book(moment):
    """For coming services, and for those whose top-up was not written down."""
    slots, said = served([(0, 1.0, DRAW)] * 12)
    said = replace(said, poured=np.roll(said.poured, moment - WHILE_FRYING, axis=-1))
    learnt, _ = infer(pattern(), slots, said)
    coming = expect(learnt, np.array([0])).poured[0, 0, 0]
    assert coming[moment] > 0.8 * coming.sum()


def test_a_logged_top_up_is_what_was_replaced_whatever_the_load():
    assert 1 - np.exp(-replaced(after([(0, 1.0, 1.5 * DRAW)])[1])) == pytest.approx(1.5 * DRAW)


@pytest.mark.parametrize("share", [0.05, 0.2, 0.3, 0.5, 0.9])
def test_oil_drained_and_filled_up_is_mixed_by_mass_at_any_share(share):
    assert 1 - np.exp(-replaced(after([(0, 1.0, share)])[1])) == pytest.approx(share)


def test_top_ups_beside_loads_teach_what_a_load_takes_up():
    learnt, _ = after([(0, 1.0, 2 * DRAW)] * 30)
    assert learnt.draw().item() == pytest.approx(2 * DRAW, rel=0.15)


def test_a_top_up_after_several_services_is_shared_among_them():
    """Five usual loads and one top-up for all: the load is the usual one and not five times that."""
    learnt, fried = after([(0, 1.0, None)] * 4 + [(0, None, 5 * DRAW)])
    assert fried.relative.item() == pytest.approx(1.0, abs=0.2)
    assert learnt.draw().item() == pytest.approx(DRAW, rel=0.2)


def test_the_pattern_learns_the_days_of_the_week():
    quiet_and_busy = [(0, 0.5, None), (1, 2.0, None)] * 10
    learnt, _ = after(quiet_and_busy)
    quiet, busy = expect(learnt, np.array([0, 1])).relative.ravel()
    assert busy / quiet > 2.5
    assert learnt.usual().item() == pytest.approx(1.25, abs=0.15)


def test_cooks_forget_more_on_busy_days_so_an_unlogged_load_counts_for_more():
    learnt, _ = after([(0, 1.0, None)] * 20)
    _, unlogged = after([(0, None, None)], learnt)
    assert unlogged.relative.item() == pytest.approx(1.1, abs=0.03)
    assert expect(learnt, np.array([0])).relative.item() == pytest.approx(1.0, abs=0.03)


def test_how_much_busier_unlogged_services_are_is_learnt_from_their_top_ups():
    usual, busier = (after([(0, 1.0, DRAW), (0, None, drawn)] * 20)[0] for drawn in (DRAW, 2 * DRAW))
    assert (busier.busy_sum / busier.busy_count).item() > 1.15
    assert (usual.busy_sum / usual.busy_count).item() < 1.1


def test_a_fryer_that_did_not_work_teaches_nothing_of_loads():
    slots, said = served([(0, 1.0, 0.1)])
    learnt, _ = infer(pattern(), slots, replace(said, worked=~said.worked))
    for name in LEARNT:
        np.testing.assert_array_equal(getattr(learnt, name), getattr(pattern(), name))


def test_irregular_loads_make_an_unlogged_one_less_certain():
    steady, _ = after([(0, 1.0, None)] * 20)
    wild, _ = after([(0, 0.4, None), (0, 1.6, None)] * 10)
    wild_var, steady_var = ((one.spread_sum / one.spread_count).item() for one in (wild, steady))
    assert wild_var > 4 * steady_var


def test_a_stated_usual_load_weighs_more_than_a_guessed_one():
    stated, guessed = (
        after([(0, 3.0, None)] * 3, pattern(stated=stated))[0].usual().item() for stated in (True, False)
    )
    assert 1 < stated < guessed < 3


def test_a_load_of_unknown_mass_leaves_the_services_load_unknown_in_either_order(told, at):
    def aged(*masses_kg):
        loads = [
            Load(at=at(0, f"13:{30 + n}"), fryer="big", product="fries", mass_kg=mass)
            for n, mass in enumerate(masses_kg)
        ]
        return told([Change(at=at(0, "08:00"), fryer="big"), *loads], at(0, "16:00")).tpc_mean_pct

    assert aged(5.0, None) == aged(None)
    assert aged(None, 5.0) == aged(None)


def test_a_top_up_to_the_mark_of_unknown_mass_says_nothing_of_the_load():
    _, unlogged = after([(0, None, None)])
    slots, said = served([(0, None, 1.0)])
    _, marked = infer(pattern(), slots, replace(said, poured=said.poured * np.nan))
    assert marked.relative.item() == unlogged.relative.item()
    assert replaced(marked) >= replaced(unlogged)


def test_a_top_up_to_the_mark_makes_up_for_all_that_was_taken_since_the_last():
    learnt, _ = after([(0, 1.0, None), (0, 1.0, None), (0, 1.0, 3 * DRAW)] * 12 + [(0, 1.0, None)] * 2)
    slots, said = served([(0, 1.0, 1.0)])
    _, marked = infer(learnt, slots, replace(said, poured=said.poured * np.nan))
    assert replaced(marked) == pytest.approx(3 * DRAW, rel=0.1)


def test_food_that_takes_up_no_oil_replaces_none(told, kitchen, book, at):
    foods = tuple(replace(food, uptake_kg_per_kg=0.0) for food in kitchen.products)
    entries = [entry for entry in book(4, 6, 8) if not isinstance(entry, TopUp)]
    one = told(entries, at(2, "09:30"), place=replace(kitchen, products=foods))
    assert one.turnover_per_service == pytest.approx(0, abs=1e-6)
    assert one.tpc_mean_pct == pytest.approx(8, abs=0.7)


def test_food_that_wears_more_ages_more(told, at):
    def aged(product):
        load = Load(at=at(0, "13:50"), fryer="big", product=product, mass_kg=20.0)
        return told([Change(at=at(0, "08:00"), fryer="big"), load], at(0, "16:00")).tpc_mean_pct

    assert aged("fish") > aged("fries") + 0.2


@pytest.mark.parametrize("every", [1, 2, 3])
def test_oil_topped_up_every_so_many_services_is_drawn_evenly_by_all_of_them(every):
    """A bath that misses what two services took is topped up by twice as much: each drew its share."""
    services = [(0, 1.0, every * DRAW if (n + 1) % every == 0 else None) for n in range(12 * every)]
    learnt, last = after(services)
    assert learnt.draw().item() == pytest.approx(DRAW, rel=0.02)
    assert replaced(expect(learnt, np.array([0]))) == pytest.approx(DRAW, rel=0.02)
    assert 1 - np.exp(-replaced(last)) == pytest.approx(every * DRAW, rel=0.02)


def test_a_kitchen_that_tops_up_every_second_service_keeps_its_oil_no_longer(told, at, read):
    """As much oil is drawn, and as much added, as by topping up after each."""

    def life(every):
        entries = [Change(at=at(0, "08:00"), fryer="big")]
        clocks = [(day, clock) for day in range(8) for clock in ("13:50", "19:50")]
        for n, (day, clock) in enumerate(clocks):
            entries.append(Load(at=at(day, clock), fryer="big", product="fries", mass_kg=20.0))
            if (n + 1) % every == 0:
                entries.append(TopUp(at=at(day, clock), fryer="big", mass_kg=every * 1.4))
        entries += [read(day, "09:00", 4 + 1.5 * day) for day in range(8)]
        return told(entries, at(7, "21:00"))

    each, every_second = life(1), life(2)
    assert every_second.turnover_per_service == pytest.approx(each.turnover_per_service, rel=0.05)
    assert every_second.life.services_median == pytest.approx(each.life.services_median, rel=0.25)


@pytest.mark.parametrize(("moments", "counted"), [(0, 1), (1, 1), (2, 2), (4, 4)])
def test_oil_to_the_mark_is_shared_among_the_moments_it_was_poured_at(moments, counted):
    assert count(np.arange(4) < moments) == counted
