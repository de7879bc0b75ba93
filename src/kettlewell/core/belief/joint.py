"""What is believed of a batch of kitchens: arrays over kitchens and fryers.

Everything is kept in a reference scale of no meter's own. With true TPC p the level is
y = G p, where G is the response of the kitchen's meters to the oil in the bath, the mean of
those it began with; a meter with ratio r and offset b reads z = b + r y + noise. In y the
mass balance keeps its form (rate G k, fresh value G p0), so readings say hardly anything of
G: only the prior and laboratory results do. The true TPC is y / G (docs/why/scale.md).

A kitchen shares s, whose places ``Layout`` tells. Given s its fryers are independent, so
each carries the mean and covariance of its own state (y, rate, bend) *given* s, linear in
s, and the kitchen carries one Gaussian of s: the separate-bias filter of Friedland, IEEE
Trans. Autom. Control 14:359-367, 1969.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Self

import numpy as np

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.layout import Layout, pick

LEVEL, RATE, BEND = range(3)
OWN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """A batch of K kitchens with F fryers each and S shared values, laid out alike.

    Given shared s, the own state (level y, rate per hour, bend per hour) of a fryer has
    mean ``base + sensitivity @ s`` and covariance ``own_cov``. Shapes: ``base`` (K, F, 3),
    ``sensitivity`` (K, F, 3, S; Friedland's U), ``own_cov`` (K, F, 3, 3), ``shared`` (K, S),
    ``shared_cov`` (K, S, S), ``oil`` (K, F) the index of the oil in each bath, ``gain`` and
    ``fresh`` (K, F, S) pick its response G and fresh value y0 out of s, ``rate_unit`` (K, F) is
    the default rate of the bath in percentage points an hour, ``pending`` (K, F) the
    innovation of the last occasion if it stood too high or fitted a fresh fill, else nan. ``known``
    are the coefficients it rests on.
    """

    known: Coefficients
    layout: Layout
    base: Array
    sensitivity: Array
    own_cov: Array
    shared: Array
    shared_cov: Array
    oil: Index
    gain: Array
    fresh: Array
    rate_unit: Array
    pending: Array

    def own_mean(self) -> Array:
        """Return the mean (K, F, 3) of the own states."""
        return np.asarray(self.base + np.matvec(self.sensitivity, self.shared[:, None]))

    def fresh_mean(self) -> Array:
        """Return the mean fresh value y0 (K, F) of the oil in the bath."""
        return along(self.fresh, self.shared)

    def gain_mean(self) -> Array:
        """Return the mean response G (K, F) to the oil in the bath."""
        return along(self.gain, self.shared)

    def with_own(
        self,
        base: Array,
        sensitivity: Array,
        *,
        own_cov: Array,
        shared: tuple[Array, Array] | None = None,
        pending: Array | None = None,
    ) -> "Belief":
        """Return the belief with other own states; written out, since it is made for every step.

        ``shared`` are, if given, the mean and covariance of the shared values.
        """
        mean, cov = (self.shared, self.shared_cov) if shared is None else shared
        return Belief(
            known=self.known,
            layout=self.layout,
            base=base,
            sensitivity=sensitivity,
            own_cov=own_cov,
            shared=mean,
            shared_cov=cov,
            oil=self.oil,
            gain=self.gain,
            fresh=self.fresh,
            rate_unit=self.rate_unit,
            pending=self.pending if pending is None else pending,
        )

    def with_oil(self, oil: Index) -> Self:
        """Return the belief with other oils (K, F) in the baths."""
        gain, fresh = (
            pick(places.start, oil, self.layout) for places in (self.layout.gains, self.layout.fresh)
        )
        return replace(self, oil=oil, gain=gain, fresh=fresh)


ARRAYS = tuple(field.name for field in fields(Belief) if field.name not in ("known", "layout"))
OF_BATHS = tuple(name for name in ARRAYS if name not in ("shared", "shared_cov"))


def stack(beliefs: Sequence[Belief]) -> Belief:
    """Return several batches, laid out alike, as one."""
    arrays: dict[str, Any] = {
        name: np.concatenate([getattr(belief, name) for belief in beliefs]) for name in ARRAYS
    }
    return replace(beliefs[0], **arrays)


def unstack(belief: Belief) -> list[Belief]:
    """Return a batch as batches of one."""
    return [
        replace(belief, **{name: getattr(belief, name)[k : k + 1] for name in ARRAYS})
        for k in range(len(belief.shared))
    ]


def select(where: Mask, belief: Belief, other: Belief) -> Belief:
    """Return ``belief`` for the kitchens ``where`` (K,), the ``other`` for the rest."""

    def either(name: str) -> Any:  # noqa: ANN401 - whichever array it is
        here, there = getattr(belief, name), getattr(other, name)
        return np.where(where.reshape(-1, *[1] * (here.ndim - 1)), here, there)

    return replace(belief, **{name: either(name) for name in ARRAYS})


def single_baths(belief: Belief, kitchens: Index, fryers: Index) -> Belief:
    """Return N baths, each named by its kitchen and its fryer (N,), as kitchens of one fryer."""
    own: dict[str, Any] = {name: getattr(belief, name)[kitchens, fryers][:, None] for name in OF_BATHS}
    return replace(belief, shared=belief.shared[kitchens], shared_cov=belief.shared_cov[kitchens], **own)


def along(direction: Array, shared: Array) -> Array:
    """Return ``direction`` (..., K, F, S) times ``shared`` (K, S)."""
    return np.asarray(np.matvec(direction, shared))


def covariance_with(shared_cov: Array, direction: Array) -> Array:
    """Return ``shared_cov`` (K, S, S) times ``direction`` (..., K, F, S)."""
    return np.asarray(direction @ shared_cov)


def dot(left: Array, right: Array) -> Array:
    """Return the products (..., n) summed over the last axis."""
    return np.asarray(np.vecdot(left, right))
