"""What a meter reading says, when it may be wet, wrong, or of another fill.

A reading is sound, or wet (water raises it), or odd; the weights of the three follow
from its innovation, and a doubted reading counts with the share of it that is sound.
Two readings that surprise alike are believed: something happened that the book lacks.
Where the second fits a fresh fill far better than the old one, it was a change nobody wrote down.

What meters read teaches no response G. It is tied to the fresh value beforehand, so that oil which
ages otherwise than the model has it would move it through young oil that nobody read; its
distribution is cut off from readings (a cut model: Plummer, Stat. Comput. 25:37, 2015, from memory),
but for those beside a laboratory's result, which are what a result is held against.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import expit, logit

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.filter import Observation, expected, refill, update
from kettlewell.core.belief.joint import LEVEL, Belief, along, covariance_with, dot
from kettlewell.core.belief.layout import pick


@dataclass(frozen=True, slots=True, kw_only=True)
class Assimilated:
    """How a round of readings was taken, all (K, F).

    The share believed sound (nan without a reading), the innovation in percentage points, where
    a reading fits a fresh fill better than the one in the book, and where an unlogged change
    was concluded.
    """

    sound: Array
    innovation: Array
    fresh: Mask
    changed: Mask


def observe(belief: Belief, reading_pct: Array, var: Array, meters: Index | None = None) -> Observation:
    """Return readings (K, F; nan where none) by ``meters`` (K, F; the only one) as an observation.

    A meter reads z = b + r y. Where there are several, that is taken as straight about what is
    believed: z/r̂ + ŷ = y + b/r̂ + (ŷ/r̂) r; of a single one the ratio is 1 by choice of the scale.
    """
    layout, meters = belief.layout, np.zeros_like(belief.oil) if meters is None else meters
    direction = pick(layout.offsets(0).start, meters * layout.oils + belief.oil, layout)
    if not layout.several:
        return Observation(value=reading_pct, direction=direction, var=var)
    ratios = pick(layout.ratio(0), meters, layout)
    ratio, level = along(ratios, belief.shared), belief.own_mean()[..., LEVEL]
    return Observation(
        value=reading_pct / ratio + level,
        direction=(direction + level[..., None] * ratios) / ratio[..., None],
        var=var / ratio**2,
    )


def assimilate(
    belief: Belief, seen: Observation, *, beside: Mask | None = None
) -> tuple[Belief, Assimilated]:
    """Return the belief after meter readings (see ``observe``) and how they were taken.

    Those ``beside`` (K, F) a laboratory's result of the same oil teach the response as well.
    """
    known = belief.known
    mean, spread_var = expected(belief, seen.direction)
    fresh = changed = seen.value < mean - known.least_fall.value
    if fresh.any():
        fresh = fresh & fits_fresh_fill(belief, seen, seen.value - mean, spread_var)
        changed = fresh & alike(belief, seen.value - mean, seen.var)
    if changed.any():
        lot_sd = float(np.hypot(known.since_unlogged_change.sd, known.fill_to_fill.sd))
        belief = aged_since(refill(belief, changed, lot_sd=lot_sd), changed)
        mean, spread_var = expected(belief, seen.direction)
    innovation = seen.value - mean
    sound = sound_share(known, innovation, spread_var + seen.var)
    bears_out = seen.var < known.largest_sd_that_bears_out.value**2
    agrees = alike(belief, innovation, seen.var) & ~changed & bears_out
    if agrees.any():
        belief = inflate(belief, np.where(agrees, innovation, 0.0))
        sound = np.where(agrees, 1.0, sound)
    weighed = Observation(value=seen.value, direction=seen.direction, var=seen.var / np.fmax(sound, 1e-3))
    doubted = np.where(sound < known.doubt.value, innovation, np.nan)
    pending = np.where(np.isnan(sound), belief.pending, doubted)
    how = Assimilated(sound=sound, innovation=innovation, fresh=fresh, changed=changed)
    return told_apart(belief, weighed, beside, pending=pending), how


def told_apart(belief: Belief, seen: Observation, beside: Mask | None, *, pending: Array) -> Belief:
    """Return the belief after readings, of which those ``beside`` a laboratory's result teach responses."""
    if beside is None or not beside.any():
        return with_responses_of(update(belief, seen, pending=pending), belief)
    alone = replace(seen, value=np.where(beside, np.nan, seen.value))
    after = with_responses_of(update(belief, alone, pending=pending), belief)
    return update(after, replace(seen, value=np.where(beside, seen.value, np.nan)))


def with_responses_of(belief: Belief, before: Belief) -> Belief:
    """Return the belief with the responses as they were ``before``, and all else as it is given them."""
    gains = belief.layout.gains
    old, cov = belief.shared_cov[:, gains, gains], belief.shared_cov[:, gains]
    pull = np.linalg.solve(old, cov).swapaxes(-1, -2)
    moved = before.shared[:, gains] - belief.shared[:, gains]
    wider = before.shared_cov[:, gains, gains] - old
    return replace(
        belief,
        shared=belief.shared + np.matvec(pull, moved),
        shared_cov=belief.shared_cov + pull @ wider @ pull.swapaxes(-1, -2),
    )


def alike(belief: Belief, innovation: Array, var: Array) -> Mask:
    """Return where (K, F) readings surprise as the doubted ones before them did."""
    within = belief.known.alike_sds.value * np.sqrt(2 * var)
    return np.asarray(np.abs(innovation - belief.pending) < within)


def sound_share(known: Coefficients, innovation: Array, var: Array) -> Array:
    """Return the probability that readings with these innovations are sound; nan stays nan."""
    wet_share, odd_share = known.wet_share.value, known.odd_share.value
    sound = (1 - wet_share - odd_share) * density(innovation, var)
    wet = wet_share * density(innovation - known.wet_shift.value, var + known.wet_shift.sd**2)
    odd = odd_share * density(innovation, var + known.odd_spread.sd**2)
    return sound / (sound + wet + odd)


def fits_fresh_fill(belief: Belief, seen: Observation, innovation: Array, spread_var: Array) -> Mask:
    """Return where (K, F) readings fit a fill begun lately far better than the one in the book."""
    known, since, var = belief.known, belief.known.since_unlogged_change, seen.var
    fresh = seen.direction + belief.fresh
    fresh_mean = along(fresh, belief.shared) + since.value
    fresh_var = dot(covariance_with(belief.shared_cov, fresh), fresh) + since.sd**2
    share = known.unlogged_change_share.value
    was_changed = share * density(seen.value - fresh_mean, fresh_var + var)
    same = (1 - share) * density(innovation, spread_var + var)
    odd = known.odd_share.value * density(innovation, spread_var + var + known.odd_spread.sd**2)
    return was_changed > same + odd


def aged_since(belief: Belief, where: Mask) -> Belief:
    """Return the belief with the fills ``where`` (K, F) aged since a change nobody wrote down."""
    base = belief.base.copy(order="K")
    base[..., LEVEL] += np.where(where, belief.known.since_unlogged_change.value, 0.0)
    return replace(belief, base=base)


def inflate(belief: Belief, by: Array) -> Belief:
    """Return the belief with the levels' variance raised by ``by`` squared."""
    own_cov = belief.own_cov.copy(order="K")
    own_cov[..., LEVEL, LEVEL] += by**2
    return replace(belief, own_cov=own_cov)


def assimilate_laboratory(belief: Belief, tpc_pct: Array, u_pct: Array) -> tuple[Belief, Array]:
    """Return the belief after laboratory results (K, F; nan where none), and the share of each that is sound.

    0 = y - l G + u G (bias + noise): a part of each result's variance is one in all of them. It is sound
    or odd (another fryer's bottle, a slip, one of the laboratories that lay outside), and moves the belief
    by the mean of what each of the two would.
    """
    known, gain, result = belief.known, belief.gain_mean(), np.nan_to_num(tpc_pct)
    bias_share = known.laboratory_bias_share.value
    direction = -result[..., None] * belief.gain
    direction[..., belief.layout.laboratory] += np.sqrt(bias_share) * gain * u_pct
    mean, spread_var = expected(belief, direction)
    spread_var = spread_var + (1 - bias_share) * (gain * u_pct) ** 2
    sound, odd_var = laboratory_sound_share(belief, mean, spread_var, result)
    weight = sound / spread_var + (1 - sound) / (spread_var + odd_var)
    var = (1 - bias_share) * (gain * u_pct) ** 2 + 1 / weight - spread_var
    sound = np.where(np.isnan(tpc_pct), np.nan, sound)
    value = np.where(np.isnan(tpc_pct), np.nan, 0.0)
    return update(belief, Observation(value=value, direction=direction, var=var)), sound


def laboratory_sound_share(
    belief: Belief, innovation: Array, var: Array, tpc_pct: Array
) -> tuple[Array, Array]:
    """Return how probably results (K, F) are sound, and the variance that odd ones have on top."""
    known = belief.known
    odd_var = (belief.gain_mean() * known.laboratory_odd_spread.sd * tpc_pct) ** 2
    odds = logit(known.laboratory_odd_share.value) + log_density_ratio(innovation, var + odd_var, var)
    return expit(-odds), odd_var


def log_density_ratio(x: Array, var: Array, of_var: Array) -> Array:
    """Return the logarithm of the ratio of centred normals' densities, of ``var`` to ``of_var``."""
    return 0.5 * (np.log(of_var / var) + x * x * (1 / of_var - 1 / var))


def density(x: Array, var: Array) -> Array:
    """Return the density of a centred normal."""
    return np.exp(-0.5 * x * x / var) / np.sqrt(2 * np.pi * var)
