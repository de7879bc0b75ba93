"""What is believed of a batch of kitchens: arrays over kitchens and fryers.

Everything is kept in the meter's own scale. With true TPC p, gain g and offset b a
reading is z = b + g p + noise; in y = g p the mass balance keeps its form (rate g k,
fresh value g p0), so readings say hardly anything of g: only the prior and laboratory
results do. The true TPC is y / g.

A kitchen shares s = (g, mean rate, offsets by oil, fresh values y0 by oil). Given s
its fryers are independent, so each carries the mean and covariance of its own state
(y, rate, bend) *given* s, linear in s, and the kitchen carries one Gaussian of s:
the separate-bias filter of Friedland, IEEE Trans. Autom. Control 14:359-367, 1969.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Self

import numpy as np

from kettlewell.core.arrays import Array, Index

LEVEL, RATE, BEND = range(3)
OWN = 3
GAIN, MEAN_RATE, FIRST_OFFSET = 0, 1, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """A batch of K kitchens with F fryers and O oils each; S = 2 + 2 O shared values.

    Given shared s, the own state (level y, rate per hour, bend per hour) of a fryer has
    mean ``base + sensitivity @ s`` and covariance ``own_cov``. Shapes: ``base`` (K, F, 3),
    ``sensitivity`` (K, F, 3, S), ``own_cov`` (K, F, 3, 3), ``shared`` (K, S), ``shared_cov``
    (K, S, S), ``oil`` (K, F) the index of the oil in each bath, ``offset`` and ``fresh``
    (K, F, S) pick the meter's offset and the fresh value y0 for that oil out of s,
    ``rate_unit`` (K, F) is the default rate of the bath in percentage points an hour,
    ``suspect`` (K, F) the last reading's surprise if it was doubted, else nan.
    """

    base: Array
    sensitivity: Array
    own_cov: Array
    shared: Array
    shared_cov: Array
    oil: Index
    offset: Array
    fresh: Array
    rate_unit: Array
    suspect: Array

    @property
    def oils(self) -> int:
        """How many oils each kitchen knows."""
        return int(self.shared.shape[-1] - FIRST_OFFSET) // 2

    def own_mean(self) -> Array:
        """Return the mean (K, F, 3) of the own states."""
        return self.base + (self.sensitivity @ self.shared[:, None, :, None])[..., 0]

    def fresh_mean(self) -> Array:
        """Return the mean fresh value y0 (K, F) of the oil in the bath."""
        return along(self.fresh, self.shared)

    def with_own(self, base: Array, sensitivity: Array, own_cov: Array) -> "Belief":
        """Return the belief with other own states."""
        return Belief(
            base=base,
            sensitivity=sensitivity,
            own_cov=own_cov,
            shared=self.shared,
            shared_cov=self.shared_cov,
            oil=self.oil,
            offset=self.offset,
            fresh=self.fresh,
            rate_unit=self.rate_unit,
            suspect=self.suspect,
        )

    def with_oil(self, oil: Index) -> Self:
        """Return the belief with other oils (K, F) in the baths."""
        offset, fresh = picks(oil, self.oils)
        return replace(self, oil=oil, offset=offset, fresh=fresh)


def joined(beliefs: Sequence[Belief]) -> Belief:
    """Return several batches as one."""
    return Belief(
        **{one.name: np.concatenate([getattr(each, one.name) for each in beliefs]) for one in fields(Belief)}
    )


def apart(belief: Belief) -> list[Belief]:
    """Return a batch as batches of one."""
    return [
        Belief(**{one.name: getattr(belief, one.name)[k : k + 1] for one in fields(Belief)})
        for k in range(len(belief.shared))
    ]


def picks(oil: Index, oils: int) -> tuple[Array, Array]:
    """Return the directions (K, F, S) that pick offset and fresh value for each bath's oil."""
    offset = component_first(*oil.shape, FIRST_OFFSET + 2 * oils)
    fresh = component_first(*oil.shape, FIRST_OFFSET + 2 * oils)
    for i in range(oils):
        offset[..., FIRST_OFFSET + i] = fresh[..., FIRST_OFFSET + oils + i] = oil == i
    return offset, fresh


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
    shared, shared_cov = beliefs[0].shared, beliefs[0].shared_cov
    sensitivity = np.stack([belief.sensitivity[..., LEVEL, :] for belief in beliefs])
    turned = covariance_with(shared_cov, sensitivity)
    level = np.stack([belief.base[..., LEVEL] for belief in beliefs]) + along(sensitivity, shared)
    own_var = np.stack([belief.own_cov[..., LEVEL, LEVEL] for belief in beliefs])
    return Level(
        level=level,
        gain=np.broadcast_to(shared[:, None, GAIN], level.shape),
        level_var=own_var + dot(turned, sensitivity),
        level_gain_cov=turned[..., GAIN],
        gain_var=np.broadcast_to(shared_cov[:, None, GAIN, GAIN], level.shape),
    )
