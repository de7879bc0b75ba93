from dataclasses import fields, is_dataclass, replace

import numpy as np
import pytest

from kettlewell.practice.bath import fry
from kettlewell.practice.habits import DRIFTING, Habits
from kettlewell.practice.instruments import Instruments
from kettlewell.practice.kitchens import draw_practice


def test_the_same_seed_draws_the_same_kitchens(practice):
    again = draw_practice(np.random.default_rng(5), kitchens=30, fryers=3, days=100)
    assert everything(again) == everything(practice)


def everything(drawn):
    """Return all that was drawn, as lists."""
    values = {f.name: getattr(drawn, f.name) for f in fields(drawn)}
    return {
        name: value.tolist()
        if isinstance(value, np.ndarray)
        else everything(value)
        if is_dataclass(value)
        else value
        for name, value in values.items()
    }


def test_kitchens_of_one_oil_are_those_drawn_before_there_were_several(practice):
    """Figures measured on a seed stay comparable: these are what this seed drew at first."""
    assert practice.gain[-1] == pytest.approx(0.9605308508187932)
    assert practice.fresh_pct[-1, -1, 0] == pytest.approx(4.147310379299156)
    assert practice.offset_pct[-1, -1, 0] == pytest.approx(-1.031912144718129)
    assert practice.noise_pct[-1, -1].sum() == pytest.approx(-1.3099017974700078)
    assert practice.load_noise[-1, -1].sum() == pytest.approx(2.7387401167311616)
    assert not practice.oil_offset_pct.any()


def test_each_oil_has_its_own_gain_offset_and_fresh_value():
    drawn = draw_practice(np.random.default_rng(5), kitchens=40, fryers=4, days=20, habits=DRIFTING)
    assert drawn.oil.tolist() == [0, 1, 0, 1]
    for values in (drawn.gain, drawn.oil_offset_pct, drawn.fresh_pct[0]):
        assert np.array_equal(values[:, 0], values[:, 2])
        assert (values[:, 0] != values[:, 1]).all()
    assert np.corrcoef(drawn.gain[:, 0], drawn.gain[:, 1])[0, 1] > 0.5


def test_the_electronics_take_all_of_the_walk_and_half_of_the_spread():
    drawn = draw_practice(np.random.default_rng(5), kitchens=4000, fryers=1, days=20)
    electronics, offset = drawn.findings.electronics_pct, drawn.offset_pct[::2, :, 0]
    rest = offset - electronics
    assert rest == pytest.approx(np.broadcast_to(rest[0], rest.shape))
    assert electronics[0].var() == pytest.approx(rest[0].var(), rel=0.1)
    assert np.corrcoef(electronics[0], rest[0])[0, 1] == pytest.approx(0, abs=0.06)


def test_hidden_values_keep_to_the_ranges_of_the_habits(practice):
    habits = Habits()
    assert habits.gain[0] <= practice.gain.min() <= practice.gain.max() <= habits.gain[1]
    assert habits.fresh_pct[0] <= practice.fresh_pct.min() <= practice.fresh_pct.max() <= habits.fresh_pct[1]
    assert np.abs(practice.offset_pct[0]).max() < habits.offset_pct[1] + 5 * habits.offset_walk_sd_pct


def test_cooks_forget_more_loads_on_busy_days(practice):
    busy = practice.load > np.quantile(practice.load, 0.8)
    quiet = practice.load < np.quantile(practice.load, 0.2)
    assert practice.load_forgotten[busy].mean() > 1.2 * practice.load_forgotten[quiet].mean()


def test_a_longer_heating_up_ages_the_oil_more(practice):
    tpc = np.full((30, 3), 10.0)
    longer = replace(practice, heat_up_h=practice.heat_up_h + 0.5)
    assert (fry(longer, 0, tpc) > fry(practice, 0, tpc)).all()


def test_the_meter_shows_halves_and_nothing_where_nobody_reads(practice):
    tpc = np.full((30, 3), 15.0)
    wanted = np.arange(90).reshape(30, 3) % 2 == 0
    shown = Instruments(practice=practice).read(0, tpc, wanted)
    assert np.isnan(shown[~wanted]).all()
    assert np.isnan(shown[practice.skipped[0]]).all()
    taken = shown[wanted & ~practice.skipped[0]]
    assert np.array_equal(taken * 2, np.round(taken * 2))
