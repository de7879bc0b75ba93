from dataclasses import replace

import numpy as np
import pytest

from kettlewell.practice.instruments import LABORATORY_DAYS, Instruments


@pytest.fixture
def instruments(practice):
    """Return the meters and the laboratory of thirty kitchens."""
    return Instruments(practice=practice)


def test_a_check_finds_the_electronics_and_the_error_of_the_reference_oil(practice, instruments):
    """Three readings to half a point scatter by no more than half a point in the mean."""
    expected = practice.findings.electronics_pct[40] + practice.findings.reference_pct[40]
    assert np.abs(instruments.check(40) - expected).std() < 0.5
    assert np.corrcoef(instruments.check(40), expected)[0, 1] > 0.6


def test_an_adjusted_meter_shows_the_value_on_the_bottle_and_goes_on_wandering(practice):
    """All meters read 3 points too much and walk up by half a point in ten days."""
    electronics = np.broadcast_to(3.0 + 0.05 * np.arange(100)[:, None], (100, 30))
    off = Instruments(
        practice=replace(practice, findings=replace(practice.findings, electronics_pct=electronics))
    )
    found, left = off.check(10), off.adjust(10, np.full(30, fill_value=True))
    assert found.mean() == pytest.approx(3.5, abs=0.2)
    assert np.abs(left).mean() < 0.7
    assert (off.check(90) - left).mean() == pytest.approx(4.0, abs=0.2)


def test_an_adjustment_moves_every_reading_of_that_meter_alone(practice, instruments):
    tpc, wanted = np.full((30, 3), 15.0), np.full((30, 3), fill_value=True)
    before = instruments.read(80, tpc, wanted)
    instruments.adjust(40, np.arange(30) < 10)
    moved = instruments.read(80, tpc, wanted) - before
    assert np.nanmax(np.abs(moved[10:])) == 0
    assert np.nanmax(np.abs(moved[:10] + instruments.adjusted_pct[:10])) <= 0.5


def test_the_laboratory_answers_in_a_week_and_knows_nothing_of_the_meter(practice):
    skewed = replace(practice, gain=2 * practice.gain)
    sampled = np.zeros((30, 3), bool)
    sampled[:4, 1] = True
    for one in (practice, skewed):
        instruments = Instruments(practice=one)
        instruments.send(practice.rota.per_day * 3 + 1, np.full((30, 3), 20.0), sampled)
        assert np.isnan(instruments.results(2 + LABORATORY_DAYS)).all()
        found = instruments.results(3 + LABORATORY_DAYS)
        assert np.isnan(found[4:]).all()
        assert found[:4] == pytest.approx(20.0 * (1 + practice.findings.laboratory[3, :4]))


def test_what_the_laboratory_valued_last_is_read_hot_as_the_meter_takes_that_oil(practice):
    """Whatever became of the bath; nobody has a control oil before its value came."""
    steep = replace(practice, oil_offset_pct=practice.oil_offset_pct + np.array([0.0, 1.0, 0.0]))
    instruments, sampled = Instruments(practice=steep), np.zeros((30, 3), bool)
    sampled[:20, 1] = True
    instruments.send(practice.rota.per_day * 3, np.full((30, 3), [15.0, 20.0, 15.0]), sampled)
    assert np.isnan(instruments.read_control(5)).all()
    instruments.results(3 + LABORATORY_DAYS)
    shown = np.array([instruments.read_control(day) for day in range(10, 60)])
    assert np.isnan(shown[:, 20:]).all()
    at = slice(10 * practice.rota.per_day, 60 * practice.rota.per_day, practice.rota.per_day)
    truly = practice.offset_pct[at, :20, 0] + steep.oil_offset_pct[:20, 1] + 20.0 * practice.gain[:20, 1]
    assert (shown[:, :20] - truly).mean(axis=0) == pytest.approx(np.zeros(20), abs=0.25)


def test_an_adjustment_moves_what_is_read_of_control_oil_as_any_reading(practice, instruments):
    instruments.send(0, np.full((30, 3), 20.0), np.tile([True, False, False], (30, 1)))
    instruments.results(LABORATORY_DAYS)
    before = instruments.read_control(40)
    instruments.adjust(40, np.ones(30, bool))
    moved = instruments.read_control(40) - before
    assert np.abs(moved + instruments.adjusted_pct[:, 0]).max() <= 0.5
    assert np.abs(instruments.adjusted_pct).max() > 1
