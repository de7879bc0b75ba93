"""The factorised batch filter against one dense Kalman filter of a general-purpose library."""

from dataclasses import replace

import numpy as np
import pytest
from filterpy.kalman import KalmanFilter
from scipy.linalg import block_diag

from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.filter import Observation, Work, predict, refill, update
from kettlewell.core.belief.joint import BEND, LEVEL, OWN, RATE
from kettlewell.core.belief.layout import Layout
from kettlewell.core.belief.level import level_of
from kettlewell.core.belief.meters import add_process_noise, adjusted, assimilate_check, replace_marginal
from kettlewell.core.belief.priors import Prior, initial_belief

LOT_SD_PCT = 0.3
KNOWN = replace(PACKAGED, fill_to_fill=replace(PACKAGED.fill_to_fill, sd=LOT_SD_PCT))
FRYERS = 3
READING_VAR = np.full((1, FRYERS), 0.27)


class Dense:
    """The same Gaussian model in one state: what the kitchen shares, then each fryer's own."""

    def __init__(self, belief):
        self.oil = belief.oil[0].copy()
        self.rate_unit = belief.rate_unit[0]
        self.fryers, self.layout = len(self.oil), belief.layout
        self.shared = belief.shared.shape[-1]
        size = self.shared + OWN * self.fryers
        self.filter = KalmanFilter(dim_x=size, dim_z=1)
        sensitivity = belief.sensitivity[0].reshape(-1, self.shared)
        lift = np.vstack([np.eye(self.shared), sensitivity])
        own = block_diag(np.zeros((self.shared, self.shared)), *belief.own_cov[0])
        self.filter.x = lift @ belief.shared[0] + np.append(np.zeros(self.shared), belief.base[0].ravel())
        self.filter.P = lift @ belief.shared_cov[0] @ lift.T + own

    def at(self, fryer, part):
        return self.shared + OWN * fryer + part

    def gain(self, fryer):
        return self.layout.gains.start + self.oil[fryer]

    def offset(self, fryer):
        return self.layout.offsets(0).start + self.oil[fryer]

    def fresh(self, fryer):
        return self.layout.fresh.start + self.oil[fryer]

    def predict(self, work):
        x = self.filter.x
        step, push, noise = np.eye(len(x)), np.zeros(len(x)), np.zeros((len(x), len(x)))
        for f in range(self.fryers):
            level, rate, bend = (self.at(f, part) for part in (LEVEL, RATE, BEND))
            aged, hours = x[level] - x[self.fresh(f)], work.hours[0, 0, f]
            pull = work.turnover[0, 0, f] - x[bend] * hours
            begun, left = np.exp(-work.before[0, 0, f]), np.exp(-work.after[0, 0, f])
            keep = begun * np.exp(-pull) * left
            mean_h = (hours * (1 - np.exp(-pull)) / pull if pull else hours) * left
            step[level, [level, rate, bend]] = keep, mean_h, mean_h * begun * aged
            step[level, self.fresh(f)] = 1 - keep
            push[level] = -mean_h * begun * aged * x[bend]
            wear = x[rate] * work.hours_sd[0, 0, f] - begun * aged * work.turnover_sd[0, 0, f]
            poured = begun * aged * work.pour_sd[0, 0, f]
            aged_sd = KNOWN.ageing_noise.sd * x[rate] * hours
            noise[level, level] = (wear**2 + poured**2 + aged_sd**2) * left**2
            noise[rate, rate] = (KNOWN.rate_walk.sd * self.rate_unit[f]) ** 2 * (hours > 0)
        self.filter.predict(u=push, B=np.eye(len(x)), F=step, Q=noise)
        return self

    def drift(self, var):
        noise = np.zeros_like(self.filter.P)
        noise[self.layout.offsets(0), self.layout.offsets(0)] = var
        self.filter.predict(F=np.eye(len(noise)), Q=noise)
        return self

    def check(self, deviation_pct, var):
        row = np.zeros((1, len(self.filter.x)))
        row[0, self.layout.found(0)] = 1
        gains = self.layout.gains
        mean, cov = self.filter.x[gains].copy(), self.filter.P[gains, gains].copy()
        self.filter.update(np.array([deviation_pct]), R=np.array([[var]]), H=row)
        return self.with_responses_as(mean, cov)

    def with_responses_as(self, mean, cov):
        """Put the responses back to what they were, and move all else as it is tied to them."""
        gains, state = self.layout.gains, self.filter
        pull = state.P[:, gains] @ np.linalg.inv(state.P[gains, gains])
        state.x = state.x + pull @ (mean - state.x[gains])
        state.P = state.P + pull @ (cov - state.P[gains, gains]) @ pull.T
        return self

    def adjust(self):
        """Exchange what the meter reads too much in reference oil, keep the old value, shift the offsets."""
        size, found, before = len(self.filter.x), self.layout.found(0), self.layout.before
        step, push = np.eye(size), np.zeros(size)
        push[: self.shared] = self.layout.electronics(0)
        step[: self.shared, found] -= push[: self.shared]
        step[before], step[before, found] = 0, 1
        self.filter.predict(F=step, Q=4.0 * np.outer(push, push))
        return self

    def refill(self, fryer, oil):
        self.oil[fryer] = oil
        level, rate, bend = (self.at(fryer, part) for part in (LEVEL, RATE, BEND))
        step, noise = np.eye(len(self.filter.x)), np.zeros_like(self.filter.P)
        step[level, level], step[level, self.fresh(fryer)] = 0, 1
        noise[level, level] = LOT_SD_PCT**2
        noise[rate, rate] = (KNOWN.refill_rate_walk.sd * self.rate_unit[fryer]) ** 2
        noise[bend, bend] = (KNOWN.refill_bend_walk.sd * self.rate_unit[fryer] / 20) ** 2
        self.filter.predict(F=step, Q=noise)
        return self

    def update(self, values, directions):
        """Take what several fryers show at once, y + direction @ s, nan where nothing."""
        seen = np.flatnonzero(~np.isnan(values))
        rows = np.zeros((len(seen), len(self.filter.x)))
        rows[:, : self.shared] = directions[seen]
        rows[np.arange(len(seen)), self.at(seen, LEVEL)] = 1
        if len(seen):
            self.filter.update(values[seen], R=np.diag(READING_VAR[0, seen]), H=rows)
        return self


def prior(oils, bend_sd, *, checked=False):
    oil = np.array([[0, 0, oils - 1]])
    return Prior(
        known=KNOWN,
        layout=Layout(oils=oils, checked=checked),
        fresh_pct=np.array([[4.0, 5.0][:oils]]),
        fresh_sd_pct=np.full((1, oils), 0.5),
        lot_sd_pct=np.full((1, oils), LOT_SD_PCT),
        rate_unit=np.array([[0.5, 0.6, 0.4]]),
        bend_sd=np.full((1, 3), bend_sd),
        oil=oil,
        gain=(0.97, 0.065),
        offset_sd_pct=np.full((1, 1), 0.8),
        oil_gain_sd=0.03,
        oil_offset_sd_pct=0.5,
    )


def direction(dense, parts):
    """Return rows (1, F, S) that pick one shared value for each fryer."""
    return np.eye(dense.shared)[[parts]]


def worked(hours, hours_rel_sd):
    """Return one stretch of work of ``hours`` (1, F), with a turnover of 1 % an hour around and in it."""
    hours = hours[None]
    return Work(
        hours=hours,
        before=0.001 * hours,
        turnover=0.009 * hours,
        after=0.001 * hours,
        hours_sd=hours_rel_sd * hours,
        turnover_sd=0.003 * hours,
        pour_sd=0.001 * hours,
    )


def services(oils, bend_sd, *, count=40, drift_var=0.0):
    """Yield the belief and the dense filter after each service of an invented kitchen of three fryers.

    Some services rest a fryer, about half the readings are missing, fills are changed
    (with two oils, to the other oil), and laboratory results come in.
    """
    rng = np.random.default_rng(2)
    belief = initial_belief(prior(oils, bend_sd))
    dense = Dense(belief)
    tpc_pct = np.full((1, FRYERS), 4.0)
    for service in range(count):
        hours = rng.uniform(1, 4, (1, FRYERS)) * (rng.random((1, FRYERS)) > 0.15)
        turnover = 0.01 * hours
        work = worked(hours, hours_rel_sd=0.15)
        tpc_pct = 4 + (tpc_pct - 4) * np.exp(-turnover) + 0.45 * hours
        belief, dense = predict(belief, work), dense.predict(work)
        if drift_var:
            belief, dense = (
                add_process_noise(belief, belief.layout.electronics(0), np.array([drift_var])),
                dense.drift(drift_var),
            )
        if service % 12 == 11:
            fryer = service // 12 % FRYERS
            filled = np.arange(FRYERS)[None] == fryer
            oil = (dense.oil[fryer] + 1) % oils
            tpc_pct = np.where(filled, 4.0, tpc_pct)
            belief = refill(belief.with_oil(np.where(filled, oil, belief.oil)), filled, lot_sd=LOT_SD_PCT)
            dense = dense.refill(fryer, oil)
        noise = 0.5 * rng.standard_normal((1, FRYERS))
        reading_pct = np.where(rng.random((1, FRYERS)) < 0.5, tpc_pct + 0.4 + noise, np.nan)
        offsets = direction(dense, [dense.offset(fryer) for fryer in range(FRYERS)])
        belief = update(belief, Observation(value=reading_pct, direction=offsets, var=READING_VAR))
        dense = dense.update(reading_pct[0], offsets[0])
        if service % 15 == 10:
            laboratory_pct = 1.05 * tpc_pct
            gains = -laboratory_pct[..., None] * direction(
                dense, [dense.gain(fryer) for fryer in range(FRYERS)]
            )
            nought = np.where(np.arange(FRYERS) == 1, 0.0, np.nan)
            belief = update(belief, Observation(value=nought[None], direction=gains, var=READING_VAR))
            dense = dense.update(nought, gains[0])
        yield belief, dense


@pytest.mark.parametrize("oils", [1, 2])
@pytest.mark.parametrize("bend_sd", [0.0, 0.01])
def test_three_fryers_conditioned_on_what_they_share_are_one_dense_kalman_filter(oils, bend_sd):
    """Without a bend all is linear and Gaussian; with one, both linearise at the same mean."""
    for belief, dense in services(oils, bend_sd):
        x, cov = dense.filter.x, dense.filter.P
        kitchen, own = slice(dense.shared), slice(dense.shared, None)
        sensitivity = belief.sensitivity[0].reshape(-1, dense.shared)
        shared_cov = belief.shared_cov[0]
        total = block_diag(*belief.own_cov[0]) + sensitivity @ shared_cov @ sensitivity.T
        np.testing.assert_allclose(belief.shared[0], x[kitchen], rtol=0, atol=1e-8)
        np.testing.assert_allclose(shared_cov, cov[kitchen, kitchen], rtol=0, atol=1e-8)
        np.testing.assert_allclose(belief.own_mean()[0].ravel(), x[own], rtol=0, atol=1e-8)
        np.testing.assert_allclose(total, cov[own, own], rtol=0, atol=1e-8)
        np.testing.assert_allclose(sensitivity @ shared_cov, cov[own, kitchen], rtol=0, atol=1e-8)


def test_the_readings_of_the_case_teach_both_filters():
    """Else the agreement would say little: every rate ends at half its first spread or below."""
    dense = [dense for _, dense in services(2, 0.0)][-1]
    before = Dense(initial_belief(prior(2, 0.0)))
    rates = [dense.at(fryer, RATE) for fryer in range(FRYERS)]
    firmer = np.sqrt(np.diag(dense.filter.P)[rates] / np.diag(before.filter.P)[rates])
    assert np.all(firmer < 0.5)


@pytest.mark.parametrize("oils", [1, 2])
@pytest.mark.parametrize(("count", "sd_within"), [(40, 0.01), (300, 0.03)])
def test_a_wandering_meter_keeps_the_filter_near_the_dense_one(oils, count, sd_within):
    """Fryers conditioned on a wandering offset are no longer quite independent.

    At the default walk and two services a day the levels' means stay within 1 % of the
    exact ones, their standard deviations within 1 % for 20 days and 3 % for 150.
    """
    walk_var = PACKAGED.meter_walk.sd**2 / 2
    for belief, dense in services(oils, 0.0, count=count, drift_var=walk_var):
        ours = level_of(belief)
        levels = [dense.at(fryer, LEVEL) for fryer in range(FRYERS)]
        np.testing.assert_allclose(ours.level[0], dense.filter.x[levels], rtol=0.01)
        exact_sd = np.sqrt(np.diag(dense.filter.P)[levels])
        np.testing.assert_allclose(np.sqrt(ours.level_var[0]), exact_sd, rtol=sd_within)


def checked_and_adjusted():
    """Yield belief and dense filter of a kitchen whose meter is checked, adjusted and read on."""
    rng = np.random.default_rng(5)
    belief = initial_belief(prior(2, 0.0, checked=True))
    dense = Dense(belief)
    hours = np.full((1, FRYERS), 3.0)
    work = worked(hours, hours_rel_sd=0.1)
    for service in range(24):
        belief, dense = predict(belief, work), dense.predict(work)
        reading_pct = 4 + 1.4 * service + rng.standard_normal((1, FRYERS))
        offsets = direction(dense, [dense.offset(fryer) for fryer in range(FRYERS)])
        belief = update(belief, Observation(value=reading_pct, direction=offsets, var=READING_VAR))
        dense = dense.update(reading_pct[0], offsets[0])
        if service in (5, 11, 17):
            belief = assimilate_check(belief, 0, np.array([0.4]), np.array([0.1]))
            dense = dense.check(0.4, 0.1)  # none surprises so much that it counts less
        if service == 11:
            belief = adjusted(belief, 0, np.array([True]))
            belief = assimilate_check(belief, 0, np.array([0.1]), np.array([0.1]))
            dense = dense.adjust().check(0.1, 0.1)
        yield belief, dense


def test_a_meter_checked_and_adjusted_is_one_dense_kalman_filter_in_which_its_old_state_is_kept():
    """Readings before the adjustment stay tied to what the meter read too much then."""
    for belief, dense in checked_and_adjusted():
        mean, cov = dense.filter.x, dense.filter.P
        np.testing.assert_allclose(belief.shared[0], mean[: dense.shared], rtol=0, atol=1e-8)
        np.testing.assert_allclose(
            belief.shared_cov[0], cov[: dense.shared, : dense.shared], rtol=0, atol=1e-8
        )
        levels = [dense.at(fryer, LEVEL) for fryer in range(FRYERS)]
        np.testing.assert_allclose(belief.own_mean()[0, :, LEVEL], mean[levels], rtol=0, atol=1e-8)
        sd = np.sqrt(level_of(belief).level_var[0])
        np.testing.assert_allclose(sd, np.sqrt(np.diag(cov)[levels]), rtol=0, atol=1e-8)


def test_what_is_taken_over_replaces_what_was_known_and_the_rest_follows_as_it_was_tied():
    """The joint normal with one marginal exchanged, by hand through its conditional."""
    *_, (belief, dense) = services(2, 0.0, count=20)
    places = dense.layout.gains.start, dense.layout.offsets(0).start
    rest = [i for i in range(dense.shared) if i not in places]
    mean, cov = np.array([0.9, 1.5]), np.array([[0.0004, -0.005], [-0.005, 0.16]])
    old, old_cov = belief.shared[0], belief.shared_cov[0]
    directions = np.eye(dense.shared)[None, places]
    taken = replace_marginal(belief, directions, (mean - old[list(places)])[None], cov)
    pull = old_cov[np.ix_(rest, places)] @ np.linalg.inv(old_cov[np.ix_(places, places)])
    left = old_cov[np.ix_(rest, rest)] - pull @ old_cov[np.ix_(places, rest)]
    np.testing.assert_allclose(taken.shared[0, list(places)], mean, rtol=0, atol=1e-9)
    np.testing.assert_allclose(
        taken.shared[0, rest], old[rest] + pull @ (mean - old[list(places)]), atol=1e-9
    )
    np.testing.assert_allclose(taken.shared_cov[0][np.ix_(places, places)], cov, rtol=0, atol=1e-9)
    np.testing.assert_allclose(taken.shared_cov[0][np.ix_(rest, rest)], left + pull @ cov @ pull.T, atol=1e-9)
