"""What must hold of every answer, whatever a kitchen wrote down and in whatever order."""

import random
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from drawn import FEW, FEWER, KITCHEN, NOW, begun, books, moments
from hypothesis import given, settings
from hypothesis import strategies as st

from kettlewell.core import assess, checkpoint, history
from kettlewell.core.belief.baths import baths_of, prior_of
from kettlewell.core.belief.filter import Work, predict, refill
from kettlewell.core.belief.meters import add_process_noise, adjusted, assimilate_check
from kettlewell.core.belief.priors import initial_belief
from kettlewell.core.belief.readings import assimilate_laboratory, believed, expect, observe, weigh
from kettlewell.core.belief.walk import walk_to
from kettlewell.folder import MARROWBY, read_folder
from kettlewell.telling import reader
from kettlewell.telling.verdicts import services_left


@given(entries=books, seed=st.integers(0, 99))
@FEW
def test_the_order_of_arrival_never_matters(entries, seed):
    shuffled = random.Random(seed).sample(entries, len(entries))  # noqa: S311
    assert assess(KITCHEN, shuffled, now=NOW) == assess(KITCHEN, entries, now=NOW)


@given(entries=books, doubled=st.integers(1, 25))
@FEW
def test_the_same_entry_twice_counts_once(entries, doubled):
    assert assess(KITCHEN, [*entries, *entries[:doubled]], now=NOW) == assess(KITCHEN, entries, now=NOW)


def from_the_first(entries, moment):
    """Return a moment no earlier than the book's first entry."""
    return max(moment, min(entry.at for entry in entries))


@given(entries=begun, first=moments, second=moments, now=moments, only_later=st.booleans())
@FEW
def test_going_on_from_a_checkpoint_is_exactly_a_replay(entries, first, second, now, only_later):
    """Also from a checkpoint made from a checkpoint, and amid a service."""
    first, second, now = sorted(from_the_first(entries, moment) for moment in (first, second, now))
    then = checkpoint(KITCHEN, entries, at=first)
    rest = [entry for entry in entries if entry.at >= then.covers_to] if only_later else entries
    later = checkpoint(KITCHEN, rest, at=second, since=then)
    replayed = assess(KITCHEN, entries, now=now)
    assert assess(KITCHEN, rest, now=now, since=then) == replayed
    rest = [entry for entry in entries if entry.at >= later.covers_to] if only_later else entries
    assert assess(KITCHEN, rest, now=now, since=later) == replayed


@given(entries=books, now=moments)
@FEW
def test_what_comes_after_now_is_not_known(entries, now):
    known = [entry for entry in entries if entry.at <= now]
    assert assess(KITCHEN, entries, now=now) == assess(KITCHEN, known, now=now)


def in_order(*values):
    known = [value for value in values if value is not None]
    return known == sorted(known)


@given(entries=books, now=moments)
@FEW
def test_every_answer_makes_sense_in_itself(entries, now):
    for one in assess(KITCHEN, entries, now=now):
        life, verdict = one.life, one.verdict
        assert np.isfinite(
            [one.tpc_mean_pct, one.tpc_sd_pct, one.rate_pct_per_h, one.turnover_per_service]
        ).all()
        assert one.tpc_sd_pct > 0
        assert 0 <= verdict.passing_probability <= verdict.passing_probability_next <= 1
        assert verdict.holds_until > now
        assert in_order(life.services_low, life.services_median, life.services_high)
        assert in_order(life.hot_h_low, life.hot_h_median, life.hot_h_high)
        assert in_order(life.ends_at_low, life.ends_at_median, life.ends_at_high)
        assert all(coming.ends_at > now for coming in one.forecast)
        assert one.card.lines[0].from_pct is one.card.lines[-1].to_pct is None
        assert [line.to_pct for line in one.card.lines[:-1]] == [line.from_pct for line in one.card.lines[1:]]


@given(entries=books, now=moments, limit_pct=st.integers(10, 30), risk=st.sampled_from([0.01, 0.05, 0.3]))
@FEW
def test_services_left_agree_with_the_verdict_that_will_be_told(entries, now, limit_pct, risk):
    """Whatever was written: by the chances that decide today, it is said to change then and not before."""
    limit = replace(KITCHEN.limits[0], value=limit_pct)
    for one in assess(replace(KITCHEN, limits=(limit,), risk=risk), entries, now=now):
        left, key = one.life.services_left, one.verdict.key
        chances = [coming.passing_probability for coming in one.forecast]
        if key == "change_before":
            assert left == 0
        elif key == "change_after":
            assert left == 1 or len(chances) == 1
        elif key == "fry_on":
            assert left is None or left >= 2
        if not key.startswith("change"):
            assert all(chance <= risk for chance in chances[:left])
            assert left is None or chances[left] > risk
        assert not one.life.never or all(chance <= risk for chance in chances)
        told = services_left(one, reader("UTC", now, locale="en"))
        assert key != "fry_on" or "no more" not in told


@given(entries=books)
@FEWER
def test_history_has_one_finite_value_for_each_past_service(entries):
    for past in history(KITCHEN, entries, now=NOW).values():
        ends = [one.at for one in past]
        assert ends == sorted(set(ends))
        assert np.isfinite([[one.tpc_mean_pct, one.tpc_sd_pct] for one in past]).all()


hours = st.floats(0, 8)
acts = st.one_of(
    st.tuples(st.just("work"), hours, hours),
    st.tuples(st.just("drift"), st.integers(0, 1), st.floats(0, 0.5)),
    st.tuples(st.just("check"), st.integers(0, 1), st.floats(-6, 6)),
    st.tuples(st.just("adjust"), st.integers(0, 1)),
    st.tuples(st.just("refill"), st.integers(0, 1), st.integers(0, 1)),
    st.tuples(
        st.just("read"),
        st.floats(2, 40) | st.just(np.nan),
        st.floats(2, 40) | st.just(np.nan),
        st.integers(0, 1),
    ),
    st.tuples(st.just("laboratory"), st.floats(2, 40), st.floats(0.1, 2)),
)


def acted(belief, act):
    match act:
        case "work", one, two:
            work = np.array([[[one, two]]])
            return predict(
                belief,
                Work(
                    hours=work,
                    before=0.01 * work,
                    turnover=0.02 * work,
                    after=0.03 * work,
                    hours_sd=0.2 * work,
                    turnover_sd=0.005 * work,
                    pour_sd=0.004 * work,
                ),
            )
        case "refill", fryer, oil:
            where = np.arange(2)[None] == fryer
            return refill(belief.with_oil(np.where(where, oil, belief.oil)), where, lot_sd=0.3)
        case "read", one, two, meter:
            meters = np.array([[0, meter]])
            read = observe(belief, np.array([[one, two]]), np.full((1, 2), 0.3), meters)
            expected, together = expect(belief, [read], [np.ones((1, 2), bool)])
            return believed(belief, weigh(belief.known, expected, together), expected)
        case "laboratory", tpc_pct, u_pct:
            return assimilate_laboratory(belief, np.array([[tpc_pct, np.nan]]), np.full((1, 2), u_pct))[0]
    return at_meter_acted(belief, act)


def at_meter_acted(belief, act):
    match act:
        case "drift", meter, var:
            return add_process_noise(belief, belief.layout.electronics(meter), np.array([var]))
        case "check", meter, deviation_pct:
            return assimilate_check(belief, meter, np.array([deviation_pct]), np.array([0.1]))
        case "adjust", meter:
            return adjusted(belief, meter, np.array([True]))
    raise ValueError(act)


def least_eigenvalue(covs):
    return np.linalg.eigvalsh((covs + covs.swapaxes(-1, -2)) / 2).min()


@given(sequence=st.lists(acts, min_size=1, max_size=30))
@settings(max_examples=100)
def test_covariances_stay_positive_semidefinite(sequence):
    belief = initial_belief(prior_of(baths_of(KITCHEN)))
    for act in sequence:
        belief = acted(belief, act)
        assert least_eigenvalue(belief.shared_cov) > -1e-9
        assert least_eigenvalue(belief.own_cov) > -1e-9
        assert np.isfinite(belief.own_mean()).all()


@given(entries=books)
@FEW
def test_a_book_never_leads_to_a_covariance_that_cannot_be(entries):
    belief = walk_to(KITCHEN, entries, now=NOW).up_to_date()
    assert least_eigenvalue(belief.shared_cov) > -1e-9
    assert least_eigenvalue(belief.own_cov) > -1e-9


@pytest.fixture(scope="module")
def marrowby():
    """The demo's kitchen, its entries and the time of the last one."""
    folder = read_folder(MARROWBY)
    entries = list(folder.log.entries)
    return folder.setup.kitchen, entries, max(entry.at for entry in entries)


def test_marrowbys_book_read_backwards_and_twice_says_the_same(marrowby):
    kitchen, entries, now = marrowby
    assert assess(kitchen, [*entries[::-1], *entries], now=now) == assess(kitchen, entries, now=now)


@pytest.mark.parametrize("days_ago", [1, 7, 30])
def test_going_on_from_a_checkpoint_of_marrowby_is_exactly_a_replay(marrowby, days_ago):
    kitchen, entries, now = marrowby
    then = checkpoint(kitchen, entries, at=now - timedelta(days=days_ago))
    later = [entry for entry in entries if entry.at >= then.covers_to]
    assert assess(kitchen, later, now=now, since=then) == assess(kitchen, entries, now=now)
