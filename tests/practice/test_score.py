import numpy as np
import pytest

from kettlewell.practice import RuleKind, compare_rules
from kettlewell.practice.rules import Ours, Threshold
from kettlewell.practice.run import run
from kettlewell.practice.score import at_past_share, bounds, measures, resamples, tally


def test_the_clairvoyant_is_the_measure(practice, best):
    own = measures(tally(practice, best, best))
    assert own.discard_ratio == 1
    assert own.past_share == own.far_past_share == own.readings_share == 0


def test_only_fryers_that_reach_the_limit_count(practice, best):
    """A fryer the clairvoyant never changes adds neither oil nor hours."""
    reaches = best.changed.any(axis=0)
    sums = tally(practice, best, best)
    assert sums.services.sum() == practice.services * reaches.sum()
    assert sums.hot_h.sum() == pytest.approx(best.hot_h[:, reaches].sum())


def test_the_bootstrap_interval_holds_the_estimate(practice, best):
    sums = tally(practice, run(practice, Threshold(practice=practice, at_pct=21.0)), best)
    low, high = bounds([measures(sums, weight) for weight in resamples(np.random.default_rng(1), 30, 300)])
    for name in ("discard_ratio", "past_share", "far_past_share", "readings_share"):
        assert getattr(low, name) < getattr(measures(sums), name) < getattr(high, name)


def test_resamples_draw_as_many_kitchens_as_there_are():
    assert (resamples(np.random.default_rng(1), 30, 50).sum(axis=1) == 30).all()


def test_a_frontier_is_read_between_its_points_and_not_beyond(practice, best):
    sums = [tally(practice, run(practice, Ours(practice=practice, risk=risk)), best) for risk in (0.1, 0.4)]
    cheap, dear = sorted((measures(one) for one in sums), key=lambda one: one.discard_ratio)
    between = at_past_share(sums, np.sqrt(max(dear.past_share, 1e-9) * cheap.past_share))
    assert between.discard_ratio == pytest.approx((cheap.discard_ratio + dear.discard_ratio) / 2)
    assert np.isnan(at_past_share(sums, 2 * cheap.past_share).discard_ratio)


def test_rules_are_compared_in_one_call():
    scores = compare_rules(np.random.default_rng(2), kitchens=6, fryers=2, days=60, risks=(0.05, 0.2))
    ours = [score for score in scores if score.rule is RuleKind.OURS]
    assert [score.setting for score in ours] == [0.05, 0.2]
    assert {score.rule for score in scores} == set(RuleKind)
    assert all(
        score.low.discard_ratio <= score.measured.discard_ratio <= score.high.discard_ratio
        for score in scores
    )


def test_kitchens_that_never_reach_the_limit_cannot_be_compared():
    with pytest.raises(ValueError, match="No fryer reaches the limit"):
        compare_rules(np.random.default_rng(2), kitchens=2, fryers=1, days=1)
