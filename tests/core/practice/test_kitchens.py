from dataclasses import fields, is_dataclass, replace

import numpy as np

from kettlewell.core.practice.instruments import Instruments
from kettlewell.core.practice.kitchens import Habits, draw_practice
from kettlewell.core.practice.run import fry


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
