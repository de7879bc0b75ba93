"""The filter: how a belief is predicted through work, refilled and updated, whole batches at a time.

Curvature is learnt as a bend β per hour: dy/dh = rate + β (y - y0) - turnover, the
level's own estimate standing for y in β (y - y0) (extended Kalman filter).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from kettlewell.core.ageing.balance import CURVATURE_SPAN_PCT, mean_decay
from kettlewell.core.arrays import Array, Mask, solved, some
from kettlewell.core.belief.joint import (
    BEND,
    LEVEL,
    OWN,
    RATE,
    Belief,
    along,
    dot,
)
from kettlewell.core.belief.layout import MEAN_RATE, units


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What H stretches, one after the other, did to each bath, all (H, K, F).

    ``hours`` are working hours (rates.working_hours). Fresh oil was poured ``before`` the bath worked, as
    ``turnover`` while it did, and ``after`` it, each as -ln of the share of old oil that stays. ``hours_sd``
    and ``turnover_sd`` come from one unknown, the load; ``pour_sd`` is of pouring nobody wrote down.
    """

    hours: Array
    before: Array
    turnover: Array
    after: Array
    hours_sd: Array
    turnover_sd: Array
    pour_sd: Array


def own_copies(belief: Belief) -> tuple[Array, Array, Array]:
    """Return copies of the own states' means, sensitivities and covariances, to be changed."""
    return (
        belief.base.copy(order="K"),
        belief.sensitivity.copy(order="K"),
        belief.own_cov.copy(order="K"),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """A belief's levels carried through H stretches of work, one after the other.

    Means ``level`` (H, K, F) and variances ``level_var`` after each, ``sensitivity`` (H, K, F, S) to the
    shared values, and the ``rows`` (H, K, F, 3) that took own states to the level. ``tied`` (K, F, 3,
    S + 3) are sensitivities and covariances of the own states in the end.
    """

    level: Array
    level_var: Array
    sensitivity: Array
    rows: Array
    tied: Array


def carry(belief: Belief, work: Work) -> Carried:
    """Return the levels after each of H stretches of work: the one place that knows how they age.

    What the level stands above the fresh value fades by exp(-pull) and grows by the rate.
    """
    own, fresh_mean = belief.own_mean(), belief.fresh_mean()
    rate, pull = own[..., RATE], work.turnover - own[..., BEND] * work.hours
    begun, left = np.exp(-work.before), np.exp(-work.after)
    keep, push = np.exp(-pull) * begun * left, work.hours * mean_decay(pull) * left
    aged = fading(own[..., LEVEL] - fresh_mean, keep, push * rate)
    rows = np.empty((*keep.shape, OWN))
    thinned = begun * aged[:-1]
    rows[..., LEVEL], rows[..., RATE], rows[..., BEND] = keep, push, push * thinned
    wear = rate * work.hours_sd - thinned * work.turnover_sd
    ageing_sd = belief.known.ageing_noise.sd * rate * work.hours
    noise = (wear**2 + (thinned * work.pour_sd) ** 2 + ageing_sd**2) * left**2
    walk_var = (belief.known.rate_walk.sd * belief.rate_unit) ** 2 * (work.hours > 0)
    fresh = (1 - keep)[..., None] * belief.fresh
    tied, size = np.concatenate([belief.sensitivity, belief.own_cov], axis=-1), belief.layout.size
    path = np.empty((len(pull), *tied.shape[:2], tied.shape[-1]))
    rate_var = tied[..., RATE, size + RATE]
    for h, (row, moved) in enumerate(zip(rows, path, strict=True)):
        np.vecmat(row, tied, out=moved)
        moved[..., :size] += fresh[h]
        moved[..., size + LEVEL] = dot(moved[..., size:], row) + noise[h]
        tied[..., LEVEL, :] = moved
        tied[..., :, size + LEVEL] = moved[..., size:]
        rate_var += walk_var[h]
    return Carried(
        level=aged[1:] + fresh_mean,
        level_var=path[..., size + LEVEL],
        sensitivity=path[..., :size],
        rows=rows,
        tied=tied,
    )


def fading(start: Array, keep: Array, grown: Array) -> Array:
    """Return what fades to the share ``keep`` (H, ...) and grows in each step, before and after each."""
    values = np.empty((len(keep) + 1, *start.shape))
    values[0] = start
    for before, after, kept, more in zip(values, values[1:], keep, grown, strict=False):
        np.add(kept * before, more, out=after)
    return values


def predict(belief: Belief, work: Work) -> Belief:
    """Return the belief after H stretches of work."""
    carried, size = carry(belief, work), belief.layout.size
    base = belief.base.copy(order="K")
    base[..., LEVEL] = carried.level[-1] - along(carried.sensitivity[-1], belief.shared)
    return belief.with_own(base, carried.tied[..., :size], own_cov=carried.tied[..., size:])


def one_after_another(works: Sequence[Work]) -> Work:
    """Return works, one done after the other, as one."""
    if len(works) == 1:
        return works[0]
    return Work(**{name: np.concatenate([getattr(work, name) for work in works]) for name in OF_WORK})


OF_WORK = tuple(Work.__dataclass_fields__)
HOURS, BEFORE, TURNOVER, AFTER, *SPREADS = range(len(OF_WORK))
HOURS_VAR, TURNOVER_VAR, POUR_VAR = SPREADS


def as_rows(work: Work) -> Array:
    """Return work as rows (7, H, K, F) in the order of ``OF_WORK`` that add up: its spreads as variances."""
    rows = np.stack([getattr(work, name) for name in OF_WORK])
    rows[SPREADS] **= 2
    return rows


def work_from(rows: Array) -> Work:
    """Return rows (7, H, K, F) as work; they are used up."""
    spreads = rows[HOURS_VAR:]
    np.sqrt(spreads, out=spreads)
    return Work(**dict(zip(OF_WORK, rows, strict=True)))


def refill(belief: Belief, where: Mask, *, lot_sd: Array | float) -> Belief:
    """Return the belief with the baths ``where`` (K, F) filled fresh with the oil they are meant for.

    Rate and bend learnt in one fill are believed less firmly in the next. ``lot_sd`` (K, F) is how much
    the fresh value differs from fill to fill, in the reference scale.
    """
    base, sensitivity, cov = own_copies(belief)
    base[..., LEVEL] = np.where(where, 0.0, base[..., LEVEL])
    sensitivity[..., LEVEL, :] = np.where(where[..., None], belief.fresh, sensitivity[..., LEVEL, :])
    for i in (RATE, BEND):
        cov[..., LEVEL, i] = cov[..., i, LEVEL] = np.where(where, 0.0, cov[..., LEVEL, i])
    cov[..., LEVEL, LEVEL] = np.where(where, lot_sd**2, cov[..., LEVEL, LEVEL])
    walk_sd = belief.known.refill_rate_walk.sd * belief.rate_unit
    cov[..., RATE, RATE] += np.where(where, walk_sd**2, 0.0)
    bend_sd = belief.known.refill_bend_walk.sd * belief.rate_unit / CURVATURE_SPAN_PCT
    cov[..., BEND, BEND] += np.where(where, bend_sd**2, 0.0)
    return belief.with_own(base, sensitivity, own_cov=cov, pending=np.where(where, np.nan, belief.pending))


def treated(belief: Belief, where: Mask) -> Belief:
    """Return the belief with the oil of the baths ``where`` (K, F) treated with filter powder.

    It may have taken some polar compounds out, no more than there are beyond the fresh oil's, and the oil may
    age otherwise from then on. How much it took out is told by readings alone, treatment by treatment:
    what it does every time ends up in the rate of its fryer.
    """
    known, own = belief.known, belief.own_mean()
    above = np.maximum(own[..., LEVEL] - belief.fresh_mean(), 0.0)
    base, own_cov = belief.base.copy(order="K"), belief.own_cov.copy(order="K")
    base[..., LEVEL] -= np.where(where, np.minimum(-known.treatment.value * belief.gain_mean(), above), 0.0)
    own_cov[..., LEVEL, LEVEL] += np.where(where, known.treatment.sd**2, 0.0)
    own_cov[..., RATE, RATE] += np.where(where, (known.treated_rate.sd * own[..., RATE]) ** 2, 0.0)
    return replace(belief, base=base, own_cov=own_cov)


def untied(belief: Belief) -> Belief:
    """Return the belief with what is not known of the levels kept, but owed no more to rates and bends.

    So that what is read next says nothing of them.
    """
    base, sensitivity, cov = own_copies(belief)
    owed = sensitivity[..., LEVEL, MEAN_RATE].copy()
    base[..., LEVEL] += owed * belief.shared[:, [MEAN_RATE]]
    cov[..., LEVEL, LEVEL] += owed**2 * belief.shared_cov[:, [MEAN_RATE], MEAN_RATE]
    sensitivity[..., LEVEL, MEAN_RATE] = 0.0
    for i in (RATE, BEND):
        cov[..., LEVEL, i] = cov[..., i, LEVEL] = 0.0
    return belief.with_own(base, sensitivity, own_cov=cov)


def rescaled(belief: Belief, factor: Array, rel_sd: Array | float = 0.0) -> Belief:
    """Return the belief with rates and bends times ``factor`` (K, F), known to ``rel_sd`` more."""
    base, sensitivity, cov = own_copies(belief)
    rate = belief.own_mean()[..., RATE] * factor
    for i in (RATE, BEND):
        base[..., i] *= factor
        sensitivity[..., i, :] *= factor[..., None]
        cov[..., i, :] *= factor[..., None]
        cov[..., :, i] *= factor[..., None]
    cov[..., RATE, RATE] += (rel_sd * rate) ** 2
    rate_unit = belief.rate_unit * factor
    return replace(belief, base=base, sensitivity=sensitivity, own_cov=cov, rate_unit=rate_unit)


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """A measured value of each bath, or nan: ``value`` = y + ``direction`` @ s + noise of ``var``."""

    value: Array
    direction: Array
    var: Array


def update(belief: Belief, seen: Observation, *, pending: Array | None = None) -> Belief:
    """Return the belief after an observation of any of its baths (exact for Gaussian noise).

    ``pending`` (K, F), if given, is what its innovations leave in doubt.
    """
    known = ~np.isnan(seen.value)
    sensitivity = belief.sensitivity[..., LEVEL, :] + seen.direction
    weight = known / (belief.own_cov[..., LEVEL, LEVEL] + seen.var)
    residual = np.where(known, seen.value, 0.0) - belief.base[..., LEVEL]
    gain = belief.own_cov[..., LEVEL] * weight[..., None]
    return belief.with_own(
        belief.base + gain * residual[..., None],
        belief.sensitivity - gain[..., :, None] * sensitivity[..., None, :],
        own_cov=belief.own_cov - gain[..., :, None] * belief.own_cov[..., None, LEVEL, :],
        shared=update_shared(belief, sensitivity, weight, residual),
        pending=pending,
    )


def update_shared(belief: Belief, sensitivity: Array, weight: Array, residual: Array) -> tuple[Array, Array]:
    """Return mean and covariance of the shared values after all fryers' residuals together.

    P - P H'(H P H' + R)⁻¹ H P, where R has the inverse of the weights, so that a weight of 0 says nothing.
    """
    root = np.sqrt(weight)
    rows = sensitivity * root[..., None]
    crossed = rows @ belief.shared_cov
    inner = crossed @ rows.swapaxes(-1, -2) + units(rows.shape[-2])
    pull = solved(inner, crossed).swapaxes(-1, -2)
    innovation = root * (residual - along(sensitivity, belief.shared))
    shared_cov = belief.shared_cov - pull @ crossed
    shared_cov = (shared_cov + shared_cov.swapaxes(-1, -2)) / 2
    return belief.shared + (pull @ innovation[..., None])[..., 0], shared_cov


def least_rate(belief: Belief) -> Array:
    """Return the lowest rate (K, F) believed of any bath: the lowest published, for its oil and food."""
    known = belief.known
    return known.least_rate.value / known.rate_at_175_c.value * belief.rate_unit


def not_slower(belief: Belief) -> Belief:
    """Return the belief with no bath ageing more slowly, in the mean, than any published."""
    rate = belief.base[..., RATE] + along(belief.sensitivity[..., RATE, :], belief.shared)
    missing = least_rate(belief) - rate
    if not some(missing > 0):
        return belief
    base = belief.base.copy(order="K")
    base[..., RATE] += np.maximum(missing, 0.0)
    return replace(belief, base=base)
