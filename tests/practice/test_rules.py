from dataclasses import replace

import numpy as np
import pytest

from kettlewell.practice.bath import past, serve
from kettlewell.practice.kitchens import LIMIT_PCT
from kettlewell.practice.rules import Calendar, Never, Ours, Threshold
from kettlewell.practice.run import Logged, run
from kettlewell.practice.score import measures, tally
from kettlewell.practice.watch import Upkeep


@pytest.fixture(scope="module")
def ours(practice):
    return run(practice, Ours(practice=practice, risk=0.05))


def test_the_clairvoyant_never_passes_the_limit(best):
    assert best.tpc_after_pct.max() <= LIMIT_PCT
    assert best.past_h.sum() == 0
    assert best.changed.any()


def test_the_clairvoyant_changes_only_where_the_coming_service_would_pass_the_limit(practice, best):
    for t in range(1, practice.services):
        kept = replace(best.before(t), tpc_pct=best.tpc_after_pct[t - 1])
        assert np.array_equal(best.changed[t], serve(practice, t, kept).highest_pct > LIMIT_PCT)


def decisions(practice, log):
    """Return what our rule decides in kitchens with this log, whatever the truth behind it."""
    rule = Ours(practice=practice, risk=0.05)
    decided = []
    for t, (reading, logged) in enumerate(log):
        rule.read(t, reading, 0)
        decided.append((rule.wants_again(t), rule.before(t, reading), rule.after(t, logged)))
    return decided


def test_rules_see_the_log_only(practice):
    """Another truth behind the same log leads to the same decisions."""
    rng, nothing = np.random.default_rng(1), Logged.nothing((30, 3))
    log = [
        (4 + 0.4 * t + rng.standard_normal((30, 3)), replace(nothing, load=practice.load[t]))
        for t in range(60)
    ]
    hidden = ("gain", "power", "heat_up_h", "rate_pct_per_h", "draw", "fresh_pct", "offset_pct", "load")
    other = replace(practice, **{name: 2 * getattr(practice, name) for name in hidden})
    mine = decisions(practice, log)
    assert np.any(mine)
    assert np.array_equal(mine, decisions(other, log))


def test_all_rules_live_through_the_same_days(practice, best, ours):
    never = run(practice, Never(practice=practice))
    assert np.array_equal(never.hot_h, best.hot_h)
    assert np.array_equal(ours.tpc_before_pct[0], best.tpc_before_pct[0])
    first_fill = ~(ours.changed | best.changed).cumsum(axis=0).astype(bool)
    assert np.allclose(ours.tpc_after_pct[first_fill], never.tpc_after_pct[first_fill])


def test_more_risk_discards_less_oil_and_passes_the_limit_more(practice, best):
    tallies = [
        tally(practice, run(practice, Ours(practice=practice, risk=risk)), best) for risk in (0.01, 0.1, 0.4)
    ]
    careful, middle, bold = (measures(sums) for sums in tallies)
    assert careful.discard_ratio > middle.discard_ratio > bold.discard_ratio
    assert careful.past_share <= middle.past_share < bold.past_share


def test_a_known_meter_saves_oil_at_the_same_risk(practice):
    exact = replace(practice, gain=np.ones_like(practice.gain), offset_pct=np.zeros_like(practice.offset_pct))
    known, unknown = (
        run(exact, Ours(practice=exact, risk=0.1, care=Upkeep(meter_known=meter_known)))
        for meter_known in (True, False)
    )
    assert (known.changed.sum(axis=0) * exact.mass_kg).sum() < (
        unknown.changed.sum(axis=0) * exact.mass_kg
    ).sum()


def test_reading_when_told_takes_fewer_readings(practice, ours):
    told = run(practice, Ours(practice=practice, risk=0.05, when_told=True))
    assert (~np.isnan(told.reading_pct)).sum() < 0.5 * (~np.isnan(ours.reading_pct)).sum()


def test_a_threshold_changes_at_its_reading_and_a_calendar_on_its_day(practice):
    threshold = run(practice, Threshold(practice=practice, at_pct=20.0))
    assert np.array_equal(threshold.changed, threshold.reading_pct >= 20.0)
    calendar = run(practice, Calendar(practice=practice, every_days=8))
    assert np.flatnonzero(calendar.changed.any(axis=(1, 2))).tolist() == list(
        range(16, practice.services, 16)
    )


@pytest.mark.parametrize(
    ("before", "after", "share"), [(20, 23, 0), (23, 25, 0.5), (25, 27, 1), (25, 23, 0.5), (24, 24, 0)]
)
def test_share_of_a_service_past_the_limit(before, after, share):
    assert past(np.array(float(before)), np.array(float(after))) == pytest.approx(share)
