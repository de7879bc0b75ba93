"""What meter readings say, when one may be wet, wrong, or of another fill.

The readings of an occasion are judged together, against what was expected before the first of them, so
that their order says nothing. Each is held near their middle, in which the book has a vote, and
all together near what the book expects: a higher reading never lowers what is believed. What
lies too far off is doubted: it moves the level of its own bath as far as a reading may, teaches
nothing else, and leaves the belief wider.
Where readings fit a fresh fill far better than the old one, it was a change nobody wrote down.

What meters read teaches no response G. It is tied to the fresh value beforehand, so that oil which
ages otherwise than the model has it would move it through young oil that nobody read; its
distribution is cut off from readings (a cut model: Plummer, Stat. Comput. 25:37, 2015, from memory),
but for those beside a laboratory's result, which are what a result is held against.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index, Mask, solved, some
from kettlewell.core.belief.filter import Observation, refill, update
from kettlewell.core.belief.joint import LEVEL, Belief, along, covariance_with, dot
from kettlewell.core.belief.layout import pick
from kettlewell.core.belief.middle import middle_of
from kettlewell.core.belief.seen import Doubt

LEAST_WEIGHT = 1e-12  # where nothing was read


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What the readings of an occasion were expected to show together before any was taken, of baths (...).

    Mean and variance beside the readings' own, the ``direction`` (..., S) in which they look, how the
    own state (..., 3) of the bath goes with it, the same of a fill begun lately, and the ``pending``
    innovation of a reading that fitted such a fill.
    """

    mean: Array
    var: Array
    direction: Array
    tied: Array
    fresh_mean: Array
    fresh_var: Array
    pending: Array

    def of(self, fryers: Index) -> "Expected":
        """Return what was expected of some fryers (N,) of one kitchen, each a kitchen of its own (N, 1)."""
        return Expected(
            **{name: getattr(self, name)[0, fryers][:, None] for name in Expected.__dataclass_fields__}
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """The readings of an occasion of baths (..., N; nan where none): innovations and their own variances.

    ``well`` (..., N) are those taken as a reading should be, which can bear another out.
    """

    innovation: Array
    var: Array
    well: Mask

    @property
    def weight(self) -> Array:
        """The weight (..., N) of each, 0 where there is none."""
        return np.where(np.isnan(self.innovation), 0.0, 1 / self.var)

    def of(self, fryers: Index) -> "Together":
        """Return the readings of some fryers (N,) of one kitchen, each a kitchen of its own (N, 1)."""
        return Together(
            **{name: getattr(self, name)[0, fryers][:, None] for name in Together.__dataclass_fields__}
        )


def expect(belief: Belief, taken: Sequence[Observation], well: Sequence[Mask]) -> tuple[Expected, Together]:
    """Return what N readings of each bath (K, F) were expected to show, and how they differ from it.

    ``taken`` are observed on the same belief; ``well`` tells which were taken as they should be. A
    reading looks in its own meter's direction, all together in the mean of theirs, weighed as they
    are precise.
    """
    sensitivity = belief.sensitivity[..., LEVEL, :]
    looks = [sensitivity + each.direction for each in taken]
    means = [belief.base[..., LEVEL] + along(each, belief.shared) for each in looks]
    together = Together(
        innovation=beside_each_other([each.value - mean for each, mean in zip(taken, means, strict=True)]),
        var=beside_each_other([each.var for each in taken]),
        well=beside_each_other(well),
    )
    mean, direction, look = means[0], taken[0].direction, looks[0]
    if len(taken) > 1:
        share = together.weight / np.fmax(together.weight.sum(axis=-1, keepdims=True), LEAST_WEIGHT)
        direction = reduce(np.add, [share[..., n, None] * each.direction for n, each in enumerate(taken)])
        look = sensitivity + direction
        mean = belief.base[..., LEVEL] + along(look, belief.shared)
    crossed = covariance_with(belief.shared_cov, look)
    tied = belief.own_cov[..., LEVEL] + np.matvec(belief.sensitivity, crossed)
    fresh = direction + belief.fresh
    since = belief.known.since_unlogged_change
    expected = Expected(
        mean=mean,
        var=belief.own_cov[..., LEVEL, LEVEL] + dot(crossed, look),
        direction=direction,
        tied=tied,
        fresh_mean=along(fresh, belief.shared) + since.value,
        fresh_var=dot(covariance_with(belief.shared_cov, fresh), fresh) + since.sd**2,
        pending=belief.pending,
    )
    return expected, together


def beside_each_other(each: Sequence[NDArray[Any]]) -> NDArray[Any]:
    """Return arrays (...) as one (..., N)."""
    return each[0][..., None] if len(each) == 1 else np.stack(each, axis=-1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """How the readings of an occasion were taken, by bath (...); ``weight`` is 0 where there are none.

    Where all are ``plain``, one of a bath at most and each as expected, there is nothing more to say. They
    lie ``apart`` from what was expected, and move what they measure by ``shift`` before it is weighed
    with the book, and by ``leap`` beyond that where two agree; ``excess`` is how much farther they lie
    than is believed. ``weight`` of all and ``trusted`` of those not doubted are the inverse of variances.
    Where they fit a ``fresh`` fill, and where a change nobody wrote down was concluded (``changed``). Of
    each reading (..., N) the innovation and the ``doubt``.
    """

    apart: Array
    shift: Array
    leap: Array
    excess: Array
    weight: Array
    trusted: Array
    fresh: Mask
    changed: Mask
    innovation: Array
    doubt: Index
    plain: bool = False

    def unless(self, where: Mask) -> "Weighed":
        """Return the same but for changes concluded ``where`` (...) none is."""
        return replace(self, changed=self.changed & ~where)

    def but(self, fryer: int) -> "Weighed":
        """Return what was read in all fryers of a kitchen but one."""
        weight = self.weight.copy()
        weight[:, fryer] = 0.0
        return replace(self, weight=weight)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pooled:
    """The readings of an occasion as one (...): where they lie ``apart`` from what was expected, by weight.

    ``weights`` (..., N) of those that count; whether each is too ``low`` for the book, and whether
    it does ``agree`` with the rest, or if it is alone with the book, or lies ``above`` that; what
    ``share`` of it is trusted, less the farther it lies from the rest. ``borne_out`` where several can
    bear each other out.
    """

    apart: Array
    weights: Array
    low: Mask
    agree: Mask
    share: Array
    above: Mask
    borne_out: Mask


def bounds_of(known: Coefficients, expected: Expected, together: Together) -> Array:
    """Return how far (..., N) readings may lie from what was expected of them, and not be doubted."""
    return np.asarray(known.doubt_sds.value * np.sqrt(expected.var[..., None] + together.var))


def pooled(known: Coefficients, expected: Expected, together: Together) -> Pooled:
    """Return the readings of an occasion as one, each held near their middle."""
    innovation, var, weights = together.innovation, together.var, together.weight
    bounds = bounds_of(known, expected, together)
    low, within = innovation < -bounds, np.abs(innovation) <= bounds
    alone = Pooled(
        apart=np.where(weights[..., 0] > 0, innovation[..., 0], 0.0),
        weights=weights,
        low=low,
        agree=within,
        share=np.where(within, 1.0, 0.0),
        above=innovation > bounds,
        borne_out=np.zeros(expected.var.shape, bool),
    )
    if innovation.shape[-1] == 1:
        return alone
    weights = np.where(low & ~outvoted(low, weights > 0), 0.0, weights)
    voters = together.well & (weights > 0)
    reach = known.doubt_sds.value * np.sqrt(expected.var)
    middle = middle_of(np.where(voters, innovation, np.nan), reach)[..., None]
    above, below, alike = (
        sds_apart.value * np.sqrt(2 * var)
        for sds_apart in (known.held_sds, known.held_below_sds, known.alike_sds)
    )
    several = (weights > 0).sum(axis=-1, keepdims=True) > 1
    held = np.where(several, np.clip(innovation, middle - below, middle + above), innovation)
    total, off = np.fmax(weights.sum(axis=-1), LEAST_WEIGHT), np.abs(innovation - middle)
    share = np.clip((alike - off) / (alike - above), 0.0, 1.0)
    return Pooled(
        apart=np.nansum(weights * held, axis=-1) / total,
        weights=weights,
        low=low,
        agree=np.where(several, off <= alike, within),
        share=np.where(several, share, within),
        above=innovation > np.where(several, middle, 0.0),
        borne_out=voters.sum(axis=-1) > 1,
    )


def as_they_are(together: Together) -> Weighed:
    """Return how single readings of baths are taken that are as expected."""
    weight, innovation = together.weight[..., 0], together.innovation[..., 0]
    apart = np.where(weight > 0, innovation, 0.0)
    nothing, nowhere = np.zeros(weight.shape), np.zeros(weight.shape, bool)
    return Weighed(
        apart=apart,
        shift=apart,
        leap=nothing,
        excess=nothing,
        weight=weight,
        trusted=weight,
        fresh=nowhere,
        changed=nowhere,
        innovation=together.innovation,
        doubt=np.zeros(together.innovation.shape, np.intp),
        plain=True,
    )


def weigh(known: Coefficients, expected: Expected, together: Together) -> Weighed:
    """Return how the readings of an occasion are taken: higher ones never as less than lower ones."""
    beyond = np.abs(together.innovation) > bounds_of(known, expected, together)
    if beyond.shape[-1] == 1 and not some(beyond):
        return as_they_are(together)
    found = pooled(known, expected, together)
    apart, total, sound = found.apart, found.weights.sum(axis=-1), found.agree & ~found.low
    trusted = np.nansum(found.weights * found.share * ~found.low, axis=-1)
    own_var = 1 / np.fmax(total, LEAST_WEIGHT)
    most = known.doubt_sds.value * np.sqrt(expected.var + own_var)
    excess = apart - np.clip(apart, -most, most)
    leap = np.where(found.borne_out, np.maximum(excess, 0.0), 0.0)
    fresh = changed = (excess < 0) & (apart < -known.least_fall.value)
    if some(fresh):
        fresh = fresh & fits_fresh_fill(known, expected, apart, own_var)
        again = np.abs(apart - expected.pending) < known.alike_sds.value * np.sqrt(2 * own_var)
        all_low = ((found.agree & found.low) | (found.weights == 0)).all(axis=-1)
        precise = own_var < known.largest_sd_that_bears_out.value**2
        changed = fresh & precise & (again | (found.borne_out & all_low))
    below = np.where(fresh, Doubt.UNLOGGED_CHANGE, Doubt.CONTRADICTS)[..., None]
    return Weighed(
        apart=apart,
        shift=np.where(excess < 0, 0.0, apart - excess),
        leap=leap,
        excess=excess,
        weight=total,
        trusted=np.where((excess == 0) | (leap > 0), trusted, 0.0),
        fresh=fresh,
        changed=changed,
        innovation=together.innovation,
        doubt=np.where(sound, Doubt.NONE, np.where(found.above & ~found.low, Doubt.WET, below)),
    )


def outvoted(low: Mask, read: Mask) -> Mask:
    """Return where (..., 1) too low readings count nevertheless: among more others, or alone."""
    others = (read & ~low).sum(axis=-1, keepdims=True)
    return np.asarray((others == 0) | (low.sum(axis=-1, keepdims=True) < others))


def fits_fresh_fill(known: Coefficients, expected: Expected, apart: Array, var: Array) -> Mask:
    """Return where (...) readings fit a fill begun lately far better than the one in the book."""
    share, odd_share = known.unlogged_change_share.value, known.odd_share.value
    off_fresh = expected.mean + apart - expected.fresh_mean
    was_changed = share * density(off_fresh, expected.fresh_var + var)
    same = (1 - share) * density(apart, expected.var + var)
    odd = odd_share * density(apart, expected.var + var + known.odd_spread.sd**2)
    return was_changed > same + odd


def believed(belief: Belief, weighed: Weighed, expected: Expected, *, beside: Mask | None = None) -> Belief:
    """Return the belief (K, F) once readings count as they were weighed; those of other baths may follow.

    Those ``beside`` (K, F) a laboratory's result of the same oil teach the response as well.
    """
    known, read = belief.known, weighed.weight > 0
    if weighed.plain:
        value = np.where(read, expected.mean + weighed.apart, np.nan)
        seen = Observation(
            value=value, direction=expected.direction, var=1 / np.where(read, weighed.weight, 1.0)
        )
        return told_apart(belief, seen, beside, pending=np.where(read, np.nan, belief.pending))
    changed = weighed.changed & read
    if some(changed):
        lot_sd = float(np.hypot(known.since_unlogged_change.sd, known.fill_to_fill.sd))
        since = np.where(changed, known.since_unlogged_change.value, 0.0)
        belief = raised(refill(belief, changed, lot_sd=lot_sd), since)
    leap = np.where(read, weighed.leap, 0.0)
    if some(leap > 0):
        belief = raised(belief, leap)
    trusted = np.where(changed, weighed.weight, weighed.trusted) * read
    value = expected.mean + np.where(changed, weighed.apart, weighed.shift + leap)
    seen = Observation(
        value=np.where(trusted > 0, value, np.nan),
        direction=expected.direction,
        var=1 / np.where(trusted > 0, trusted, 1.0),
    )
    too_high = (weighed.excess > 0) & (weighed.leap == 0)
    pending = np.where((weighed.fresh & ~changed) | too_high, weighed.apart, np.nan)
    belief = told_apart(belief, seen, beside, pending=np.where(read, pending, belief.pending))
    doubted = read & ~changed & (weighed.trusted < weighed.weight)
    return with_doubted(belief, weighed, expected, doubted) if some(doubted) else belief


def told_apart(belief: Belief, seen: Observation, beside: Mask | None, *, pending: Array) -> Belief:
    """Return the belief after readings, of which those ``beside`` a laboratory's result teach responses."""
    if beside is None or not some(beside):
        return with_responses_of(update(belief, seen, pending=pending), belief)
    alone = replace(seen, value=np.where(beside, np.nan, seen.value))
    after = with_responses_of(update(belief, alone, pending=pending), belief)
    return update(after, replace(seen, value=np.where(beside, seen.value, np.nan)))


def with_responses_of(belief: Belief, before: Belief) -> Belief:
    """Return the belief with the responses as they were ``before``, and all else as it is given them."""
    gains = belief.layout.gains
    old, cov = belief.shared_cov[:, gains, gains], belief.shared_cov[:, gains]
    pull = solved(old, cov).swapaxes(-1, -2)
    moved = before.shared[:, gains] - belief.shared[:, gains]
    wider = before.shared_cov[:, gains, gains] - old
    shared = belief.shared + np.matvec(pull, moved)
    shared_cov = belief.shared_cov + pull @ wider @ pull.swapaxes(-1, -2)
    return belief.with_own(
        belief.base, belief.sensitivity, own_cov=belief.own_cov, shared=(shared, shared_cov)
    )


def with_doubted(belief: Belief, weighed: Weighed, expected: Expected, where: Mask) -> Belief:
    """Return the belief once what is doubted moved its own bath as far as if it were not, and widened it."""
    weights = np.fmax(weighed.trusted, LEAST_WEIGHT), np.fmax(weighed.weight, LEAST_WEIGHT)
    trusted, whole = (1 / (expected.var + 1 / weight) for weight in weights)
    more = np.where(where, weighed.shift * (whole - trusted), 0.0)
    too_high = np.minimum(weighed.excess - weighed.leap, weighed.shift)
    unused = np.where(weighed.excess < 0, weighed.apart, too_high)
    wider = np.where(where & ~weighed.fresh, belief.known.widening.value * unused, 0.0)
    own_cov = belief.own_cov.copy(order="K")
    own_cov[..., LEVEL, LEVEL] += wider**2
    return replace(belief, base=belief.base + expected.tied * more[..., None], own_cov=own_cov)


def braced(belief: Belief, read: Mask) -> Belief:
    """Return the belief with levels widened that were doubted to stand too high, where ``read`` (K, F) again.

    Whether the next reading says that they do or not, it is believed.
    """
    where = read & (belief.pending > 0)
    if not some(where):
        return belief
    own_cov = belief.own_cov.copy(order="K")
    own_cov[..., LEVEL, LEVEL] += np.where(where, belief.known.widening.value * belief.pending, 0.0) ** 2
    return replace(belief, own_cov=own_cov, pending=np.where(where, np.nan, belief.pending))


def raised(belief: Belief, by: Array) -> Belief:
    """Return the belief with levels raised by so much (K, F)."""
    base = belief.base.copy(order="K")
    base[..., LEVEL] += by
    return replace(belief, base=base)


def assimilate_laboratory(belief: Belief, tpc_pct: Array, u_pct: Array) -> tuple[Belief, Array]:
    """Return the belief after laboratory results (K, F; nan where none), and the share of each that is sound.

    0 = y - l G + u G (bias + noise): a part of each result's variance is one in all of them. It is sound
    or odd (another fryer's bottle, a slip, one of the laboratories that lay outside), and moves the belief
    by the mean of what each of the two would.
    """
    known, gain, result = belief.known, belief.gain_mean(), np.nan_to_num(tpc_pct)
    direction = -result[..., None] * belief.gain
    direction[..., belief.layout.laboratory] += known.laboratory_common * gain * u_pct
    looks = belief.sensitivity[..., LEVEL, :] + direction
    mean = belief.base[..., LEVEL] + along(looks, belief.shared)
    spread_var = belief.own_cov[..., LEVEL, LEVEL] + dot(covariance_with(belief.shared_cov, looks), looks)
    own_var = (known.laboratory_own * gain * u_pct) ** 2
    spread_var = spread_var + own_var
    sound, odd_var = laboratory_sound_share(belief, mean, spread_var, result)
    weight = sound / spread_var + (1 - sound) / (spread_var + odd_var)
    var = own_var + 1 / weight - spread_var
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
