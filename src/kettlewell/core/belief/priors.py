"""What is believed before the book's first entry."""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.arrays import Array, Index
from kettlewell.core.belief.state import (
    BEND,
    FIRST_OFFSET,
    GAIN,
    LEVEL,
    MEAN_RATE,
    OWN,
    RATE,
    Belief,
    component_first,
    picks,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """Prior means and standard deviations; percentage points, hours, kitchens K, fryers F, oils O.

    ``fresh_pct`` and ``fresh_sd_pct`` (K, O); ``rate_unit`` (K, F) is the default rate of
    each fryer with its oil and food; ``bend_sd`` (K, F) per hour; the rest are scalars.
    The mean rate of a kitchen and a fryer's departure from it are multiples of the default.
    """

    fresh_pct: Array
    fresh_sd_pct: Array
    rate_unit: Array
    bend_sd: Array
    oil: Index
    gain: tuple[float, float]
    offset: tuple[float, float]
    oil_offset_sd_pct: float
    kitchen_rate: tuple[float, float]
    sibling_rate_sd: float
    lot_sd_pct: float


def initial_belief(prior: Prior) -> Belief:
    """Return the belief before the first entry: every bath filled fresh at an unknown rate."""
    kitchens, oils = prior.fresh_pct.shape
    shared, shared_cov = shared_prior(prior, kitchens, oils)
    shape = prior.rate_unit.shape
    sensitivity = component_first(*shape, OWN, shared.shape[-1])
    offset, fresh = picks(prior.oil, oils)
    sensitivity[..., LEVEL, :] = fresh
    sensitivity[..., RATE, MEAN_RATE] = prior.rate_unit
    own_cov = component_first(*shape, OWN, OWN)
    own_cov[..., LEVEL, LEVEL] = prior.lot_sd_pct**2
    own_cov[..., RATE, RATE] = (prior.sibling_rate_sd * prior.rate_unit) ** 2
    own_cov[..., BEND, BEND] = prior.bend_sd**2
    return Belief(
        base=component_first(*shape, OWN),
        sensitivity=sensitivity,
        own_cov=own_cov,
        shared=shared,
        shared_cov=shared_cov,
        oil=prior.oil,
        offset=offset,
        fresh=fresh,
        rate_unit=prior.rate_unit,
        suspect=np.full(shape, np.nan),
    )


def shared_prior(prior: Prior, kitchens: int, oils: int) -> tuple[Array, Array]:
    """Return mean and covariance of the shared values, with y0 = g p0 for independent g and p0."""
    (gain, gain_sd), (offset, offset_sd) = prior.gain, prior.offset
    size = FIRST_OFFSET + 2 * oils
    mean, cov = np.zeros((kitchens, size)), np.zeros((kitchens, size, size))
    mean[:, GAIN], cov[:, GAIN, GAIN] = gain, gain_sd**2
    mean[:, MEAN_RATE], cov[:, MEAN_RATE, MEAN_RATE] = prior.kitchen_rate[0], prior.kitchen_rate[1] ** 2
    offsets = slice(FIRST_OFFSET, FIRST_OFFSET + oils)
    mean[:, offsets] = offset
    cov[:, offsets, offsets] = offset_sd**2 + np.eye(oils) * prior.oil_offset_sd_pct**2
    fresh = slice(FIRST_OFFSET + oils, size)
    mean[:, fresh] = gain * prior.fresh_pct
    cov[:, fresh, fresh] = gain_sd**2 * prior.fresh_pct[:, :, None] * prior.fresh_pct[:, None, :]
    cov[:, fresh, fresh] += np.eye(oils) * ((gain**2 + gain_sd**2) * prior.fresh_sd_pct**2)[:, None, :]
    cov[:, GAIN, fresh] = cov[:, fresh, GAIN] = gain_sd**2 * prior.fresh_pct
    return mean, cov
