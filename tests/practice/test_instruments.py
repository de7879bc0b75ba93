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
