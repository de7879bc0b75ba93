"""What goes wrong in practice kitchens goes wrong where it was drawn, and nowhere else."""

from dataclasses import replace

import numpy as np
import pytest

from kettlewell.practice.habits import Habits
from kettlewell.practice.instruments import LABORATORY_DAYS, Instruments
from kettlewell.practice.kitchens import draw_practice
from kettlewell.practice.mishaps import Mishaps

EVERY = np.full((30, 3), fill_value=True)


def kitchens(**mishaps):
    """Return thirty kitchens of three fryers over a hundred days, in which things go wrong."""
    habits = Habits(mishaps=Mishaps(**mishaps))
    return draw_practice(np.random.default_rng(5), kitchens=30, fryers=3, days=100, habits=habits)


def test_where_nothing_goes_wrong_nothing_is_drawn_otherwise(practice):
    slipped = kitchens(load_slip=0.01, stuck_days=12, copied=(0.5, 0.5), reading_slip=0.1)
    for name in ("load", "noise_pct", "again_noise_pct", "skipped", "offset_pct", "hot_h", "wobble"):
        assert np.array_equal(getattr(slipped, name), getattr(practice, name)), name


def test_slips_write_some_loads_a_hundredfold(practice):
    slipped = kitchens(load_slip=0.01)
    factor = slipped.load_noise / practice.load_noise
    assert set(np.unique(np.round(factor, 6))) == {1.0, 100.0}
    assert (factor > 1).mean() == pytest.approx(0.01, abs=0.002)


def test_only_readings_below_ten_lose_their_point():
    practice = kitchens(reading_slip=1.0)
    for tpc, most in ((6.0, 100.0), (18.0, 40.0)):
        shown = Instruments(practice=practice).read(0, np.full((30, 3), tpc), EVERY)
        right = Instruments(practice=kitchens()).read(0, np.full((30, 3), tpc), EVERY)
        below = right < 10
        np.testing.assert_allclose(shown[below], 10 * right[below])
        assert np.array_equal(shown[~below], right[~below], equal_nan=True)
        assert np.nanmax(shown) < most


def test_a_copied_reading_is_what_was_written_last_of_that_fill():
    practice = kitchens(copied=(1.0, 1.0))
    practice = replace(practice, skipped=np.zeros_like(practice.skipped))
    meter = Instruments(practice=practice)
    first = meter.read(0, np.full((30, 3), 8.0), EVERY)
    assert np.array_equal(meter.read(2, np.full((30, 3), 14.0), EVERY), first)
    meter.note_changes(EVERY)
    assert np.median(meter.read(4, np.full((30, 3), 4.0), EVERY)) == pytest.approx(4.0, abs=1.0)


def test_a_stuck_meter_shows_one_figure_in_every_bath_for_as_long_as_it_is_stuck():
    practice = kitchens(stuck_days=12)
    practice = replace(practice, skipped=np.zeros_like(practice.skipped))
    assert (practice.slips.stuck.sum(axis=0) == 12 * practice.rota.per_day).all()
    meter = Instruments(practice=practice)
    shown = np.stack(
        [meter.read(t, np.full((30, 3), 4.0 + 0.2 * t), EVERY) for t in range(practice.services)]
    )
    for k in range(30):
        stuck = practice.slips.stuck[:, k, 0]
        assert np.ptp(shown[stuck, k]) == 0
        assert np.ptp(shown[~stuck, k]) > 10


def test_a_wet_occasion_is_wet_for_all_its_readings(practice):
    wet = kitchens(wet_pair=0.1)
    added = wet.noise_pct - practice.noise_pct
    for again in range(2):
        np.testing.assert_allclose(wet.again_noise_pct[again] - practice.again_noise_pct[again], added)
    assert (added > 1).mean() == pytest.approx(0.1, abs=0.01)


def test_swapped_bottles_bring_the_result_of_another_fryer():
    practice = kitchens(swapped=1.0)
    tpc = np.tile([10.0, 15.0, 20.0], (30, 1))
    sampled = np.tile([False, False, True], (30, 1))
    laboratory = Instruments(practice=practice)
    laboratory.send(0, tpc, sampled)
    found = laboratory.results(LABORATORY_DAYS)
    assert found == pytest.approx(15.0 * (1 + practice.findings.laboratory[0]))


def test_a_laboratory_is_off_by_the_same_share_in_all_its_results():
    practice = kitchens(laboratory_cv=0.05)
    tpc, sampled = np.full((30, 3), 20.0), np.tile([True, False, False], (30, 1))
    laboratory, off = Instruments(practice=practice), []
    for day in (0, 20, 40):
        laboratory.send(practice.rota.per_day * day, tpc, sampled)
        found = laboratory.results(day + LABORATORY_DAYS)
        off.append(found / 20.0 - 1 - practice.findings.laboratory[day])
    np.testing.assert_allclose(off[1:], [off[0], off[0]])
    assert off[0].std() == pytest.approx(0.05, rel=0.4)
