from dataclasses import dataclass, replace

import numpy as np
import pytest

from kettlewell.core.belief.layout import pick
from kettlewell.practice.habits import DRIFTING, Habits
from kettlewell.practice.instruments import Instruments
from kettlewell.practice.kitchens import draw_practice
from kettlewell.practice.rules import Clairvoyant, Ours
from kettlewell.practice.run import run
from kettlewell.practice.samples import Samples
from kettlewell.practice.score import measures, tally
from kettlewell.practice.watch import Upkeep, Watch

CHECKED = Upkeep(check_days=28)
SAMPLED = Upkeep(check_days=28, laboratory_days=91)
CONTROLLED = replace(SAMPLED, control=True)


@pytest.fixture(scope="module")
def drifting():
    """Return thirty kitchens of two fryers with an oil each, over 120 days."""
    return draw_practice(np.random.default_rng(8), kitchens=30, fryers=2, days=120, habits=DRIFTING)


@dataclass(slots=True, kw_only=True)
class Noted(Ours):
    """Ours, noting the instruments it is handed."""

    tools: Instruments | None = None

    def tend(self, t, tools, /):
        """Do what ours does."""
        self.tools = tools
        Ours.tend(self, t, tools)


def gain_sds(watch):
    """Return how well the gains in the first kitchen's oils are known."""
    gains = watch.belief.layout.gains
    return np.sqrt(np.diagonal(watch.belief.shared_cov[0, gains, gains]))


def full_of(level_pct, practice, care=SAMPLED):
    """Return what is believed of baths whose meter shows this level, well known."""
    watch = Watch(practice=practice, care=care)
    belief = watch.belief
    offsets = pick(belief.layout.offsets(0).start, belief.oil, belief.layout)
    base, sensitivity, own_cov = belief.base.copy(), belief.sensitivity.copy(), belief.own_cov.copy()
    base[..., 0], sensitivity[..., 0, :], own_cov[..., 0, 0] = level_pct, -offsets, 0.05
    believed = replace(belief, base=base, sensitivity=sensitivity, own_cov=own_cov)
    watch.state = replace(watch.state, belief=believed)
    watch.samples = Sampling(sampled=np.tile([True, False], (len(base), 1)))
    return watch


@dataclass(slots=True, kw_only=True)
class Sampling:
    """Takes samples of the baths it was told to."""

    sampled: np.ndarray

    def choose(self, *_):
        """Return them."""
        return self.sampled


def test_a_laboratory_result_narrows_the_gain_in_its_oil_and_somewhat_in_the_other(drifting):
    watch = full_of(21.0, drifting)
    before = gain_sds(watch)
    sampled = np.zeros((30, 2), bool)
    sampled[0, 1] = True
    watch.samples = Sampling(sampled=sampled)
    watch.take_sample(10, sampled)
    watch.take_results(14, np.where(np.arange(30) == 0, 22.0, np.nan))
    other, own = gain_sds(watch)
    assert own < other < before[0]
    assert own < 0.75 * before[1]


def test_a_result_speaks_of_the_oil_as_it_was_sampled(drifting):
    """What became of the bath in the week until the answer came does not matter."""
    kept, changed = full_of(21.0, drifting), full_of(21.0, drifting)
    every = np.ones((30, 2), bool)
    for watch in (kept, changed):
        watch.take_sample(10, every)
    changed.change(every, drifting.rota.ends(10))
    assert not np.array_equal(kept.belief.base[:, 0], changed.belief.base[:, 0])
    for watch in (kept, changed):
        watch.take_results(14, np.full(30, 22.0))
    assert np.array_equal(kept.belief.shared, changed.belief.shared)


def test_samples_are_of_high_oil_one_a_quarter_and_the_oils_take_turns(drifting):
    samples = Samples(practice=drifting, every_days=91)
    low, high = full_of(15.0, drifting).belief, full_of(22.0, drifting).belief
    every, none = np.ones((30, 2), bool), np.zeros((30, 2), bool)
    assert not samples.choose(0, low, every).any()
    first = samples.choose(10, high, every)
    assert (first.sum(axis=1) == 1).all()
    assert not samples.choose(12, high, every).any()
    assert not samples.choose(2 * 91, high, none).any()
    assert np.array_equal(samples.choose(2 * 91, high, every), ~first)


def test_the_first_sample_by_worth_waits_for_no_discard_but_for_high_oil_in_an_open_kitchen(drifting):
    """Those after it do wait."""
    low, high = full_of(15.0, drifting).belief, full_of(22.0, drifting).belief
    none, closed = np.zeros((30, 2), bool), drifting.closed.copy()
    closed[10, 0] = True
    practice = replace(drifting, closed=closed)
    samples = Samples(practice=practice, every_days=91, first_by_worth=True)
    assert not samples.choose(4, low, none).any()
    assert np.array_equal(samples.choose(10, high, none).sum(axis=1), np.arange(30) > 0)
    assert np.array_equal(samples.choose(11, high, none).sum(axis=1), np.arange(30) == 0)
    assert not samples.choose(2 * 91, high, none).any()


def test_the_oil_of_a_sample_is_read_as_control_oil_from_its_value_on(drifting):
    """When that comes, and at each check; of the other oil of the kitchen it says somewhat less."""
    rule = Noted(practice=drifting, risk=0.2, care=CONTROLLED)
    run(drifting, rule)
    watch, read = rule.watch, [day for day, *_ in rule.watch.log.controls]
    layout = watch.belief.layout
    assert layout.controlled
    assert watch.belief.oil.shape == drifting.draw.shape
    assert {day for day in range(28, 120, 28) if day > read[0]} < set(read)
    assert any(day % 28 for day in read)
    last, shown_pct = next((oils, shown) for day, oils, shown in watch.log.controls if day == 4 * 28)
    known = ~np.isnan(shown_pct)
    assert known.sum() > 25
    sds = np.sqrt(np.diagonal(watch.belief.shared_cov[:, layout.gains, layout.gains], axis1=1, axis2=2))
    one = known & (watch.bottles.in_use.number == 1)
    own, other = (sds[one, oil] for oil in (last.oil[one], 1 - last.oil[one]))
    assert (own < other).all()
    assert (other < gain_sds(Watch(practice=drifting, care=CONTROLLED))[0]).all()


def test_a_meter_that_reads_control_oil_more_than_four_points_off_is_found_off_and_stays_unadjusted(drifting):
    """By how it takes hot oil: in reference oil it is right."""
    findings = replace(drifting.findings, electronics_pct=np.zeros((120, 30)))
    for gain, found in ((1.0, False), (0.6, True)):
        practice = replace(drifting, findings=findings, gain=np.full((30, 2), gain))
        watch, tools = Watch(practice=practice, care=CONTROLLED), Instruments(practice=practice)
        sampled = np.tile([True, False], (30, 1))
        watch.bottles.fill(0, sampled)
        tools.send(0, np.full((30, 2), 20.0), sampled)
        watch.tend(7 * practice.rota.per_day, tools)
        assert ((watch.off_s[..., 0].min(axis=1) < np.inf) == found).all()
        assert (tools.adjusted_pct == 0).all()


def test_a_bath_hardly_read_is_not_sampled(drifting):
    sure = full_of(22.0, drifting).belief
    unsure = replace(sure, own_cov=sure.own_cov + 1.0)
    samples = Samples(practice=drifting, every_days=91)
    assert not samples.choose(0, unsure, np.ones((30, 2), bool)).any()


def test_it_may_be_where_it_is_bottled_and_read_again(drifting):
    sure = full_of(22.0, drifting).belief
    unsure, lost = (replace(sure, own_cov=sure.own_cov + more) for more in (0.9, 1.1))
    samples = Samples(practice=drifting, every_days=91, bottled=True)
    assert not samples.choose(0, lost, np.ones((30, 2), bool)).any()
    assert samples.choose(0, unsure, np.ones((30, 2), bool)).any(axis=1).all()


def test_no_more_samples_are_taken_in_a_year_than_it_may_have(drifting):
    high, every = full_of(22.0, drifting).belief, np.ones((30, 2), bool)
    year = replace(drifting, closed=np.zeros((800, 30, 1), bool))
    samples = Samples(practice=year, every_days=12, most=3)
    taken = [int(samples.choose(t, high, every)[0].sum()) for t in range(0, 740, 2)]
    assert sum(taken[:365]) == 3
    assert [day for day, n in enumerate(taken) if n] == [0, 12, 24, 365]


def test_a_meter_clearly_off_is_adjusted_and_is_believed_right_again(drifting):
    """All meters read 3 points too much: one check finds it, adjusts them, and knows them better."""
    off = replace(drifting, findings=replace(drifting.findings, electronics_pct=np.full((120, 30), 3.0)))
    watch, tools = Watch(practice=off, care=CHECKED), Instruments(practice=off)
    before = watch.belief
    watch.tend(0, tools)
    assert tools.adjusted_pct == pytest.approx(np.full((30, 1), 3.0), abs=1.6)
    found = before.layout.found(0)
    assert np.abs(watch.belief.shared[:, found]).max() < 1.5
    assert (watch.belief.shared_cov[:, found, found] < before.shared_cov[:, found, found]).all()


def test_a_meter_within_a_point_is_left_alone(drifting):
    right = replace(drifting, findings=replace(drifting.findings, electronics_pct=np.zeros((120, 30))))
    watch, tools = Watch(practice=right, care=CHECKED), Instruments(practice=right)
    watch.tend(0, tools)
    assert (tools.adjusted_pct == 0).sum() >= 28


def test_checks_tell_where_a_fast_drifting_meter_stands():
    """After 98 days the electronics are known better than readings of oil alone tell."""
    habits = Habits(walk_factor=(5.0, 5.0))
    fast = draw_practice(np.random.default_rng(6), kitchens=60, fryers=2, days=99, habits=habits)
    errors = {}
    for care in (Upkeep(), CHECKED):
        rule = Noted(practice=fast, risk=0.1, care=care)
        run(fast, rule)
        believed = rule.watch.belief
        offset = believed.shared[:, believed.layout.offsets(0)][:, 0]
        truly = fast.offset_pct[-1, :, 0] - rule.tools.adjusted_pct[:, 0]
        errors[care] = np.sqrt(np.mean((offset - truly) ** 2))
    assert errors[CHECKED] < 0.9 * errors[Upkeep()]


def test_a_sample_a_quarter_saves_oil_at_the_same_risk(drifting):
    """At an accepted risk of 10 % less than a tenth of that of all hours are past the limit."""
    best = run(drifting, Clairvoyant(practice=drifting))
    plain, sampled = (
        measures(tally(drifting, run(drifting, Ours(practice=drifting, risk=0.1, care=care)), best))
        for care in (CHECKED, SAMPLED)
    )
    assert sampled.discard_ratio < plain.discard_ratio - 0.02
    assert sampled.past_share < 0.1 * 0.1
