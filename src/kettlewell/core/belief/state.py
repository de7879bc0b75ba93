"""What is believed of a batch of kitchens: arrays over kitchens and fryers.

Everything is kept in the first meter's own scale. With true TPC p, gain g and offset b of
the oil in the bath a reading is z = b + g p + noise; in y = g p the mass balance keeps its
form (rate g k, fresh value g p0), so readings say hardly anything of g: only the prior and
laboratory results do. The true TPC is y / g.

A kitchen shares s, whose places ``Layout`` tells. Given s its fryers are independent, so
each carries the mean and covariance of its own state (y, rate, bend) *given* s, linear in
s, and the kitchen carries one Gaussian of s: the separate-bias filter of Friedland, IEEE
Trans. Autom. Control 14:359-367, 1969.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Self

import numpy as np

from kettlewell.core.arrays import Array, Index, Mask

LEVEL, RATE, BEND = range(3)
OWN = 3
MEAN_RATE = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Where the S shared values of a kitchen with O oils stand.

    First the mean rate; then gains, offsets and fresh values y0 of the first meter, each by
    oil. Where ``meters`` are checked or there are several of them, M in all: what the meter
    adjusted last read too much in reference oil ``before`` that; what each now reads too much
    in the reference oil in use; and of each further meter its offset and its ``ratio``, the
    gain relative to the first's.
    """

    oils: int
    meters: int = 0

    @property
    def gains(self) -> slice:
        """The gains by oil."""
        return slice(1, 1 + self.oils)

    @property
    def offsets(self) -> slice:
        """The offsets by oil."""
        return slice(1 + self.oils, 1 + 2 * self.oils)

    @property
    def fresh(self) -> slice:
        """The fresh values by oil."""
        return slice(1 + 2 * self.oils, 1 + 3 * self.oils)

    @property
    def before(self) -> int:
        """What the meter that was adjusted last read too much in reference oil before."""
        return 1 + 3 * self.oils

    def found(self, meter: int) -> int:
        """Return the place of what a meter reads too much in the reference oil in use."""
        return self.before + 1 + meter

    def offset_of(self, meter: int) -> slice:
        """Return the places of a meter's offsets: the first's by oil, a further one's alone."""
        if not meter:
            return self.offsets
        own = self.before + 1 + self.meters + 2 * (meter - 1)
        return slice(own, own + 1)

    def ratio(self, meter: int) -> int:
        """Return the place of a further meter's gain relative to the first's."""
        return int(self.offset_of(meter).start) + 1

    @property
    def size(self) -> int:
        """How many shared values there are."""
        return 1 + 3 * self.oils + bool(self.meters) * (3 * self.meters - 1)

    def electronics(self, meter: int) -> Array:
        """Return the direction (S,) in which a meter's electronics move what it reads."""
        direction = self.reference(meter)
        direction[self.offset_of(meter)] = 1.0
        return direction

    def reference(self, meter: int) -> Array:
        """Return the direction (S,) of what a meter reads too much in reference oil."""
        direction = np.zeros(self.size)
        if self.meters:
            direction[self.found(meter)] = 1.0
        return direction


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """A batch of K kitchens with F fryers each and S shared values, laid out alike.

    Given shared s, the own state (level y, rate per hour, bend per hour) of a fryer has
    mean ``base + sensitivity @ s`` and covariance ``own_cov``. Shapes: ``base`` (K, F, 3),
    ``sensitivity`` (K, F, 3, S), ``own_cov`` (K, F, 3, 3), ``shared`` (K, S), ``shared_cov``
    (K, S, S), ``oil`` (K, F) the index of the oil in each bath, ``gain``, ``offset`` and
    ``fresh`` (K, F, S) pick the first meter's gain and offset and the fresh value y0 for that
    oil out of s,
    ``rate_unit`` (K, F) is the default rate of the bath in percentage points an hour,
    ``suspect`` (K, F) the last reading's surprise if it was doubted, else nan.
    """

    layout: Layout
    base: Array
    sensitivity: Array
    own_cov: Array
    shared: Array
    shared_cov: Array
    oil: Index
    gain: Array
    offset: Array
    fresh: Array
    rate_unit: Array
    suspect: Array

    def own_mean(self) -> Array:
        """Return the mean (K, F, 3) of the own states."""
        return self.base + (self.sensitivity @ self.shared[:, None, :, None])[..., 0]

    def fresh_mean(self) -> Array:
        """Return the mean fresh value y0 (K, F) of the oil in the bath."""
        return along(self.fresh, self.shared)

    def gain_mean(self) -> Array:
        """Return the mean gain (K, F) of the first meter in the oil in the bath."""
        return along(self.gain, self.shared)

    def with_own(self, base: Array, sensitivity: Array, own_cov: Array) -> "Belief":
        """Return the belief with other own states."""
        return Belief(
            layout=self.layout,
            base=base,
            sensitivity=sensitivity,
            own_cov=own_cov,
            shared=self.shared,
            shared_cov=self.shared_cov,
            oil=self.oil,
            gain=self.gain,
            offset=self.offset,
            fresh=self.fresh,
            rate_unit=self.rate_unit,
            suspect=self.suspect,
        )

    def with_oil(self, oil: Index) -> Self:
        """Return the belief with other oils (K, F) in the baths."""
        gain, offset, fresh = picks(oil, self.layout)
        return replace(self, oil=oil, gain=gain, offset=offset, fresh=fresh)


ARRAYS = tuple(one.name for one in fields(Belief) if one.name != "layout")


def joined(beliefs: Sequence[Belief]) -> Belief:
    """Return several batches, laid out alike, as one."""
    arrays = {name: np.concatenate([getattr(each, name) for each in beliefs]) for name in ARRAYS}
    return Belief(layout=beliefs[0].layout, **arrays)


def apart(belief: Belief) -> list[Belief]:
    """Return a batch as batches of one."""
    return [
        Belief(layout=belief.layout, **{name: getattr(belief, name)[k : k + 1] for name in ARRAYS})
        for k in range(len(belief.shared))
    ]


def chosen(where: Mask, belief: Belief, other: Belief) -> Belief:
    """Return ``belief`` for the kitchens ``where`` (K,), the ``other`` for the rest."""

    def one(name: str) -> Any:  # noqa: ANN401 - whichever array it is
        here, there = getattr(belief, name), getattr(other, name)
        return np.where(where.reshape(-1, *[1] * (here.ndim - 1)), here, there)

    return Belief(layout=belief.layout, **{name: one(name) for name in ARRAYS})


def picks(oil: Index, layout: Layout) -> tuple[Array, Array, Array]:
    """Return the directions (K, F, S) that pick gain, offset and fresh value for each bath's oil."""
    gain, offset, fresh = (component_first(*oil.shape, layout.size) for _ in range(3))
    for i in range(layout.oils):
        for pick, places in ((gain, layout.gains), (offset, layout.offsets), (fresh, layout.fresh)):
            pick[..., places.start + i] = oil == i
    return gain, offset, fresh


def component_first(*shape: int) -> Array:
    """Return zeros of a shape (K, F, …) laid out with kitchens and fryers innermost in memory.

    Arithmetic on the small trailing axes then runs over long contiguous stretches.
    """
    return np.zeros((*shape[2:], *shape[:2])).transpose(
        len(shape) - 2, len(shape) - 1, *range(len(shape) - 2)
    )


def along(direction: Array, shared: Array) -> Array:
    """Return ``direction`` (..., K, F, S) times ``shared`` (K, S)."""
    return np.asarray((direction @ shared[..., None])[..., 0])


def covariance_with(shared_cov: Array, direction: Array) -> Array:
    """Return ``shared_cov`` (K, S, S) times ``direction`` (..., K, F, S)."""
    return np.asarray(direction @ shared_cov)


def dot(left: Array, right: Array) -> Array:
    """Return the products (..., n) summed over the last axis."""
    return np.asarray(np.einsum("...i,...i->...", left, right))


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Joint moments of level y and gain g, each (K, F); TPC is y / g."""

    level: Array
    gain: Array
    level_var: Array
    level_gain_cov: Array
    gain_var: Array

    def at(self, *index: int | list[int]) -> Self:
        """Return the moments at one place of their arrays."""
        return replace(
            self,
            level=self.level[index],
            gain=self.gain[index],
            level_var=self.level_var[index],
            level_gain_cov=self.level_gain_cov[index],
            gain_var=self.gain_var[index],
        )

    def excess(self, tpc_pct: Array | float, tpc_u_pct: Array | float = 0.0) -> tuple[Array, Array]:
        """Return mean and standard deviation of g (p - ``tpc_pct``), above 0 when p is above."""
        mean = self.level - self.gain * tpc_pct
        var = self.level_var - 2 * tpc_pct * self.level_gain_cov + tpc_pct**2 * self.gain_var
        return mean, np.sqrt(np.maximum(var + (self.gain * tpc_u_pct) ** 2, 1e-12))

    def tpc_quantile(self, z: Array | float) -> Array:
        """Return the TPC that is passed with probability 1 - Φ(z) (Fieller 1954).

        The gain's spread must be below a third of the gain, which priors grant.
        """
        a = self.gain**2 - z * z * self.gain_var
        b = self.level * self.gain - z * z * self.level_gain_cov
        c = self.level**2 - z * z * self.level_var
        return np.asarray((b + np.sign(z) * np.sqrt(np.maximum(b * b - a * c, 0.0))) / a)

    def tpc_mean_sd(self) -> tuple[Array, Array]:
        """Return mean and standard deviation of the TPC: centre and half width of its central 68 %."""
        low, high = self.tpc_quantile(-1.0), self.tpc_quantile(1.0)
        return (low + high) / 2, (high - low) / 2


def level_of(belief: Belief) -> Level:
    """Return the joint moments of level and gain."""
    return levels_of([belief]).at(0)


def levels_of(beliefs: Sequence[Belief]) -> Level:
    """Return the joint moments (H, K, F) of level and gain in H beliefs that share what is shared."""
    shared, shared_cov, gain = beliefs[0].shared, beliefs[0].shared_cov, beliefs[0].gain
    sensitivity = np.stack([belief.sensitivity[..., LEVEL, :] for belief in beliefs])
    turned = covariance_with(shared_cov, sensitivity)
    level = np.stack([belief.base[..., LEVEL] for belief in beliefs]) + along(sensitivity, shared)
    own_var = np.stack([belief.own_cov[..., LEVEL, LEVEL] for belief in beliefs])
    return Level(
        level=level,
        gain=np.broadcast_to(along(gain, shared), level.shape),
        level_var=own_var + dot(turned, sensitivity),
        level_gain_cov=dot(turned, gain),
        gain_var=np.broadcast_to(dot(covariance_with(shared_cov, gain), gain), level.shape),
    )
