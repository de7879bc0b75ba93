"""What is believed of the past once everything after it is known, for the records.

The fixed-interval smoother of Rauch, Tung & Striebel (AIAA J. 3:1445-1450, 1965), run on
each fryer given the shared values: mean, sensitivity and covariance are smoothed with the same
gains, and the shared values enter once at the end with all that was learnt of them.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np

from kettlewell.book import Entry, Kitchen, Move
from kettlewell.core.arrays import Array
from kettlewell.core.belief.filter import age, transition
from kettlewell.core.belief.meters import Turns, told_after
from kettlewell.core.belief.replay import walk_days, walk_to
from kettlewell.core.belief.state import LEVEL, OWN, Belief, joined, level_of
from kettlewell.core.belief.timeline import VESSEL
from kettlewell.core.belief.walk import Checkpoint, Leg, Moment, Walk


@dataclass(frozen=True, slots=True, kw_only=True)
class PastTpc:
    """The true TPC of one fryer at the end of a past service, as believed now."""

    at: datetime
    tpc_mean_pct: float
    tpc_sd_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """A walk up to the checkpoint ``until``: its moments, and how the meters changed meanwhile."""

    until: Checkpoint
    moments: tuple[Moment, ...] = ()
    turns: Turns = field(default_factory=Turns)


@dataclass(frozen=True, slots=True, kw_only=True)
class Smoothed:
    """Own states given the shared values: base (F, 3), sensitivity (F, 3, S), covariance (F, 3, 3)."""

    base: Array
    sensitivity: Array
    cov: Array


def course(
    kitchen: Kitchen, entries: Iterable[Entry], *, at: datetime, since: Checkpoint | None = None
) -> Course:
    """Return the walk up to the book day that runs at ``at``, for ``history`` to go on from.

    Raises ValueError as ``assess`` does.
    """
    until, walk = walk_days(kitchen, entries, at=at, since=since, keep_moments=True)
    if walk is None:
        return Course(until=until)
    return Course(until=until, moments=tuple(walk.moments), turns=walk.meters.turns)


def history(
    kitchen: Kitchen, entries: Iterable[Entry], *, now: datetime, since: Course | Checkpoint | None = None
) -> dict[str, tuple[PastTpc, ...]]:
    """Return for each fryer what its oil was at the end of every past service.

    With ``since`` of those in a course and after it, or after a checkpoint alone; ``entries``
    may then hold only what came after it. A bath that got other oil after its service is told
    of before that. Raises ValueError as ``assess`` does.
    """
    before = Course(until=since) if isinstance(since, Checkpoint) else since
    walk = walk_to(kitchen, entries, now=now, since=before.until if before else None, keep_moments=True).walk
    moments = restated(*followed_by(before, walk))[::-1]
    tpc = tpc_of(moments, list(smoothed(moments)), walk.belief)
    return {
        fryer.key: tuple(
            PastTpc(at=at, tpc_mean_pct=float(tpc.mean_pct[n, i]), tpc_sd_pct=float(tpc.sd_pct[n, i]))
            for n, at in reversed(told)
            if at <= now
        )
        for i, (fryer, told) in enumerate(zip(kitchen.fryers, told_of(moments, kitchen), strict=True))
    }


def told_of(moments: Sequence[Moment], kitchen: Kitchen) -> list[list[tuple[int, datetime]]]:
    """Return for each fryer which moments are told of, and as of when; ``moments`` begin with the last."""
    told: dict[str, list[tuple[int, datetime]]] = {fryer.key: [] for fryer in kitchen.fryers}
    following: Moment | None = None
    late: set[str] = set()
    for n, moment in enumerate(moments):
        for key in late & refilled_in(following, kitchen):
            told[key][-1] = n, told[key][-1][1]
        if following is not None and following.leg is moment.leg:
            late -= fryers_at_work(moment, kitchen)
        elif moment.leg.slot.begins < moment.leg.until:
            late = refilled_late(moment.leg)
            for ones in told.values():
                ones.append((n, min(moment.leg.slot.ends, moment.leg.until)))
        else:
            late = set()
        following = moment
    return list(told.values())


def followed_by(before: Course | None, walk: Walk) -> tuple[Sequence[Moment], Turns]:
    """Return the moments of a course and of a walk on from it, and how the meters changed in all."""
    if before is None:
        return walk.moments, walk.meters.turns
    then = before.turns.then
    later = [replace(moment, turns=then(moment.turns), turned=then(moment.turned)) for moment in walk.moments]
    return [*before.moments, *later], before.turns.then(walk.meters.turns)


def refilled_late(leg: Leg) -> set[str]:
    """Return the fryers that got other oil once the service of a stretch had ended."""
    late = [entry for entry in leg.entries if isinstance(entry, VESSEL) and entry.at >= leg.slot.ends]
    return {entry.into if isinstance(entry, Move) else entry.fryer for entry in late}


def refilled_in(moment: Moment | None, kitchen: Kitchen) -> set[str]:
    """Return the fryers whose oil is another after the acts of a moment."""
    if moment is None:
        return set()
    return {fryer.key for fryer, other in zip(kitchen.fryers, moment.emptied, strict=True) if other}


def fryers_at_work(moment: Moment, kitchen: Kitchen) -> set[str]:
    """Return the fryers that work in a moment."""
    if moment.work is None:
        return set()
    hours = moment.work.hours[0]
    return {fryer.key for fryer, hot in zip(kitchen.fryers, hours, strict=True) if hot > 0}


def restated(moments: Sequence[Moment], turns: Turns) -> list[Moment]:
    """Return moments with their states given the shared values of today, not of their own time.

    ``turns`` is how the meters changed until today.
    """
    if not moments:
        return []
    filled, aged, measured = (
        told_after(
            [getattr(moment, name) for moment in moments], [getattr(moment, at) for moment in moments], turns
        )
        for name, at in (("filled", "turns"), ("aged", "turns"), ("measured", "turned"))
    )
    return [
        replace(moment, filled=filled[i], aged=aged[i], measured=measured[i])
        for i, moment in enumerate(moments)
    ]


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
    gains[np.stack([moment.changed | moment.emptied for moment in moments])] = 0.0
    return np.asarray(gains)


def step_back(before: Smoothed, predicted: Belief, later: Smoothed, gain: Array) -> Smoothed:
    """Return the states of a moment from the ``later`` ones of the next, and what was ``predicted`` there."""
    turned = gain.swapaxes(-1, -2)
    return Smoothed(
        base=before.base + np.einsum("fij,fj->fi", gain, later.base - predicted.base[0]),
        sensitivity=before.sensitivity + gain @ (later.sensitivity - predicted.sensitivity[0]),
        cov=before.cov + gain @ (later.cov - predicted.own_cov[0]) @ turned,
    )


def crossed(following: Moment) -> Array:
    """Return the covariance (F, 3, 3) between own states before and after a moment's work."""
    filled = following.filled
    cov = filled.own_cov[0].copy()
    if following.work is not None:
        own = filled.own_mean()
        row = transition(own, own[..., LEVEL] - filled.fresh_mean(), following.work)[0]
        cov[:, :, LEVEL] = np.einsum("fij,fj->fi", filled.own_cov[0], row)
    return np.asarray(cov)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tpc:
    """The true TPC of the baths at the end of a moment's service, arrays (N, F)."""

    mean_pct: Array
    sd_pct: Array


def tpc_of(moments: Sequence[Moment], states: Sequence[Smoothed], known: Belief) -> Tpc:
    """Return what the oil was at the end of N moments' services, with what is known of the meter."""
    if not moments:
        return Tpc(mean_pct=np.empty((0, 0)), sd_pct=np.empty((0, 0)))
    seen = [seen_now(moment, own, known) for moment, own in zip(moments, states, strict=True)]
    mean, sd = level_of(joined(seen)).tpc_mean_sd()
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
    return seen if moment.owed is None else age(seen, moment.owed)
