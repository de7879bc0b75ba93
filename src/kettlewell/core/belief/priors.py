"""What is believed before the book's first entry."""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index
from kettlewell.core.belief.joint import BEND, LEVEL, OWN, RATE, Belief
from kettlewell.core.belief.layout import MEAN_RATE, Layout, component_first, pick

LEAST_RATIO_VAR = 1e-8  # keeps the covariance regular: the ratios of the scale's meters add up to a constant


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """Prior means and standard deviations; percentage points, hours, kitchens K, fryers F, oils O, meters M.

    ``fresh_pct`` and ``fresh_sd_pct`` (K, O), ``lot_sd_pct`` (K, O) by which deliveries differ;
    ``rate_unit`` (K, F) is the default rate of each fryer with its oil and food; ``bend_sd`` (K, F) per
    hour; ``oil`` (K, F); ``offset_sd_pct`` (K, M). ``gain`` is the response that oils have in common,
    ``oil_gain_sd`` and ``oil_offset_sd_pct`` are an oil's own. The mean rate of a kitchen and a fryer's
    departure from it are multiples of the default.
    """

    known: Coefficients
    layout: Layout
    fresh_pct: Array
    fresh_sd_pct: Array
    lot_sd_pct: Array
    rate_unit: Array
    bend_sd: Array
    oil: Index
    offset_sd_pct: Array
    gain: tuple[float, float]
    oil_gain_sd: float
    oil_offset_sd_pct: float


def initial_belief(prior: Prior) -> Belief:
    """Return the belief before the first entry: every bath filled fresh at an unknown rate."""
    known, layout, shape = prior.known, prior.layout, prior.rate_unit.shape
    shared, shared_cov = shared_prior(prior)
    sensitivity = component_first(*shape, OWN, layout.size)
    gain, fresh = (pick(places.start, prior.oil, layout) for places in (layout.gains, layout.fresh))
    sensitivity[..., LEVEL, :] = fresh
    sensitivity[..., RATE, MEAN_RATE] = prior.rate_unit
    own_cov = component_first(*shape, OWN, OWN)
    own_cov[..., LEVEL, LEVEL] = np.take_along_axis(prior.lot_sd_pct, prior.oil, axis=1) ** 2
    own_cov[..., RATE, RATE] = (known.sibling_rate.sd * prior.rate_unit) ** 2
    own_cov[..., BEND, BEND] = prior.bend_sd**2
    return Belief(
        known=known,
        layout=layout,
        base=component_first(*shape, OWN),
        sensitivity=sensitivity,
        own_cov=own_cov,
        shared=shared,
        shared_cov=shared_cov,
        oil=prior.oil,
        gain=gain,
        fresh=fresh,
        rate_unit=prior.rate_unit,
        pending=np.full(shape, np.nan),
    )


def shared_prior(prior: Prior) -> tuple[Array, Array]:
    """Return mean (K, S) and covariance (K, S, S) of the shared values."""
    layout, known = prior.layout, prior.known
    mean = np.zeros((len(prior.fresh_pct), layout.size))
    cov = np.zeros((*mean.shape, layout.size))
    mean[:, MEAN_RATE], cov[:, MEAN_RATE, MEAN_RATE] = known.kitchen_rate.value, known.kitchen_rate.sd**2
    cov[:, layout.laboratory, layout.laboratory] = 1.0
    if layout.controlled:
        cov[:, layout.control, layout.control] = 1.0
    believe_oils(prior, mean, cov)
    believe_meters(prior, mean, cov)
    return mean, cov


def believe_oils(prior: Prior, mean: Array, cov: Array) -> None:
    """Write responses G and fresh values y0 = G p0, for independent G and p0, into mean and covariance.

    A meter's own gain has a variance τ² beside what all of its kind have in common; G is the
    mean of the scale's meters, so that τ² is divided by their number.
    """
    (gain, gain_sd), own, layout = prior.gain, np.eye(prior.layout.oils), prior.layout
    gains, fresh = layout.gains, layout.fresh
    ratio_var = prior.known.ratio_share.value * gain_sd**2
    common_var = gain_sd**2 - ratio_var + ratio_var / layout.scale_meters
    gain_cov = common_var + own * prior.oil_gain_sd**2
    mean[:, gains], cov[:, gains, gains] = gain, gain_cov
    mean[:, fresh] = gain * prior.fresh_pct
    cov[:, fresh, fresh] = gain_cov * prior.fresh_pct[:, :, None] * prior.fresh_pct[:, None, :]
    gain_square = gain**2 + common_var + prior.oil_gain_sd**2
    cov[:, fresh, fresh] += own * (gain_square * prior.fresh_sd_pct**2)[:, None, :]
    cov[:, gains, fresh] = gain_cov * prior.fresh_pct[:, None, :]
    cov[:, fresh, gains] = cov[:, gains, fresh].swapaxes(-1, -2)


def believe_meters(prior: Prior, mean: Array, cov: Array) -> None:
    """Write the meters' offsets, what they read too much in reference oil, and their ratios to the scale."""
    layout, known = prior.layout, prior.known
    if layout.checked:
        cov[:, layout.before, layout.before] = 1.0  # nothing depends on it before an adjustment
    for meter in range(layout.meters):
        var, offsets = prior.offset_sd_pct[:, meter] ** 2, layout.offsets(meter)
        mean[:, offsets] = known.meter_offset.value
        own = np.eye(layout.oils) * prior.oil_offset_sd_pct**2
        cov[:, offsets, offsets] = var[:, None, None] + own
        if layout.checked:
            found, common = layout.found(meter), known.electronics_share.value * var
            cov[:, found, found] = common
            cov[:, found, offsets] = cov[:, offsets, found] = common[:, None]
    if layout.several:
        believe_ratios(prior, mean, cov)


def believe_ratios(prior: Prior, mean: Array, cov: Array) -> None:
    """Write the ratios r = 1 + d - d̄ of meters, d̄ the mean own part d of those that make the scale.

    A meter that came later is not in d̄, so that the steeper the scale reads, the smaller its ratio.
    """
    layout = prior.layout
    ratio_var = prior.known.ratio_share.value * prior.gain[1] ** 2
    of_scale = np.arange(layout.meters) < layout.scale_meters
    weights = np.eye(layout.meters) - of_scale / layout.scale_meters
    ratios = slice(layout.ratio(0), layout.ratio(layout.meters))
    mean[:, ratios] = 1.0
    cov[:, ratios, ratios] = ratio_var * weights @ weights.T + LEAST_RATIO_VAR * np.eye(layout.meters)
    with_scale = -np.where(of_scale, 0.0, ratio_var / layout.scale_meters)
    cov[:, ratios, layout.gains] = with_scale[:, None]
    cov[:, layout.gains, ratios] = with_scale
    cov[:, ratios, layout.fresh] = with_scale[:, None] * prior.fresh_pct[:, None, :]
    cov[:, layout.fresh, ratios] = cov[:, ratios, layout.fresh].swapaxes(-1, -2)
