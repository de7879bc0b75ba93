"""The level of a bath with the response it is told in: what a true TPC follows from."""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.arrays import Array, Index
from kettlewell.core.belief.filter import Work, carry
from kettlewell.core.belief.joint import LEVEL, Belief, covariance_with, dot

WHOLE_PCT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Joint moments of level y and response G, each (K, F); TPC is y / G."""

    level: Array
    gain: Array
    level_var: Array
    level_gain_cov: Array
    gain_var: Array

    def at(self, *index: int | slice | list[int] | Index) -> "Level":
        """Return the moments at one place of their arrays."""
        return Level(
            level=self.level[index],
            gain=self.gain[index],
            level_var=self.level_var[index],
            level_gain_cov=self.level_gain_cov[index],
            gain_var=self.gain_var[index],
        )

    def excess(self, tpc_pct: Array | float, tpc_u_pct: Array | float = 0.0) -> tuple[Array, Array]:
        """Return mean and standard deviation of G (p - ``tpc_pct``), above 0 when p is above."""
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
        """Return mean and standard deviation of the TPC: centre and half width of its central 68 %.

        Neither passes 100 %, whatever the work that was told would come to.
        """
        low, high = self.tpc_quantile(-1.0), self.tpc_quantile(1.0)
        return np.minimum((low + high) / 2, WHOLE_PCT), np.minimum((high - low) / 2, WHOLE_PCT)


def level_of(belief: Belief) -> Level:
    """Return the joint moments (K, F) of level and response."""
    sensitivity, var = belief.sensitivity[..., LEVEL, :], belief.own_cov[..., LEVEL, LEVEL]
    return joint_moments(belief, belief.own_mean()[..., LEVEL], sensitivity, var)


def highest_in(belief: Belief, work: Work) -> Level:
    """Return the joint moments (H, K, F) of the highest level in each of H stretches of work (H, K, F).

    A level only rises or only falls while a bath works, so that it is highest as the work ends, before
    oil is poured after it, or as it begins, once oil was poured before it: where that mean is higher.
    """
    carried = carry(belief, work)
    fresh_mean, fresh = belief.fresh_mean(), belief.fresh
    undone = np.exp(work.after)
    level = fresh_mean + (carried.level - fresh_mean) * undone
    var = carried.level_var * undone**2
    sensitivity = fresh + (carried.sensitivity - fresh) * undone[..., None]
    begun = np.exp(-work.before)
    first_level = fresh_mean + (along_time(belief.own_mean()[..., LEVEL], carried.level) - fresh_mean) * begun
    falls = first_level > level
    if falls.any():
        first_var = along_time(belief.own_cov[..., LEVEL, LEVEL], carried.level_var) * begun**2
        first = along_time(belief.sensitivity[..., LEVEL, :], carried.sensitivity)
        first = fresh + (first - fresh) * begun[..., None]
        level, var = np.where(falls, first_level, level), np.where(falls, first_var, var)
        sensitivity = np.where(falls[..., None], first, sensitivity)
    return joint_moments(belief, level, sensitivity, var)


def along_time(first: Array, after: Array) -> Array:
    """Return values before each of H stretches, from the ``first`` and those ``after`` each (H, ...)."""
    return np.concatenate([first[None], after[:-1]])


def joint_moments(belief: Belief, level: Array, sensitivity: Array, own_var: Array) -> Level:
    """Return the joint moments of levels (..., K, F) with the response, from what they owe to all shared."""
    crossed, gain = covariance_with(belief.shared_cov, sensitivity), belief.gain
    gain_var = dot(covariance_with(belief.shared_cov, gain), gain)
    return Level(
        level=level,
        gain=np.broadcast_to(belief.gain_mean(), level.shape),
        level_var=own_var + dot(crossed, sensitivity),
        level_gain_cov=dot(crossed, gain),
        gain_var=np.broadcast_to(gain_var, level.shape),
    )
