"""What is believed of the past once everything after it is known, for the records.

The fixed-interval smoother of Rauch, Tung & Striebel (AIAA J. 3:1445-1450, 1965), run on
each fryer given the shared values: mean, sensitivity and covariance are smoothed with the same
gains, and the shared values enter once at the end with all that was learnt of them. It goes back
to the last change of settings that ageing depends on, or to the last delivery that was named: what was
before is told by what was known then.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import groupby
from operator import attrgetter
from typing import Any

import numpy as np

from kettlewell.book import Entry, Kitchen, Move
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.filter import Work, carry, predict
from kettlewell.core.belief.joint import LEVEL, OWN, Belief, stack
from kettlewell.core.belief.level import level_of
from kettlewell.core.belief.meters import NoiseLog, recondition
from kettlewell.core.belief.settle import of_vessels, place_of
from kettlewell.core.belief.state import State
from kettlewell.core.belief.step import (
    Check,
    Delivered,
    Mixing,
    Refill,
    Step,
    Treated,
    drift_var,
    drifted,
    lasting,
    lot_noise,
    measured,
    poured,
    tended,
    worked,
)
from kettlewell.core.belief.tape import VESSEL_ACTS, Interval, Tape
from kettlewell.core.belief.walk import Origin, Settings, walk_days, walk_to


@dataclass(frozen=True, slots=True, kw_only=True)
class PastTpc:
    """The true TPC of one fryer at the end of a past service, as believed now."""

    at: datetime
    tpc_mean_pct: float
    tpc_sd_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """One step of a walk, kept for the smoother.

    The beliefs after the acts on vessels, after the work and after all measurements, each with the
    process noise up to then. ``refilled`` (V,) are vessels whose oil is another after the acts,
    ``changed`` (V,) those where an unlogged change was concluded. ``owed`` is work of the same
    interval that comes after its last measurement; ``delivery`` counts those that were named.
    """

    kitchen: Kitchen
    fryers: tuple[str, ...]
    interval: Interval
    work: Work | None
    noise: NoiseLog
    noise_after: NoiseLog
    filled: Belief
    aged: Belief
    measured: Belief
    refilled: Mask
    changed: Mask
    delivery: int = 0
    owed: Work | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """A walk up to the state ``until``: its moments, and the process noise of the meters meanwhile."""

    until: State
    moments: tuple[Moment, ...] = ()
    noise: NoiseLog = field(default_factory=NoiseLog)


class Tracer:
    """Folds steps as a walk does, and keeps what the smoother needs of each."""

    def __init__(self, before: "Trace | None") -> None:
        """Begin with the noise, and the deliveries, up to now."""
        self.moments: list[Moment] = []
        self.noise = before.noise if before else NoiseLog()
        self.delivery = before.moments[-1].delivery if before and before.moments else 0

    def fold(self, state: State, tapes: Sequence[Tape]) -> State:
        """Return the state after the steps of some intervals."""
        self.noise = self.noise.for_meters(state.belief.layout.meters)
        for tape in tapes:
            for taken in tape.steps:
                state = self.step(state, taken, tape.interval)
            if tape.owed is not None:
                self.moments[-1] = replace(self.moments[-1], owed=tape.owed)
        return state

    def step(self, state: State, taken: Step, interval: Interval) -> State:
        """Return the state after a step, having kept it."""
        if taken.drift_days is not None:
            self.noise = self.noise.on(drift_var(state, taken)[0])
        self.delivery += any(isinstance(act, Delivered) for act in taken.acts)
        filled = poured(drifted(state, taken), taken)
        aged = replace(worked(filled, taken), occasion=lasting(state, taken))
        seen = measured(aged, taken)
        noise = self.noise
        after = tended(seen, taken)
        for act in taken.meters:
            if isinstance(act, Check):
                self.note(act)
        self.moments.append(
            Moment(
                kitchen=place_of(state).kitchen,
                fryers=place_of(state).baths.fryers,
                interval=interval,
                work=taken.work,
                noise=noise,
                noise_after=self.noise,
                filled=filled.belief,
                aged=aged.belief,
                measured=after.belief,
                refilled=refilled_in(taken, state),
                delivery=self.delivery,
                changed=np.asarray(seen.seen.filled_s != aged.seen.filled_s)[0]
                & ~(np.isnan(seen.seen.filled_s) & np.isnan(aged.seen.filled_s))[0],
            )
        )
        return after

    def note(self, check: Check) -> None:
        """Keep by how much a check changed what a meter reads."""
        if check.adjusted.any():
            self.noise = self.noise.and_adjusted(check.meter)
        if check.lot_var.any():
            self.noise = self.noise.on(lot_noise(check, self.noise.wandered.shape[1])[0])


def refilled_in(taken: Step, state: State) -> Mask:
    """Return which vessels (V,) hold other oil, or oil made other, after the acts of a step."""
    vessels = np.zeros(state.belief.oil.shape[1], bool)
    for act in taken.acts:
        if isinstance(act, Mixing):
            vessels[[int(act.into[0]), int(act.source[0])]] = True
        elif isinstance(act, Refill | Treated):
            vessels |= act.where[0]
    return vessels


def trace(settings: Settings, entries: Iterable[Entry], *, at: datetime, since: Origin = None) -> Trace:
    """Return the walk up to the book day that runs at ``at``, for ``history`` to go on from.

    Raises ValueError as ``assess`` does.
    """
    tracer = Tracer(None)
    until = walk_days(settings, entries, at=at, since=since, fold=tracer.fold)
    return Trace(until=until, moments=tuple(tracer.moments), noise=tracer.noise)


def history(
    settings: Settings, entries: Iterable[Entry], *, now: datetime, since: Trace | Origin = None
) -> dict[str, tuple[PastTpc, ...]]:
    """Return for each fryer what its oil was at the end of every past service.

    With ``since`` of those in a trace and after it, or after a state alone; ``entries``
    may then hold only what came after it. A bath that got other oil after its service is told
    of before that. Raises ValueError as ``assess`` does.
    """
    before = since if isinstance(since, Trace) else None
    tracer = Tracer(before)
    origin = before.until if before else since
    assert not isinstance(origin, Trace)  # noqa: S101 - tells mypy
    walked = walk_to(settings, entries, now=now, since=origin, fold=tracer.fold)
    moments = [*(before.moments if before else ()), *tracer.moments]
    told: dict[str, list[PastTpc]] = {key: [] for key in walked.place.baths.fryers}
    for _, run in groupby(moments, key=attrgetter("kitchen", "delivery")):
        of_run = list(run)
        late = refilled_late(of_run[0].interval)
        for key, past in told_by(of_run):
            if key in told and past.at <= now:
                tell(told[key], past, late=key in late)
    return {key: tuple(of_it) for key, of_it in told.items()}


def tell(told: list[PastTpc], past: PastTpc, *, late: bool) -> None:
    """Add what is told of a service, or tell it anew where another run ends it, unless ``late`` after it."""
    if told and told[-1].at == past.at:
        if late:
            return
        told.pop()
    told.append(past)


def told_by(run: Sequence[Moment]) -> Iterator[tuple[str, PastTpc]]:
    """Yield what the oil was after services under the same settings, by what was known in their end."""
    moments = restated([of_fryers(moment) for moment in run], run[-1].noise_after)[::-1]
    tpc = tpc_of(moments, list(smoothed(moments)), moments[0].measured)
    for i, (key, told) in enumerate(told_of(moments).items()):
        for n, at in reversed(told):
            mean, sd = float(tpc.mean_pct[n, i]), float(tpc.sd_pct[n, i])
            yield key, PastTpc(at=at, tpc_mean_pct=mean, tpc_sd_pct=sd)


def of_fryers(moment: Moment) -> Moment:
    """Return a moment of the fryers alone, without what is kept out of them."""
    fryers = np.arange(len(moment.fryers))
    beliefs: dict[str, Any] = {
        name: of_vessels(getattr(moment, name), fryers) for name in ("filled", "aged", "measured")
    }
    works: dict[str, Any] = {name: work_of_fryers(getattr(moment, name), fryers) for name in ("work", "owed")}
    return replace(
        moment, refilled=moment.refilled[fryers], changed=moment.changed[fryers], **beliefs, **works
    )


def work_of_fryers(work: Work | None, fryers: Index) -> Work | None:
    """Return the work of the fryers alone."""
    if work is None:
        return None
    return Work(**{name: getattr(work, name)[..., fryers] for name in Work.__dataclass_fields__})


def told_of(moments: Sequence[Moment]) -> dict[str, list[tuple[int, datetime]]]:
    """Return for each fryer which moments are told of, and as of when; ``moments`` begin with the last."""
    told: dict[str, list[tuple[int, datetime]]] = {key: [] for key in moments[0].fryers}
    following: Moment | None = None
    late: set[str] = set()
    for n, moment in enumerate(moments):
        for key in late & refilled_fryers(following):
            told[key][-1] = n, told[key][-1][1]
        slot, interval = moment.interval.slot, moment.interval
        if following is not None and following.interval.begins == interval.begins:
            late -= fryers_at_work(moment)
        elif slot is not None and slot.begins < interval.until:
            late = refilled_late(interval)
            for of_it in told.values():
                of_it.append((n, min(slot.ends, interval.until)))
        else:
            late = set()
        following = moment
    return told


def refilled_late(interval: Interval) -> set[str]:
    """Return the fryers that got other oil once the service of an interval had ended."""
    if (slot := interval.slot) is None:
        return set()
    late = [entry for entry in interval.entries if isinstance(entry, VESSEL_ACTS) and entry.at >= slot.ends]
    return {entry.into if isinstance(entry, Move) else entry.fryer for entry in late}


def refilled_fryers(moment: Moment | None) -> set[str]:
    """Return the fryers whose oil is another after the acts of a moment."""
    if moment is None:
        return set()
    return {key for key, other in zip(moment.fryers, moment.refilled, strict=True) if other}


def fryers_at_work(moment: Moment) -> set[str]:
    """Return the fryers that work in a moment."""
    if moment.work is None:
        return set()
    return {
        key
        for key, hours in zip(moment.fryers, moment.work.hours[:, 0].sum(axis=0), strict=True)
        if hours > 0
    }


def restated(moments: Sequence[Moment], today: NoiseLog) -> list[Moment]:
    """Return moments with their states given the shared values of ``today``, not of their own time."""
    filled, aged, measured = (
        recondition(
            [getattr(moment, name) for moment in moments], [getattr(moment, at) for moment in moments], today
        )
        for name, at in (("filled", "noise"), ("aged", "noise"), ("measured", "noise_after"))
    )
    return [
        replace(moment, filled=filled[i], aged=aged[i], measured=measured[i])
        for i, moment in enumerate(moments)
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Smoothed:
    """Own states given the shared values: base (F, 3), sensitivity (F, 3, S), covariance (F, 3, 3)."""

    base: Array
    sensitivity: Array
    cov: Array


def smoothed(moments: Sequence[Moment]) -> Iterator[Smoothed]:
    """Yield the own states after each moment, given all that came later; the last moment comes first."""
    later: Smoothed | None = None
    following: Moment | None = None
    for moment, gain in zip(moments, [None, *gains_of(moments[:-1])], strict=True):
        own = moment.measured
        states = Smoothed(base=own.base[0], sensitivity=own.sensitivity[0], cov=own.own_cov[0])
        if later and following and gain is not None:
            states = step_back(states, following.aged, later, gain)
        yield states
        later, following = states, moment


def gains_of(moments: Sequence[Moment]) -> Array:
    """Return the smoother's gains (N, F, 3, 3) for the steps into N moments.

    Where a bath got other oil in between, its level is not followed back through it.
    """
    if not moments:
        return np.empty((0, 0, OWN, OWN))
    predicted = np.concatenate([moment.aged.own_cov for moment in moments])
    gains = np.stack([crossed(moment) for moment in moments]) @ np.linalg.pinv(predicted, hermitian=True)
    gains[np.stack([moment.changed | moment.refilled for moment in moments])] = 0.0
    return np.asarray(gains)


def step_back(before: Smoothed, predicted: Belief, later: Smoothed, gain: Array) -> Smoothed:
    """Return the states of a moment from the ``later`` ones of the next, and what was ``predicted`` there."""
    transposed = gain.swapaxes(-1, -2)
    return Smoothed(
        base=before.base + np.einsum("fij,fj->fi", gain, later.base - predicted.base[0]),
        sensitivity=before.sensitivity + gain @ (later.sensitivity - predicted.sensitivity[0]),
        cov=before.cov + gain @ (later.cov - predicted.own_cov[0]) @ transposed,
    )


def crossed(following: Moment) -> Array:
    """Return the covariance (F, 3, 3) between own states before and after a moment's work."""
    filled = following.filled
    cov = filled.own_cov[0].copy()
    if following.work is not None:
        row = through(carry(filled, following.work).rows[:, 0])
        cov[:, :, LEVEL] = np.einsum("fij,fj->fi", filled.own_cov[0], row)
    return np.asarray(cov)


def through(rows: Array) -> Array:
    """Return the row (F, 3) that takes own states to the level after H stretches, from that of each."""
    whole: Array = rows[0].copy()
    for row in rows[1:]:
        whole *= row[:, [LEVEL]]
        whole[:, LEVEL + 1 :] += row[:, LEVEL + 1 :]
    return whole


@dataclass(frozen=True, slots=True, kw_only=True)
class Tpc:
    """The true TPC of the baths at the end of a moment's service, arrays (N, F)."""

    mean_pct: Array
    sd_pct: Array


def tpc_of(moments: Sequence[Moment], states: Sequence[Smoothed], known: Belief) -> Tpc:
    """Return what the oil was at the end of N moments' services, with what is known of the meter."""
    seen = [seen_now(moment, own, known) for moment, own in zip(moments, states, strict=True)]
    mean, sd = level_of(stack(seen)).tpc_mean_sd()
    return Tpc(mean_pct=mean, sd_pct=sd)


def seen_now(moment: Moment, states: Smoothed, known: Belief) -> Belief:
    """Return a moment's smoothed states as a belief, once the work still owed is done."""
    seen = replace(
        moment.measured,
        base=states.base[None],
        sensitivity=states.sensitivity[None],
        own_cov=states.cov[None],
        shared=known.shared,
        shared_cov=known.shared_cov,
        rate_unit=known.rate_unit,
    )
    return seen if moment.owed is None else predict(seen, moment.owed)
