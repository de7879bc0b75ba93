"""The level of a bath as probabilities need it: the highest of each stretch of work."""

from dataclasses import fields

import numpy as np
import pytest
from scipy.stats import norm

from kettlewell.core import checkpoint
from kettlewell.core.belief.filter import Work
from kettlewell.core.belief.level import Level, highest_in, level_of

NOTHING = {field.name: (0.0, 0.0) for field in fields(Work)}


@pytest.fixture
def belief(kitchen, book, at):
    return checkpoint(kitchen, [*book(4, 8, 12), *book(4, 7, fryer="small")], at=at(2, "10:00")).belief


def highest(belief, **told):
    """Return the highest in two stretches of the same work in both baths."""
    stretches = {**NOTHING, **told}
    work = Work(
        **{name: np.full((2, 1, 2), np.array(each)[:, None, None]) for name, each in stretches.items()}
    )
    return highest_in(belief, work)


def assert_same(one, other):
    for field in fields(Level):
        mine, theirs = getattr(one, field.name), getattr(other, field.name)
        np.testing.assert_allclose(mine, theirs, rtol=1e-9, err_msg=field.name)


def test_what_stands_still_is_as_high_as_it_is(belief):
    still = highest(belief)
    for n in range(2):
        assert_same(still.at(n), level_of(belief))


def test_oil_poured_before_the_work_thins_what_is_reached_and_oil_poured_after_it_does_not(belief):
    before, after = highest(belief, before=(0.5, 0.0)), highest(belief, after=(0.5, 0.0))
    assert (before.level[0] < after.level[0]).all()
    assert (before.level_var[0] < after.level_var[0]).all()
    assert_same(after.at(0), level_of(belief))
    assert_same(after.at(1), before.at(1))


def test_where_a_level_falls_it_was_highest_as_the_work_began(belief):
    """So that what replaces oil meanwhile changes nothing of it, in the first stretch or a later one."""
    falling = highest(belief, before=(0.5, 0.2), turnover=(0.3, 0.4))
    assert_same(falling.at(0), highest(belief, before=(0.5, 0.0)).at(0))
    assert_same(falling.at(1), highest(belief, before=(0.5, 0.5)).at(1))


def test_where_a_level_rises_it_is_highest_as_the_work_ends(belief):
    rising = highest(belief, hours=(3.0, 3.0))
    assert (rising.level[0] > level_of(belief).level).all()
    assert (rising.level[1] > rising.level[0]).all()
    assert_same(rising, highest(belief, hours=(3.0, 3.0), after=(0.0, 0.7)))


@pytest.mark.parametrize("z", [-2.0, -1.0, 0.5, 1.64])
def test_a_quantile_is_where_the_excess_is_passed_with_its_probability(belief, z):
    """Fieller 1954: p is the quantile where G (p - x) is above 0 with probability 1 - Φ(z)."""
    level = level_of(belief)
    mean, sd = level.excess(level.tpc_quantile(z))
    np.testing.assert_allclose(norm.cdf(mean / sd), 1 - norm.cdf(z), rtol=1e-9)
