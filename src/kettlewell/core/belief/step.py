"""One step of a walk through the book: from a frozen state to the next.

A step first lets the meters drift, then pours oil, lets every vessel work, takes in what was
measured, and what was done to the meters. ``step`` is the only way a state changes: history, checkpoints,
what-if and practice kitchens are folds over it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.control import Control, assimilate_control, with_another_control
from kettlewell.core.belief.deliveries import delivered
from kettlewell.core.belief.filter import (
    Work,
    not_slower,
    own_copies,
    predict,
    refill,
    rescaled,
    treated,
    untied,
)
from kettlewell.core.belief.joint import BEND, LEVEL, RATE, Belief
from kettlewell.core.belief.meters import (
    adjusted,
    assimilate_check,
    replace_marginal,
    wander,
)
from kettlewell.core.belief.occasion import Occasion, Readings, is_long, taken_in
from kettlewell.core.belief.readings import assimilate_laboratory
from kettlewell.core.belief.response import beside_laboratory, response_of
from kettlewell.core.belief.scatter import checked_at
from kettlewell.core.belief.seen import Seen, filled_anew
from kettlewell.core.belief.state import State
from kettlewell.core.metering.drift import begun_anew, checked


@dataclass(frozen=True, slots=True, kw_only=True)
class Refill:
    """The vessels ``where`` (K, V) are filled with fresh ``oil`` (K, V), at a time in POSIX seconds.

    ``of_delivery`` says that it is of the delivery that came last, else it may be of any.
    """

    where: Mask
    oil: Index
    at_s: float
    of_delivery: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivered:
    """A delivery of ``oil`` is used from now on; its certificate states ``stated_pct`` (K,; nan if not)."""

    oil: int
    stated_pct: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixing:
    """In the kitchens ``where`` (K,), oil goes from one vessel ``into`` another.

    ``source`` and ``into`` (K,) are places among the vessels; ``share`` (K,) of what is in the vessel
    afterwards came with it. ``takes_over`` says that it brings its readings along, ``brings_age``
    that it brings its age; ``leaves_empty`` that nothing is left behind.
    """

    where: Mask
    source: Index
    into: Index
    share: Array
    takes_over: bool
    brings_age: bool
    leaves_empty: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensed:
    """Oil found spoiled in the vessels ``where`` (K, V) at a time, POSIX seconds."""

    where: Mask
    at_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Results:
    """Laboratory results of samples (K, V; nan where none).

    With their uncertainties, when they were taken, and where each is written.
    """

    pct: Array
    u_pct: Array
    at_s: Array
    refs: NDArray[np.object_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A ``meter`` read in reference oil (K,): the deviation (nan where none) and its variance.

    Taken ``at_s``, POSIX seconds (nan where none), ``days`` after its last check; ``adjusted`` (K,) says that
    it was adjusted just before it, ``other_lot`` (K,) that it is not the lot of last time, and ``lot_var``
    (K,) by how much its error may differ. In a ``control`` oil ``days`` and ``lot_var`` mean nothing.
    """

    meter: int
    deviation_pct: Array
    own_u_pct: Array
    at_s: Array
    days: Array
    adjusted: Mask
    other_lot: Mask
    lot_var: Array
    control: Control | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Adoption:
    """A comparison taken over: in ``oil`` a ``meter`` reads offset + gain · what the other says.

    ``against`` is another meter, or None for the laboratory; ``cov`` (2, 2) of gain and offset.
    """

    meter: int
    against: int | None
    oil: int
    gain: float
    offset_pct: float
    cov: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Treated:
    """The oil in the vessels ``where`` (K, V) was treated with filter powder."""

    where: Mask


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A gap in the book ends: what all vessels are read at next says nothing of how fast they age."""


Act = Refill | Delivered | Mixing | Sensed | Treated | Gap
MeterAct = Check | Adoption


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What happens: drift of the meters in days (K,), acts on vessels, then work, measurements, meters."""

    drift_days: Array | None = None
    acts: tuple[Act, ...] = ()
    work: Work | None = None
    readings: Readings | None = None
    results: Results | None = None
    meters: tuple[MeterAct, ...] = ()

    @property
    def only_works(self) -> bool:
        """Whether nothing happens but work."""
        measured = self.readings is not None or self.results is not None
        return not (measured or self.acts or self.meters or self.drift_days is not None)


def step(state: State, taken: Step) -> State:
    """Return the state after one step."""
    lasts = lasting(state, taken)
    ready = worked(poured(drifted(state, taken), taken), taken)
    if lasts is not ready.occasion:
        ready = ready.with_occasion(lasts)
    return tended(measured(ready, taken), taken)


def lasting(state: State, taken: Step) -> Occasion | None:
    """Return which readings others may still join: none of baths with other oil, or after long work."""
    occasion = state.occasion
    if occasion is None or (taken.work is not None and is_long(taken.work)):
        return None
    if taken.acts:
        occasion = occasion.without(touched(taken.acts, state.seen.empty.shape))
    if not occasion.rounds:
        return None
    before = replace(state, belief=occasion.belief, seen=occasion.seen)
    before = poured(drifted(before, taken), taken)
    before = worked(before, taken)
    return replace(occasion, belief=before.belief, seen=before.seen)


def touched(acts: Sequence[Act], shape: tuple[int, ...]) -> Mask:
    """Return which vessels (K, V) acts are about."""
    found = np.zeros(shape, bool)
    for act in acts:
        match act:
            case Mixing():
                k = np.flatnonzero(act.where)
                found[k, act.into[k]] = found[k, act.source[k]] = True
            case Gap():
                found[:] = True
            case Refill() | Sensed() | Treated():
                found |= act.where
    return found


def drift_var(state: State, taken: Step) -> Array:
    """Return the variances (K, 2, M) by which meters drift in a step, and their reference values."""
    walk_var = state.drifting.walk_var
    days = np.zeros(len(walk_var)) if taken.drift_days is None else taken.drift_days
    return np.stack([days[:, None] * walk_var, np.zeros_like(walk_var)], axis=1)


def drifted(state: State, taken: Step) -> State:
    """Return the state once the meters have drifted."""
    if taken.drift_days is None:
        return state
    return state.with_belief(wander(state.belief, drift_var(state, taken)))


def poured(state: State, taken: Step) -> State:
    """Return the state after the acts on vessels."""
    for act in taken.acts:
        match act:
            case Refill():
                state = refilled(state, act)
            case Delivered():
                lot_var = state.lot_sd_pct[:, act.oil] ** 2
                state = state.with_belief(delivered(state.belief, act.oil, lot_var, act.stated_pct))
            case Mixing():
                state = pour(state, act)
            case Treated():
                state = state.with_belief(treated(state.belief, act.where))
            case Gap():
                state = state.with_belief(untied(state.belief))
            case Sensed():
                first = act.where & np.isnan(state.seen.spoiled_s)
                spoiled_s = np.where(first, act.at_s, state.seen.spoiled_s)
                state = replace(state, seen=replace(state.seen, spoiled_s=spoiled_s))
    return state


def refilled(state: State, act: Refill) -> State:
    """Return the state once vessels were filled fresh."""
    belief = other_oil(state, np.where(act.where, act.oil, state.belief.oil)).belief
    fill_sd = belief.known.fill_to_fill.sd
    kitchens = np.arange(len(belief.oil))[:, None]
    lot_sd = fill_sd if act.of_delivery else state.lot_sd_pct[kitchens, belief.oil]
    seen = filled_anew(state.seen, act.where, act.at_s)
    return state.with_belief(refill(belief, act.where, lot_sd=lot_sd), seen)


def pour(state: State, act: Mixing) -> State:
    """Return the state once oil went from one vessel into another.

    What both oils have in common beyond the shared values is forgotten, so the
    level's variance is a little too small when they came from one bath.
    """
    belief, k = state.belief, np.flatnonzero(act.where)
    source, into, share = act.source[k], act.into[k], act.share[k]
    base, sensitivity, cov = own_copies(belief)
    rest = 1 - share
    base[k, into, LEVEL] = rest * base[k, into, LEVEL] + share * belief.base[k, source, LEVEL]
    sensitivity[k, into, LEVEL] = (
        rest[:, None] * sensitivity[k, into, LEVEL] + share[:, None] * belief.sensitivity[k, source, LEVEL]
    )
    own, came = cov[k, into, LEVEL, LEVEL], belief.own_cov[k, source, LEVEL, LEVEL]
    cov[k, into, LEVEL, LEVEL] = rest**2 * own + share**2 * came
    for other in (RATE, BEND):
        cov[k, into, LEVEL, other] = cov[k, into, other, LEVEL] = rest * cov[k, into, LEVEL, other]
    oil = belief.oil.copy()
    oil[k, into] = np.where(share > 0.5, belief.oil[k, source], oil[k, into])
    mixed = replace(state, belief=replace(belief, base=base, sensitivity=sensitivity, own_cov=cov))
    return replace(other_oil(mixed, oil), seen=seen_after(state.seen, act))


def seen_after(seen: Seen, act: Mixing) -> Seen:
    """Return what is seen once oil was poured: spoiled oil stays spoiled wherever it goes."""
    k, (_, vessels) = np.arange(len(act.where)), seen.empty.shape
    at_into = act.where[:, None] & (np.arange(vessels) == act.into[:, None])
    at_source = act.where[:, None] & (np.arange(vessels) == act.source[:, None])
    came = Seen(**{name: of_vessel(getattr(seen, name), k, act.source) for name in SEEN})
    after = seen
    if act.takes_over:
        after = seen.taken_from(at_into, came)
    elif act.brings_age:
        after = filled_anew(seen, at_into, came.filled_s)
    spoiled = np.where(at_into & np.isnan(after.spoiled_s), came.spoiled_s, after.spoiled_s)
    after = replace(after, spoiled_s=spoiled, empty=after.empty & ~at_into)
    if act.leaves_empty:
        after = filled_anew(after, at_source, np.nan)
        after = replace(after, empty=after.empty | at_source)
    return after


SEEN = tuple(Seen.__dataclass_fields__)


def of_vessel(array: NDArray[Any], k: Index, vessel: Index) -> NDArray[Any]:
    """Return an array (K, V, …) with one vessel (K,) of each kitchen in the place of all."""
    return np.broadcast_to(array[k, vessel][:, None], array.shape)


def other_oil(state: State, oil: Index) -> State:
    """Return the state with other oils (K, V) in the vessels, each ageing at its own kind's rate."""
    belief = state.belief
    if (oil == belief.oil).all():
        return state
    new, old = (np.take_along_axis(state.rate_factor, index, axis=1) for index in (oil, belief.oil))
    spread = [np.take_along_axis(state.rate_factor_rel_sd, index, axis=1) for index in (oil, belief.oil)]
    rel_sd = np.where(oil == belief.oil, 0.0, np.hypot(*spread))
    return replace(state, belief=rescaled(belief, new / old, rel_sd).with_oil(oil))


def worked(state: State, taken: Step) -> State:
    """Return the state after the work of a step."""
    return state if taken.work is None else state.with_belief(predict(state.belief, taken.work))


def measured(state: State, taken: Step) -> State:
    """Return the state after the readings and laboratory results of a step."""
    if (readings := taken.readings) is not None:
        before = state.occasion or Occasion(belief=state.belief, seen=state.seen, scatter=state.scatter)
        occasion = before.joined(readings)
        belief, seen, scatter = taken_in(occasion)
        state = state.with_occasion(occasion, belief=not_slower(belief), seen=seen, scatter=scatter)
    if (results := taken.results) is not None:
        seen = state.seen
        came = ~np.isnan(results.pct)
        expected_pct = state.belief.own_mean()[..., LEVEL] / state.belief.gain_mean()
        belief, sound = assimilate_laboratory(state.belief, results.pct, results.u_pct)
        doubted = sound < belief.known.doubt.value
        surprise_pct = np.where(doubted, results.pct - expected_pct, np.nan)
        seen = replace(
            seen,
            laboratory_s=np.where(came, results.at_s, seen.laboratory_s),
            laboratory_pct=np.where(came, results.pct, seen.laboratory_pct),
            laboratory_ref=np.where(came, results.refs, seen.laboratory_ref),
            laboratory_surprise_pct=np.where(came, surprise_pct, seen.laboratory_surprise_pct),
        )
        state = replace(state, belief=not_slower(belief), seen=seen, occasion=None)
    return state


def tended(state: State, taken: Step) -> State:
    """Return the state after what was done to the meters."""
    for act in taken.meters:
        match act:
            case Check():
                state = after_check(state, act)
            case Adoption():
                state = replace(state, belief=adopted(state.belief, act))
    return replace(state, belief=not_slower(state.belief), occasion=None) if taken.meters else state


def after_check(state: State, check: Check) -> State:
    """Return the state after a meter was read in reference oil, as found or as left."""
    belief, drifting, meter = state.belief, state.drifting, check.meter
    state = replace(state, scatter=checked_at(state.scatter, meter, check.at_s))
    if check.adjusted.any():
        belief = adjusted(belief, meter, check.adjusted)
    if check.lot_var.any():
        belief = wander(belief, lot_noise(check, drifting.walk_var.shape[1]))
    if check.control:
        if check.other_lot.any():
            belief = with_another_control(belief, check.other_lot)
        noise_var = check.own_u_pct**2
        belief = assimilate_control(
            belief, meter, check.control, deviation_pct=check.deviation_pct, var=noise_var
        )
        return state.with_belief(belief)
    of_meter = drifting.of_meter(meter)
    anew = check.adjusted | check.other_lot
    if anew.any():
        of_meter = begun_anew(of_meter, anew)
    of_meter = checked(of_meter, check.days, check.deviation_pct, check.own_u_pct)
    belief = assimilate_check(belief, meter, check.deviation_pct, check.own_u_pct**2)
    return replace(state, belief=belief, drifting=drifting.with_meter(meter, of_meter))


def adopted(belief: Belief, act: Adoption) -> Belief:
    """Return the belief once a comparison was taken over, straight about what is believed.

    Beside the laboratory a meter reads b + r G (1 - u λ) l, so that the gain is r G (1 - u λ): its bias λ
    stays as uncertain as it was. Beside another, n, it reads b - r b' + r z' with r = r/r', so that the
    gain is r and the offset b - r b'.
    """
    oil, response = act.oil, response_of(belief, act.meter, act.oil)
    if act.against is None:
        line = beside_laboratory(belief, response)
        gain, offset, by_gain, by_offset = line.gain, line.offset_pct, line.by_gain, line.by_offset
    else:
        other = response_of(belief, act.against, oil)
        gain = response.ratio / other.ratio
        by_gain = (response.by_ratio - gain[:, None] * other.by_ratio) / other.ratio[:, None]
        offset = response.offset_pct - gain * other.offset_pct
        by_offset = response.by_offset - gain[:, None] * other.by_offset - other.offset_pct[:, None] * by_gain
    news = np.stack([act.gain - gain, act.offset_pct - offset], axis=-1)
    return replace_marginal(belief, np.stack([by_gain, by_offset], axis=-2), news, act.cov)


def lot_noise(check: Check, meters: int) -> Array:
    """Return the variances (K, 2, M) by which the error of another lot may differ."""
    var = np.zeros((len(check.lot_var), 2, meters))
    var[:, 1, check.meter] = check.lot_var
    return var
