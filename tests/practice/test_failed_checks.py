"""Looking back in practice kitchens whose truth is known; bench/look_back.py does it at length."""

import numpy as np
import pytest

from kettlewell.core.metering.paths import PathKind
from kettlewell.core.outlook.lookback import IN_DOUBT
from kettlewell.practice.failed_checks import DAYS, WentOff, draw_deviation, look_back_in_practice


@pytest.mark.parametrize("how", WentOff)
def test_a_practice_meter_ends_well_off_from_where_it_began(how):
    found = [draw_deviation(np.random.default_rng(seed), how) for seed in range(40)]
    assert {len(one) for one in found} == {DAYS + 1}
    assert min(abs(one[-1] - one[0]) for one in found) >= 1.5


def test_a_meter_that_steps_does_it_at_once_and_one_that_drifts_a_little_every_day():
    rng = np.random.default_rng(2)
    step, drift = (np.abs(np.diff(draw_deviation(rng, how))) for how in (WentOff.STEP, WentOff.DRIFT))
    assert (step > 0).sum() == 1
    assert np.ptp(drift) < 1e-9


def test_verdicts_that_a_drift_made_wrong_are_named_and_others_let_stand():
    found = look_back_in_practice(np.random.default_rng(3), WentOff.DRIFT, kitchens=3, u_pct=0.25)
    named = found.not_stand > IN_DOUBT[PathKind.DRIFT]
    assert found.fell.sum() > 8
    assert named[found.fell].mean() > 0.85
    assert found.fell[named].mean() > 0.85


def test_what_a_step_made_wrong_is_mostly_among_what_is_named():
    found = look_back_in_practice(np.random.default_rng(4), WentOff.STEP, kitchens=3, u_pct=0.25)
    named = found.not_stand > IN_DOUBT[PathKind.STEP]
    assert named[found.fell].mean() > 0.8
    assert found.not_stand.mean() == pytest.approx(found.fell.mean(), abs=0.08)
