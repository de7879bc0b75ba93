"""Forecasts to compare with: what a kitchen could do without the program."""

from dataclasses import dataclass, field

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.practice.run import Logged


@dataclass(slots=True, kw_only=True)
class StraightLine:
    """A straight line through the last three readings of a fill, taken at their word.

    ``times`` and ``readings_pct`` (3, K, F), newest last; nan where there is none yet.
    """

    shape: tuple[int, int]
    times: Array = field(init=False)
    readings_pct: Array = field(init=False)

    def __post_init__(self) -> None:
        """Start without readings."""
        self.times, self.readings_pct = np.full((2, 3, *self.shape), np.nan)

    def hear(self, t: int, reading_pct: Array) -> None:
        """Take in the readings (K, F) before service ``t``."""
        read = ~np.isnan(reading_pct)
        self.times = pushed(self.times, np.full(self.shape, float(t)), read)
        self.readings_pct = pushed(self.readings_pct, reading_pct, read)

    def serve(self, _t: int, _logged: Logged, /) -> None:
        """Take no notice of loads and top-ups."""

    def refill(self, where: Mask) -> None:
        """Forget the readings of the baths that were changed."""
        self.times = np.where(where, np.nan, self.times)
        self.readings_pct = np.where(where, np.nan, self.readings_pct)

    def forecast(self, t: int, services: int) -> tuple[Array, Array]:
        """Return the TPC (services, K, F) at the end of ``t``, … and its spread, which it holds to be 0."""
        centre = self.times.mean(axis=0)
        apart = self.times - centre
        slope = (apart * self.readings_pct).sum(axis=0) / (apart**2).sum(axis=0)
        ends = np.arange(t + 1, t + 1 + services)[:, None, None]
        mean = self.readings_pct.mean(axis=0) + slope * (ends - centre)
        return mean, np.zeros_like(mean)


def pushed(queue: Array, value: Array, where: Mask) -> Array:
    """Return a queue (n, K, F) that ``value`` has joined, and the oldest left, ``where``."""
    return np.where(where, np.concatenate([queue[1:], value[None]]), queue)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendNoise:
    """Standard deviations of a local trend: steps of level and slope a service, error of a reading."""

    level_sd_pct: float
    slope_sd_pct: float
    reading_sd_pct: float


@dataclass(slots=True, kw_only=True)
class LocalTrend:
    """A Kalman filter of level and slope per fryer, readings taken for TPC.

    A change puts the level back to fresh oil and keeps the slope, the usual filter with
    a known intervention. ``mean`` (2, K, F) and ``cov`` (2, 2, K, F) of level and slope.
    """

    shape: tuple[int, int]
    noise: TrendNoise
    mean: Array = field(init=False)
    cov: Array = field(init=False)

    FRESH_PCT = (4.0, 0.7)
    SLOPE_PCT = (0.8, 0.5)

    def __post_init__(self) -> None:
        """Start with every bath filled fresh, ageing at a slope that is usual in practice kitchens."""
        self.mean = np.stack([np.full(self.shape, m) for m, _ in (self.FRESH_PCT, self.SLOPE_PCT)])
        self.cov = np.zeros((2, 2, *self.shape))
        self.cov[0, 0], self.cov[1, 1] = self.FRESH_PCT[1] ** 2, self.SLOPE_PCT[1] ** 2

    def hear(self, _t: int, reading_pct: Array, /) -> None:
        """Take in the readings (K, F) before service ``t``."""
        read = ~np.isnan(reading_pct)
        gain = self.cov[:, 0] * np.where(read, 1 / (self.cov[0, 0] + self.noise.reading_sd_pct**2), 0.0)
        self.mean = self.mean + gain * (np.where(read, reading_pct, 0.0) - self.mean[0])
        self.cov = self.cov - gain[:, None] * self.cov[None, 0]

    def serve(self, _t: int, _logged: Logged, /) -> None:
        """Go on by one service."""
        self.mean, self.cov = self.stepped(self.mean, self.cov)

    def refill(self, where: Mask) -> None:
        """Put the level of changed baths back to fresh oil."""
        self.mean[0] = np.where(where, self.FRESH_PCT[0], self.mean[0])
        self.cov[0, 1] = self.cov[1, 0] = np.where(where, 0.0, self.cov[0, 1])
        self.cov[0, 0] = np.where(where, self.FRESH_PCT[1] ** 2, self.cov[0, 0])

    def forecast(self, _t: int, services: int, /) -> tuple[Array, Array]:
        """Return mean and standard deviation (services, K, F) of TPC at the ends of coming services."""
        mean, cov, ahead = self.mean, self.cov, []
        for _ in range(services):
            mean, cov = self.stepped(mean, cov)
            ahead.append((mean[0], np.sqrt(cov[0, 0])))
        means, sds = zip(*ahead, strict=True)
        return np.stack(means), np.stack(sds)

    def stepped(self, mean: Array, cov: Array) -> tuple[Array, Array]:
        """Return mean and covariance one service on."""
        crossed = cov[0, 1] + cov[1, 1]
        level_var = cov[0, 0] + cov[0, 1] + crossed + self.noise.level_sd_pct**2
        slope_var = cov[1, 1] + self.noise.slope_sd_pct**2
        new_cov = np.stack([np.stack([level_var, crossed]), np.stack([crossed, slope_var])])
        return np.stack([mean[0] + mean[1], mean[1]]), new_cov
