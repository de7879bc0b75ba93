"""How meters drift, are checked, adjusted and compared: changes of what a kitchen shares."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.core.belief.joint import Belief, select, stack, unstack
from kettlewell.core.belief.readings import with_responses_of


@dataclass(frozen=True, slots=True, kw_only=True)
class NoiseLog:
    """The process noise a kitchen's meters were given since a walk began.

    The variances (2, M) their electronics wandered by and their reference values changed
    by, and which meter was adjusted when as much had been ``wandered``.
    """

    wandered: Array = field(default_factory=lambda: np.zeros((2, 1)))
    adjusted: tuple[tuple[int, Array], ...] = ()

    def on(self, var: Array) -> "NoiseLog":
        """Return the log once meters wandered by more (2, M)."""
        return replace(self, wandered=self.wandered + var)

    def and_adjusted(self, meter: int) -> "NoiseLog":
        """Return the log once a meter was adjusted."""
        return replace(self, adjusted=(*self.adjusted, (meter, self.wandered)))

    def for_meters(self, meters: int) -> "NoiseLog":
        """Return the log of a kitchen that has come to so many meters."""
        more = meters - self.wandered.shape[1]
        return NoiseLog(
            wandered=np.pad(self.wandered, ((0, 0), (0, more))),
            adjusted=tuple((meter, np.pad(var, ((0, 0), (0, more)))) for meter, var in self.adjusted),
        )

    def then(self, later: "NoiseLog") -> "NoiseLog":
        """Return this log and a later one after it."""
        before = self.for_meters(later.wandered.shape[1])
        after = [(meter, before.wandered + wandered) for meter, wandered in later.adjusted]
        return NoiseLog(wandered=before.wandered + later.wandered, adjusted=(*before.adjusted, *after))


def recondition(beliefs: Sequence[Belief], when: Sequence[NoiseLog], today: NoiseLog) -> list[Belief]:
    """Return beliefs, the oldest first, with own states given the shared values of ``today``."""
    wandered = np.array([log.wandered for log in when])
    done: list[Belief] = []
    for n, (meter, until) in enumerate([*today.adjusted, (None, today.wandered)]):
        done += [belief for belief, log in zip(beliefs, when, strict=True) if len(log.adjusted) == n]
        if done:
            batch = wander(stack(done), until - wandered[: len(done)])
            wandered[: len(done)] = until
            if meter is not None:
                batch = adjusted(batch, meter, np.ones(len(done), bool))
            done = unstack(batch)
    return done


def wander(belief: Belief, var: Array) -> Belief:
    """Return the belief after meters' electronics and reference values changed by variances (K, 2, M)."""
    for meter in range(var.shape[-1]):
        if var[:, 0, meter].any():
            belief = add_process_noise(belief, belief.layout.electronics(meter), var[:, 0, meter])
        if var[:, 1, meter].any():
            belief = add_process_noise(belief, belief.layout.reference(meter), var[:, 1, meter])
    return belief


def add_process_noise(belief: Belief, step: Array, var: Array) -> Belief:
    """Return the belief after the shared values wandered along ``step`` (S,) by a variance (K,).

    Own states are restated given the shared values after the step. Each fryer's
    distribution stays exact; that two fryers now share more than s is left aside.
    """
    spread = var[:, None]
    shared_cov = belief.shared_cov + spread[..., None] * step[:, None] * step
    back = spread * np.linalg.solve(shared_cov, np.broadcast_to(step, belief.shared.shape)[..., None])[..., 0]
    moved = belief.sensitivity @ step
    left = (var * (1 - back @ step))[:, None, None, None]
    return replace(
        belief,
        base=belief.base + moved * np.einsum("ks,ks->k", back, belief.shared)[:, None, None],
        sensitivity=belief.sensitivity - moved[..., :, None] * back[:, None, None, :],
        own_cov=belief.own_cov + left * (moved[..., :, None] * moved[..., None, :]),
        shared_cov=shared_cov,
    )


def assimilate_check(belief: Belief, meter: int, deviation_pct: Array, var: Array) -> Belief:
    """Return the belief after a meter was read in the reference oil in use (K,; nan where not).

    ``var`` is the deviation's variance beside the reference value's own. Responses stay as they were: what
    reference oil tells of a meter's electronics is no word on how it takes used oil.
    """
    direction, seen = belief.layout.reference(meter), ~np.isnan(deviation_pct)
    innovation = np.where(seen, deviation_pct - belief.shared @ direction, 0.0)
    crossed = belief.shared_cov @ direction
    spread = crossed @ direction + var
    weight = seen * damping(innovation / np.sqrt(spread), belief.known.check_surprise_sds.value) / spread
    after = replace(
        belief,
        shared=belief.shared + crossed * (weight * innovation)[:, None],
        shared_cov=belief.shared_cov - weight[:, None, None] * crossed[:, :, None] * crossed[:, None, :],
    )
    return with_responses_of(after, belief)


def damping(surprise: Array, from_sds: float) -> Array:
    """Return by how much less than its size a surprise (...), in standard deviations, counts.

    Beyond ``from_sds`` it counts as from_sds (1 + ln(surprise / from_sds)): it may be of another bottle, but
    the larger it is the more it moves, and what agrees with it is believed. (A mixture with odd checks
    is no such rule: there the worst meters move a belief the least.)
    """
    times = np.fmax(np.abs(surprise) / from_sds, 1.0)
    return np.asarray((1 + np.log(times)) / times)


def adjusted(belief: Belief, meter: int, where: Mask) -> Belief:
    """Return the belief once a meter was adjusted in the kitchens ``where`` (K,), and not yet read again.

    How the meter takes hot used oil stays as it was; what it reads in reference oil begins
    anew. Readings before stay tied together by what it read too much then, which is kept.
    """
    layout, unread_sd_pct = belief.layout, belief.known.after_adjusting.sd
    found, before, step = layout.found(meter), layout.before, layout.electronics(meter)
    old = marginalised(belief, before)
    moved = old.sensitivity @ step
    sensitivity = old.sensitivity.copy(order="K")
    sensitivity[..., before] = moved
    sensitivity[..., found] -= moved
    turn = np.eye(layout.size) - np.outer(step, np.eye(layout.size)[found])
    turn[before] = np.eye(layout.size)[found]
    shared_cov = turn @ old.shared_cov @ turn.T + unread_sd_pct**2 * np.outer(step, step)
    new = replace(old, sensitivity=sensitivity, shared=old.shared @ turn.T, shared_cov=shared_cov)
    return select(where, new, belief)


def marginalised(belief: Belief, place: int) -> Belief:
    """Return the belief with own states no longer given one of the shared values."""
    rest = np.delete(np.arange(belief.layout.size), place)
    cov = belief.shared_cov
    pull = np.linalg.solve(cov[:, rest[:, None], rest], cov[:, rest, place][..., None])[..., 0]
    left = cov[:, place, place] - np.einsum("ks,ks->k", pull, cov[:, rest, place])
    tied = belief.sensitivity[..., place]
    mean = belief.shared[:, place] - np.einsum("ks,ks->k", pull, belief.shared[:, rest])
    sensitivity = belief.sensitivity.copy(order="K")
    sensitivity[..., rest] += tied[..., None] * pull[:, None, None, :]
    sensitivity[..., place] = 0.0
    return replace(
        belief,
        base=belief.base + tied * mean[:, None, None],
        sensitivity=sensitivity,
        own_cov=belief.own_cov + left[:, None, None, None] * (tied[..., :, None] * tied[..., None, :]),
    )


def replace_marginal(belief: Belief, directions: Array, news: Array, cov: Array) -> Belief:
    """Return the belief with what the shared values show along ``directions`` (K, n, S) known anew.

    It lies ``news`` (K, n) beside what was believed, with covariance ``cov`` (n, n), and takes the place of
    what was known of it before, so that nothing counts twice; the rest stays as it was given
    them (Jeffrey's rule).
    """
    crossed = belief.shared_cov @ directions.swapaxes(-1, -2)
    old = directions @ crossed
    pull = np.linalg.solve(old, crossed.swapaxes(-1, -2)).swapaxes(-1, -2)
    return replace(
        belief,
        shared=belief.shared + (pull @ news[..., None])[..., 0],
        shared_cov=belief.shared_cov + pull @ (cov - old) @ pull.swapaxes(-1, -2),
    )
