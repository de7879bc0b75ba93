"""The smoother of single fryers against one dense Rauch-Tung-Striebel smoother of filterpy."""

from datetime import UTC, datetime, time

import numpy as np
import pytest
from filterpy.kalman import rts_smoother
from scipy.linalg import block_diag
from states import traced

from kettlewell.book import Fryer, Kitchen, LabResult, Oil, Reading, Service
from kettlewell.core import history
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.filter import Observation, Work, predict, update
from kettlewell.core.belief.joint import LEVEL, OWN, RATE
from kettlewell.core.belief.layout import Layout, pick
from kettlewell.core.belief.level import level_of
from kettlewell.core.belief.meters import NoiseLog
from kettlewell.core.belief.priors import Prior, initial_belief
from kettlewell.core.belief.smoother import Moment, smoothed
from kettlewell.core.belief.tape import Interval
from kettlewell.core.belief.walk import walk_to
from kettlewell.core.belief.week import Slot
from kettlewell.practice.hand_meter import HAND_METER

FRYERS, STEPS = 3, 30
READING_VAR = np.full((1, FRYERS), 0.27)
NOON = datetime(2026, 9, 7, 12, tzinfo=UTC)
SLOT = Slot(name="Lunch", begins=NOON, ends=NOON, day=NOON.date(), of_week=0, fryers=frozenset())
INTERVAL = Interval(begins=NOON, until=NOON, entries=(), slot=SLOT)
NONE = np.zeros(FRYERS, bool)


def prior():
    """Three fryers, two oils, no bend: all is linear and Gaussian."""
    return Prior(
        known=PACKAGED,
        layout=Layout(oils=2),
        fresh_pct=np.array([[4.0, 5.0]]),
        fresh_sd_pct=np.full((1, 2), 0.5),
        lot_sd_pct=np.full((1, 2), 0.3),
        rate_unit=np.array([[0.5, 0.6, 0.4]]),
        bend_sd=np.zeros((1, FRYERS)),
        oil=np.array([[0, 0, 1]]),
        gain=(0.97, 0.065),
        offset_sd_pct=np.full((1, 1), 0.8),
        oil_gain_sd=0.03,
        oil_offset_sd_pct=0.5,
    )


def dense(belief):
    """Return mean and covariance of it all at once: what is shared, then each fryer's level and rate."""
    shared = belief.shared.shape[-1]
    sensitivity = belief.sensitivity[0, :, [LEVEL, RATE]].swapaxes(0, 1).reshape(-1, shared)
    base = belief.base[0, :, [LEVEL, RATE]].T.ravel()
    lift = np.vstack([np.eye(shared), sensitivity])
    own = block_diag(np.zeros((shared, shared)), *belief.own_cov[0, :, :2, :2])
    return lift @ belief.shared[0] + np.append(np.zeros(shared), base), lift @ belief.shared_cov[
        0
    ] @ lift.T + own


def work_of(hours):
    """Return one stretch of work with a turnover of 1 % an hour."""
    hours = hours[None]
    none = np.zeros_like(hours)
    return Work(
        hours=hours,
        before=none,
        turnover=0.01 * hours,
        after=none,
        hours_sd=0.15 * hours,
        turnover_sd=0.003 * hours,
        pour_sd=none,
    )


def step_of(belief, work):
    """Return the dense transition and its noise for one service."""
    shared = belief.shared.shape[-1]
    size, rate = shared + 2 * FRYERS, belief.own_mean()[0, :, RATE]
    aged = (belief.own_mean()[..., LEVEL] - belief.fresh_mean())[0]
    step, noise = np.eye(size), np.zeros((size, size))
    for f in range(FRYERS):
        level, hours, pull = shared + 2 * f, work.hours[0, 0, f], work.turnover[0, 0, f]
        step[level, level] = np.exp(-pull)
        step[level, level + 1] = hours * (1 - np.exp(-pull)) / pull if pull else hours
        step[level, :shared] = (1 - np.exp(-pull)) * belief.fresh[0, f]
        wear = rate[f] * work.hours_sd[0, 0, f] - aged[f] * work.turnover_sd[0, 0, f]
        noise[level, level] = wear**2 + (PACKAGED.ageing_noise.sd * rate[f] * hours) ** 2
        noise[level + 1, level + 1] = (PACKAGED.rate_walk.sd * belief.rate_unit[0, f]) ** 2 * (hours > 0)
    return step, noise


def walked(seed):
    """Return a walk's moments: fryers rest, readings are missing, laboratory results come in."""
    rng = np.random.default_rng(seed)
    belief, moments, steps, tpc_pct = initial_belief(prior()), [], [], np.full((1, FRYERS), 4.0)
    for n in range(STEPS):
        hours = rng.uniform(1, 4, (1, FRYERS)) * (rng.random((1, FRYERS)) > 0.15)
        work = work_of(hours)
        tpc_pct = 4 + (tpc_pct - 4) * np.exp(-work.turnover[0]) + 0.45 * hours
        filled, steps = belief, [*steps, step_of(belief, work)]
        aged = predict(filled, work)
        shown = np.where(
            rng.random((1, FRYERS)) < 0.5, tpc_pct + 0.5 * rng.standard_normal((1, FRYERS)), np.nan
        )
        offsets = pick(aged.layout.offsets(0).start, aged.oil, aged.layout)
        belief = update(aged, Observation(value=shown, direction=offsets, var=READING_VAR))
        if n % 10 == 7:
            direction = -1.05 * tpc_pct[..., None] * aged.gain
            nought = np.where(np.arange(FRYERS) == 1, 0.0, np.nan)[None]
            belief = update(belief, Observation(value=nought, direction=direction, var=READING_VAR))
        moments.append(
            Moment(
                kitchen=KITCHEN,
                fryers=("a", "b", "c"),
                interval=INTERVAL,
                work=work,
                noise=NoiseLog(),
                noise_after=NoiseLog(),
                filled=filled,
                aged=aged,
                measured=belief,
                refilled=NONE,
                changed=NONE,
            )
        )
    return moments, steps


def smoothed_back(moments):
    """Return the states of every moment, first to last, as seen from the end."""
    return list(smoothed(moments[::-1]))[::-1]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_fryers_smoothed_given_what_they_share_are_one_dense_smoother(seed):
    moments, steps = walked(seed)
    means, covs = zip(*(dense(moment.measured) for moment in moments), strict=True)
    onward, noises = zip(*steps[1:], strict=True)  # filterpy counts a step from where it starts
    xs, ps, _, _ = rts_smoother(np.array(means), np.array(covs), onward, noises)
    known = moments[-1].measured
    shared, shared_cov = known.shared[0], known.shared_cov[0]
    size = len(shared)
    for state, x, p in zip(smoothed_back(moments), xs, ps, strict=True):
        sensitivity = state.sensitivity[:, :2].reshape(-1, size)
        mean = state.base[:, :2].ravel() + sensitivity @ shared
        cov = block_diag(*state.cov[:, :2, :2]) + sensitivity @ shared_cov @ sensitivity.T
        np.testing.assert_allclose(mean, x[size:], rtol=0, atol=1e-6)
        np.testing.assert_allclose(cov, p[size:, size:], rtol=0, atol=1e-6)


def test_the_smoother_of_the_case_tells_more_than_the_filter():
    """Else the agreement would say little: of the start, every rate is known twice as well in variance."""
    moments, _ = walked(1)
    first, filtered = smoothed_back(moments)[0].cov, moments[0].measured.own_cov[0]
    assert np.all(first[:, LEVEL, LEVEL] <= filtered[:, LEVEL, LEVEL] + 1e-12)
    assert np.all(first[:, RATE, RATE] < 0.5 * filtered[:, RATE, RATE])


def test_what_is_smoothed_is_never_less_certain_than_what_was_filtered():
    moments, _ = walked(2)
    for state, moment in zip(smoothed_back(moments), moments, strict=True):
        known, own = moments[-1].measured, moment.measured
        spread = state.sensitivity @ known.shared_cov[0] @ state.sensitivity.swapaxes(-1, -2) + state.cov
        was = own.sensitivity[0] @ own.shared_cov[0] @ own.sensitivity[0].swapaxes(-1, -2) + own.own_cov[0]
        for part in range(OWN):
            assert np.all(spread[:, part, part] <= was[:, part, part] + 1e-9)


KITCHEN = Kitchen(
    name="Test kitchen",
    fryers=(Fryer(key="big", name="Big pan", oil="rape", oil_mass_kg=20, usual_load_kg=15),),
    oils=(Oil(key="rape", name="Rapeseed oil"),),
    meters=(HAND_METER,),
    services=(Service(name="Lunch", weekdays=tuple(range(7)), begins=time(11), ends=time(14)),),
    jurisdiction="FR",
)


def kept(*tpc_pct):
    """Return a reading before lunch of every day and one laboratory result."""
    entries = [
        Reading(at=NOON.replace(day=7 + day, hour=9), fryer="big", tpc_pct=tpc, oil_temp_c=150)
        for day, tpc in enumerate(tpc_pct)
    ]
    return [*entries, LabResult(at=NOON.replace(day=9, hour=10), fryer="big", tpc_pct=tpc_pct[2])]


def test_the_last_smoothed_value_is_the_filtered_one():
    entries, now = kept(4, 6, 8.5, 10, 12, 14), NOON.replace(day=12, hour=10)
    last = history(KITCHEN, entries, now=now)["big"][-1]
    mean, sd = level_of(walk_to(KITCHEN, entries, now=now).state.belief).tpc_mean_sd()
    assert (last.tpc_mean_pct, last.tpc_sd_pct) == pytest.approx((mean.item(), sd.item()), rel=1e-12)
    assert last.at == NOON.replace(day=11, hour=14)


def test_history_has_one_value_for_each_past_service_in_order():
    past = history(KITCHEN, kept(4, 6, 8.5, 10, 12, 14), now=NOON.replace(day=12, hour=10))["big"]
    assert [one.at.day for one in past] == [6, 7, 8, 9, 10, 11]
    assert [one.tpc_mean_pct for one in past] == sorted(one.tpc_mean_pct for one in past)


def test_history_tells_of_the_end_of_a_service_though_the_last_reading_was_taken_at_its_beginning():
    entries, now = kept(4, 6, 8.5), NOON.replace(day=9, hour=18)
    early = Reading(at=NOON.replace(day=9, hour=11, minute=5), fryer="big", tpc_pct=8.5, oil_temp_c=150)
    without, with_it = (history(KITCHEN, book, now=now)["big"][-1] for book in (entries, [*entries, early]))
    assert with_it.tpc_mean_pct == pytest.approx(without.tpc_mean_pct, abs=0.2)


def test_history_leaves_out_a_service_that_still_runs():
    now = NOON.replace(day=9)
    assert all(one.at <= now for one in history(KITCHEN, kept(4, 6, 8.5), now=now)["big"])


def test_history_is_surer_than_what_was_believed_at_the_time():
    entries, now = kept(4, 6, 8.5, 10, 12, 14), NOON.replace(day=12, hour=10)
    _, tracer = traced(KITCHEN, entries, now=now)
    last = {moment.interval.slot.ends: moment for moment in tracer.moments if moment.interval.slot}
    for one in history(KITCHEN, entries, now=now)["big"]:
        then = level_of(last[one.at].measured).tpc_mean_sd()[1].item()
        assert one.tpc_sd_pct <= then * (1 + 1e-9)


def test_a_later_reading_tells_of_the_days_before_it():
    readings, now = [4, 6, 8.5, 10, 12, 14], NOON.replace(day=12, hour=10)
    low, high = (history(KITCHEN, kept(*readings[:-1], last), now=now)["big"] for last in (13, 15))
    assert high[-2].tpc_mean_pct > low[-2].tpc_mean_pct + 0.1
