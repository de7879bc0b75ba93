"""How far a meter scatters is learnt from its own readings."""

import numpy as np
import pytest

from kettlewell.book import Change
from kettlewell.core.belief.walk import walk_to

MORNINGS = 40


def sd_learnt(kitchen, entries, now):
    """Return the repeatability believed of the kitchen's first meter."""
    state = walk_to(kitchen, entries, now=now).state
    more = state.scatter.more_var(state.belief.known, np.zeros((1, 1), np.intp), np.ones((1, 1)))[0, 0]
    return float(np.sqrt(state.belief.known.meter_repeatability.sd**2 + more))


def month(at, read, sd_pct, *, twice):
    """Return fills of a week, read once or twice each morning by a meter that scatters so."""
    rng = np.random.default_rng(3)
    entries = []
    for day in range(MORNINGS):
        if day % 8 == 0:
            entries.append(Change(at=at(day, "08:00"), fryer="big"))
        for clock in ("09:00", "09:05")[: 1 + twice]:
            shown = 4 + 2.0 * (day % 8) + sd_pct * rng.standard_normal()
            entries.append(read(day, clock, round(2 * shown) / 2))
    return entries


@pytest.mark.parametrize("twice", [False, True], ids=["one by one", "by repeats"])
@pytest.mark.parametrize("sd_pct", [0.3, 1.0])
def test_it_comes_near_the_truth(kitchen, at, read, sd_pct, twice):
    entries = month(at, read, sd_pct, twice=twice)
    learnt = sd_learnt(kitchen, entries, at(MORNINGS, "09:30"))
    assert abs(learnt - sd_pct) < (0.6 if twice else 0.8) * abs(0.5 - sd_pct)


def test_beforehand_it_is_as_usual_and_repeats_that_agree_lower_it(kitchen, at, read):
    assert sd_learnt(kitchen, [], at(0, "09:30")) == 0.5
    pair = [read(0, "09:00", 12.0), read(0, "09:05", 12.0)]
    assert sd_learnt(kitchen, pair, at(0, "09:30")) < 0.5
