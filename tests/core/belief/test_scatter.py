"""How far a meter scatters is learnt from its own readings."""

from types import SimpleNamespace

import numpy as np
import pytest

from kettlewell.book import Change
from kettlewell.core.belief.readings import Together
from kettlewell.core.belief.scatter import errors_of
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


@pytest.mark.parametrize("baths", [1, 2])
def test_two_readings_of_an_occasion_tell_of_their_errors_by_how_far_apart_they_lie(baths):
    """One degree of freedom, whatever the book expected; one alone tells by what the book expects too."""
    shape = (1, baths)
    expected = SimpleNamespace(var=np.full(shape, 3.0))
    together = Together(
        innovation=np.tile([2.0, 3.0], (*shape, 1)),
        var=np.full((*shape, 2), 0.25),
        well=np.ones((*shape, 2), bool),
    )
    both = errors_of(expected, together, np.ones((*shape, 2), bool))
    np.testing.assert_allclose(both.squares, 0.5**2 + 0.5**2)
    np.testing.assert_allclose(both.count, 1)
    alone = errors_of(expected, together, np.tile([False, True], (*shape, 1)))
    share = (0.25 / 3.25) ** 2
    np.testing.assert_allclose(alone.count, share)
    np.testing.assert_allclose(alone.squares, share * (3.0**2 - 3.0))
    none = errors_of(expected, together, np.zeros((*shape, 2), bool))
    assert not none.count.any()
    assert not none.squares.any()
