"""What is believed before the book's first entry."""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.arrays import Array, Index
from kettlewell.core.belief.state import (
    BEND,
    LEVEL,
    MEAN_RATE,
    OWN,
    RATE,
    Belief,
    Layout,
    component_first,
    picks,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """Prior means and standard deviations; percentage points, hours, kitchens K, fryers F, oils O.

    ``fresh_pct`` and ``fresh_sd_pct`` (K, O); ``rate_unit`` (K, F) is the default rate of
    each fryer with its oil and food; ``bend_sd`` (K, F) per hour; the rest are scalars.
    The mean rate of a kitchen and a fryer's departure from it are multiples of the default.
    ``gain`` and ``offset`` are what oils have in common in the first meter, ``oil_gain_sd`` and
    ``oil_offset_sd_pct`` are an oil's own. ``meters`` is None where no meter is ever checked
    and there is but one.
    """

    fresh_pct: Array
    fresh_sd_pct: Array
    rate_unit: Array
    bend_sd: Array
    oil: Index
    gain: tuple[float, float]
    offset: tuple[float, float]
    oil_gain_sd: float
    oil_offset_sd_pct: float
    kitchen_rate: tuple[float, float]
    sibling_rate_sd: float
    lot_sd_pct: float
    meters: "MetersPrior | None" = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MetersPrior:
    """What is believed beforehand of meters that are checked, or of more than one.

    ``offset_sds_pct`` are of each meter; ``electronics_share`` of an offset's variance is what a
    check in reference oil finds, the rest is how the meter takes hot used oil. ``ratio_sd`` is
    how far two meters' gains differ.
    """

    offset_sds_pct: tuple[float, ...]
    electronics_share: float
    ratio_sd: float


def initial_belief(prior: Prior) -> Belief:
    """Return the belief before the first entry: every bath filled fresh at an unknown rate."""
    layout = Layout(
        oils=prior.fresh_pct.shape[1], meters=len(prior.meters.offset_sds_pct) if prior.meters else 0
    )
    shared, shared_cov = shared_prior(prior, layout)
    if prior.meters:
        believe_meters(prior.meters, layout, shared, shared_cov)
    shape = prior.rate_unit.shape
    sensitivity = component_first(*shape, OWN, shared.shape[-1])
    gain, offset, fresh = picks(prior.oil, layout)
    sensitivity[..., LEVEL, :] = fresh
    sensitivity[..., RATE, MEAN_RATE] = prior.rate_unit
    own_cov = component_first(*shape, OWN, OWN)
    own_cov[..., LEVEL, LEVEL] = prior.lot_sd_pct**2
    own_cov[..., RATE, RATE] = (prior.sibling_rate_sd * prior.rate_unit) ** 2
    own_cov[..., BEND, BEND] = prior.bend_sd**2
    return Belief(
        layout=layout,
        base=component_first(*shape, OWN),
        sensitivity=sensitivity,
        own_cov=own_cov,
        shared=shared,
        shared_cov=shared_cov,
        oil=prior.oil,
        gain=gain,
        offset=offset,
        fresh=fresh,
        rate_unit=prior.rate_unit,
        suspect=np.full(shape, np.nan),
    )


def shared_prior(prior: Prior, layout: Layout) -> tuple[Array, Array]:
    """Return mean and covariance of the shared values, with y0 = g p0 for independent g and p0."""
    (gain, gain_sd), (offset, offset_sd) = prior.gain, prior.offset
    kitchens, own = len(prior.fresh_pct), np.eye(layout.oils)
    mean, cov = np.zeros((kitchens, layout.size)), np.zeros((kitchens, layout.size, layout.size))
    mean[:, MEAN_RATE], cov[:, MEAN_RATE, MEAN_RATE] = prior.kitchen_rate[0], prior.kitchen_rate[1] ** 2
    gains, offsets, fresh = layout.gains, layout.offsets, layout.fresh
    gain_cov = gain_sd**2 + own * prior.oil_gain_sd**2
    mean[:, gains], cov[:, gains, gains] = gain, gain_cov
    mean[:, offsets] = offset
    cov[:, offsets, offsets] = offset_sd**2 + own * prior.oil_offset_sd_pct**2
    mean[:, fresh] = gain * prior.fresh_pct
    cov[:, fresh, fresh] = gain_cov * prior.fresh_pct[:, :, None] * prior.fresh_pct[:, None, :]
    gain_square = gain**2 + gain_sd**2 + prior.oil_gain_sd**2
    cov[:, fresh, fresh] += own * (gain_square * prior.fresh_sd_pct**2)[:, None, :]
    cov[:, gains, fresh] = gain_cov * prior.fresh_pct[:, None, :]
    cov[:, fresh, gains] = cov[:, gains, fresh].swapaxes(-1, -2)
    return mean, cov


def believe_meters(prior: MetersPrior, layout: Layout, shared: Array, shared_cov: Array) -> None:
    """Write what is believed of the meters into mean (K, S) and covariance (K, S, S)."""
    shared_cov[:, layout.before, layout.before] = 1.0  # nothing depends on it before an adjustment
    for meter, sd in enumerate(prior.offset_sds_pct):
        found, offset = layout.found(meter), layout.offset_of(meter)
        common = prior.electronics_share * sd**2
        shared_cov[:, found, found] = common
        shared_cov[:, found, offset] = shared_cov[:, offset, found] = common
        if meter:
            ratio, gains = layout.ratio(meter), layout.gains
            shared_cov[:, offset, offset] = sd**2
            shared[:, ratio], shared_cov[:, ratio, ratio] = 1.0, prior.ratio_sd**2
            # both gains vary alike, so a first meter that reads steeply makes the ratio small
            shared_cov[:, ratio, gains] = shared_cov[:, gains, ratio] = -(prior.ratio_sd**2) / 2
