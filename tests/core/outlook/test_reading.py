import numpy as np
import pytest

from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.outlook.reading import reading_due

PASSING = np.array([0.0, 0.01, 0.02, 0.03, 0.08, 0.2])
READ = np.zeros((), bool)


@pytest.mark.parametrize(("risk", "due"), [(0.05, 2), (0.1, 3), (0.2, 4), (0.9, 6), (0.01, 0)])
def test_a_reading_is_due_before_the_service_ahead_of_half_the_risk(risk, due):
    assert reading_due(PASSING, PACKAGED, risk=risk, unread=READ) == due


def test_a_fill_that_was_not_read_is_read_at_once():
    assert reading_due(np.zeros(6), PACKAGED, risk=0.05, unread=~READ) == 0


def test_more_risk_never_reads_earlier():
    rng = np.random.default_rng(1)
    passing = np.maximum.accumulate(rng.uniform(0, 0.5, (14, 50)), axis=0)
    unread = np.zeros(50, bool)
    dues = [reading_due(passing, PACKAGED, risk=risk, unread=unread) for risk in (0.01, 0.05, 0.1, 0.3)]
    assert (np.diff(dues, axis=0) >= 0).all()


def test_worse_oil_is_never_read_later():
    unread = np.zeros(6, bool)
    passing = np.stack([PASSING * factor for factor in (0.5, 1, 2, 4, 8, 16)], axis=-1)
    assert (np.diff(reading_due(passing, PACKAGED, risk=0.05, unread=unread)) <= 0).all()
