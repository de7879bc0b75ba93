"""What a meter reading says, when it may be wet, wrong, or of another fill.

A reading is sound, or wet (water raises it), or odd; the weights of the three follow
from its surprise, and a doubted reading counts with the share of it that is sound.
Two readings that surprise alike are believed: something happened that the book lacks.
Where the second fits a fresh fill far better than the old one, it was a change nobody wrote down.
"""

from dataclasses import dataclass, replace

import numpy as np

from kettlewell.core.ageing.coefficients import coefficients
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.filter import Evidence, expected, learn, refill
from kettlewell.core.belief.state import LEVEL, Belief, along, covariance_with, dot

WET_SHARE = coefficients()["wet_share"].value
WET = coefficients()["wet_shift"]
ODD_SHARE = coefficients()["odd_share"].value
ODD_SD_PCT = coefficients()["odd_spread"].sd
UNLOGGED_CHANGE_SHARE = coefficients()["unlogged_change_share"].value
SINCE_CHANGE = coefficients()["since_unlogged_change"]
LEAST_FALL_PCT = 3.0
LARGEST_VAR_THAT_BEARS_OUT = 1.0
DOUBT = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """How a round of readings was taken, all (K, F).

    The share believed sound (nan without a reading), the surprise in percentage points, where
    a reading fits a fresh fill better than the one in the book, and where an unlogged change
    was concluded.
    """

    sound: Array
    surprise: Array
    fresh: Mask
    changed: Mask


def read_by(belief: Belief, reading_pct: Array, var: Array, meters: Index | None = None) -> Evidence:
    """Return readings (K, F; nan where none) as evidence of the levels, by the first meter or others.

    ``meters`` (K, F) says which. A further one reads z = b + r y with its own offset b and ratio
    r, taken as straight about what is believed: z/r̂ + ŷ = y + b/r̂ + (ŷ/r̂) r.
    """
    if meters is None or not meters.any():
        return Evidence(value=reading_pct, direction=belief.offset, var=var)
    value, direction, var = reading_pct.copy(), belief.offset.copy(), var.copy()
    level = belief.own_mean()[..., LEVEL]
    for k, i in np.argwhere(meters > 0):
        offset, ratio = (place(int(meters[k, i])) for place in (belief.layout.offset_of, belief.layout.ratio))
        by = belief.shared[k, ratio]
        value[k, i] = value[k, i] / by + level[k, i]
        direction[k, i] = 0.0
        direction[k, i, offset], direction[k, i, ratio] = 1 / by, level[k, i] / by
        var[k, i] /= by**2
    return Evidence(value=value, direction=direction, var=var)


def hear(belief: Belief, read: Evidence, *, lot_sd: float) -> tuple[Belief, Heard]:
    """Return the belief after meter readings (see ``read_by``) and how they were taken."""
    mean, spread_var = expected(belief, read.direction)
    reading_pct, var = read.value, read.var
    fresh = reading_pct < mean - LEAST_FALL_PCT
    if fresh.any():
        fresh &= fits_fresh_fill(belief, read, reading_pct - mean, spread_var)
    changed = fresh & alike(belief, reading_pct - mean, var)
    if changed.any():
        belief = aged_since(refill(belief, changed, lot_sd=float(np.hypot(SINCE_CHANGE.sd, lot_sd))), changed)
        mean, spread_var = expected(belief, read.direction)
    surprise = reading_pct - mean
    sound = sound_share(surprise, spread_var + var)
    agrees = alike(belief, surprise, var) & ~changed & (var < LARGEST_VAR_THAT_BEARS_OUT)
    if agrees.any():
        belief = loosen(belief, np.where(agrees, surprise, 0.0))
        sound = np.where(agrees, 1.0, sound)
    evidence = replace(read, var=var / np.fmax(sound, 1e-3))
    suspect = np.where(np.isnan(sound), belief.suspect, np.where(sound < DOUBT, surprise, np.nan))
    return replace(learn(belief, evidence), suspect=suspect), Heard(
        sound=sound, surprise=surprise, fresh=fresh, changed=changed
    )


def alike(belief: Belief, surprise: Array, var: Array) -> Mask:
    """Return where (K, F) readings surprise as the doubted ones before them did."""
    return np.asarray(np.abs(surprise - belief.suspect) < 3 * np.sqrt(2 * var))


def sound_share(surprise: Array, var: Array) -> Array:
    """Return the probability that readings with these surprises are sound; nan stays nan."""
    sound = (1 - WET_SHARE - ODD_SHARE) * density(surprise, var)
    wet = WET_SHARE * density(surprise - WET.value, var + WET.sd**2)
    odd = ODD_SHARE * density(surprise, var + ODD_SD_PCT**2)
    return sound / (sound + wet + odd)


def fits_fresh_fill(belief: Belief, read: Evidence, surprise: Array, spread_var: Array) -> Mask:
    """Return where (K, F) readings fit a fill begun lately far better than the one in the book."""
    reading_pct, var = read.value, read.var
    fresh = read.direction + belief.fresh
    fresh_mean = along(fresh, belief.shared) + SINCE_CHANGE.value
    fresh_var = dot(covariance_with(belief.shared_cov, fresh), fresh) + SINCE_CHANGE.sd**2
    was_changed = UNLOGGED_CHANGE_SHARE * density(reading_pct - fresh_mean, fresh_var + var)
    same = (1 - UNLOGGED_CHANGE_SHARE) * density(surprise, spread_var + var)
    odd = ODD_SHARE * density(surprise, spread_var + var + ODD_SD_PCT**2)
    return was_changed > same + odd


def aged_since(belief: Belief, where: Mask) -> Belief:
    """Return the belief with the fills ``where`` (K, F) aged since a change nobody wrote down."""
    base = belief.base.copy(order="K")
    base[..., LEVEL] += np.where(where, SINCE_CHANGE.value, 0.0)
    return replace(belief, base=base)


def loosen(belief: Belief, by: Array) -> Belief:
    """Return the belief with the levels' variance raised by ``by`` squared."""
    own_cov = belief.own_cov.copy(order="K")
    own_cov[..., LEVEL, LEVEL] += by**2
    return replace(belief, own_cov=own_cov)


def hear_laboratory(belief: Belief, tpc_pct: Array, u_pct: Array) -> Belief:
    """Return the belief after laboratory results (K, F; nan where none): 0 = y - l g + noise."""
    direction = -np.nan_to_num(tpc_pct)[..., None] * belief.gain
    value = np.where(np.isnan(tpc_pct), np.nan, 0.0)
    var = (belief.gain_mean() * u_pct) ** 2
    return learn(belief, Evidence(value=value, direction=direction, var=var))


def density(x: Array, var: Array) -> Array:
    """Return the density of a centred normal."""
    return np.exp(-0.5 * x * x / var) / np.sqrt(2 * np.pi * var)
