"""How meters drift, are checked, adjusted and compared: changes of what a kitchen shares."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.core.belief.readings import ODD_SD_PCT, ODD_SHARE, density
from kettlewell.core.belief.state import Belief, apart, chosen, joined

AFTER_ADJUSTING_SD_PCT = 2.0  # until it is read again: from memory


@dataclass(frozen=True, slots=True, kw_only=True)
class Turns:
    """How a kitchen's meters changed since a walk began.

    The variances (2, M) their electronics wandered by and their reference values changed
    by, and which meter was adjusted when as much had been ``wandered``.
    """

    wandered: Array = field(default_factory=lambda: np.zeros((2, 1)))
    adjusted: tuple[tuple[int, Array], ...] = ()

    def on(self, var: Array) -> "Turns":
        """Return the turns once meters wandered by more (2, M)."""
        return replace(self, wandered=self.wandered + var)

    def then(self, later: "Turns") -> "Turns":
        """Return these turns and later ones after them."""
        after = [(meter, self.wandered + wandered) for meter, wandered in later.adjusted]
        return Turns(wandered=self.wandered + later.wandered, adjusted=(*self.adjusted, *after))


def told_after(beliefs: Sequence[Belief], when: Sequence[Turns], today: Turns) -> list[Belief]:
    """Return beliefs, the oldest first, with own states told given the shared values of ``today``."""
    wandered = np.array([turns.wandered for turns in when])
    told: list[Belief] = []
    for n, (meter, until) in enumerate([*today.adjusted, (None, today.wandered)]):
        told += [belief for belief, turns in zip(beliefs, when, strict=True) if len(turns.adjusted) == n]
        if told:
            batch = wander(joined(told), until - wandered[: len(told)])
            wandered[: len(told)] = until
            if meter is not None:
                batch = adjusted(batch, meter, np.ones(len(told), bool))
            told = apart(batch)
    return told


def wander(belief: Belief, var: Array) -> Belief:
    """Return the belief after meters' electronics and reference values changed by variances (K, 2, M)."""
    for meter in range(var.shape[-1]):
        if var[:, 0, meter].any():
            belief = drift(belief, belief.layout.electronics(meter), var[:, 0, meter])
        if var[:, 1, meter].any():
            belief = drift(belief, belief.layout.reference(meter), var[:, 1, meter])
    return belief


def drift(belief: Belief, step: Array, var: Array) -> Belief:
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


def hear_check(belief: Belief, meter: int, deviation_pct: Array, var: Array) -> Belief:
    """Return the belief after a meter was read in the reference oil in use (K,; nan where not).

    ``var`` is the deviation's variance beside the reference value's own. A deviation that
    surprises may be an odd one, and then counts with the share of it that is sound.
    """
    direction, seen = belief.layout.reference(meter), ~np.isnan(deviation_pct)
    surprise = np.where(seen, deviation_pct - belief.shared @ direction, 0.0)
    turned = belief.shared_cov @ direction
    spread = turned @ direction + var
    sound = (1 - ODD_SHARE) * density(surprise, spread)
    odd = ODD_SHARE * density(surprise, spread + ODD_SD_PCT**2)
    weight = seen / (turned @ direction + var * (sound + odd) / np.fmax(sound, 1e-12))
    return replace(
        belief,
        shared=belief.shared + turned * (weight * surprise)[:, None],
        shared_cov=belief.shared_cov - weight[:, None, None] * turned[:, :, None] * turned[:, None, :],
    )


def adjusted(belief: Belief, meter: int, where: Mask) -> Belief:
    """Return the belief once a meter was adjusted in the kitchens ``where`` (K,), and not yet read again.

    How the meter takes hot used oil stays as it was; what it reads in reference oil begins
    anew. Readings before stay tied together by what it read too much then, which is kept.
    """
    layout = belief.layout
    found, before, step = layout.found(meter), layout.before, layout.electronics(meter)
    old = forgotten(belief, before)
    moved = old.sensitivity @ step
    sensitivity = old.sensitivity.copy(order="K")
    sensitivity[..., before] = moved
    sensitivity[..., found] -= moved
    turn = np.eye(layout.size) - np.outer(step, np.eye(layout.size)[found])
    turn[before] = np.eye(layout.size)[found]
    shared_cov = turn @ old.shared_cov @ turn.T + AFTER_ADJUSTING_SD_PCT**2 * np.outer(step, step)
    new = replace(old, sensitivity=sensitivity, shared=old.shared @ turn.T, shared_cov=shared_cov)
    return chosen(where, new, belief)


def forgotten(belief: Belief, place: int) -> Belief:
    """Return the belief with own states told without one of the shared values."""
    rest = np.delete(np.arange(belief.layout.size), place)
    cov = belief.shared_cov
    turned = np.linalg.solve(cov[:, rest[:, None], rest], cov[:, rest, place][..., None])[..., 0]
    left = cov[:, place, place] - np.einsum("ks,ks->k", turned, cov[:, rest, place])
    tied = belief.sensitivity[..., place]
    mean = belief.shared[:, place] - np.einsum("ks,ks->k", turned, belief.shared[:, rest])
    sensitivity = belief.sensitivity.copy(order="K")
    sensitivity[..., rest] += tied[..., None] * turned[:, None, None, :]
    sensitivity[..., place] = 0.0
    return replace(
        belief,
        base=belief.base + tied * mean[:, None, None],
        sensitivity=sensitivity,
        own_cov=belief.own_cov + left[:, None, None, None] * (tied[..., :, None] * tied[..., None, :]),
    )


def adopted(belief: Belief, places: tuple[int, ...], mean: Array, cov: Array) -> Belief:
    """Return the belief with some shared values (n) known anew: ``mean`` (n,), covariance ``cov`` (n, n).

    What was known of them before is given up, so that nothing counts twice; the rest stays as
    it was given them (Jeffrey's rule).
    """
    at = np.array(places)
    old = belief.shared_cov[:, at[:, None], at]
    pull = np.linalg.solve(old, belief.shared_cov[:, at, :]).swapaxes(-1, -2)
    return replace(
        belief,
        shared=belief.shared + (pull @ (mean - belief.shared[:, at])[..., None])[..., 0],
        shared_cov=belief.shared_cov + pull @ (cov - old) @ pull.swapaxes(-1, -2),
    )
