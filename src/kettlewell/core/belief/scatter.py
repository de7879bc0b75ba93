"""How far a meter scatters, learnt from its own readings.

Repeats of an occasion tell it outright. What a single reading stands off the book by has its own variance
and the book's: the square less the book's is weighed by the share that is the reading's own, squared,
as a square of that variance deserves (covariance matching: Mehra, IEEE Trans. Autom. Control
15:175-184, 1970, from memory). The prior counts as some readings (inverse gamma).
"""

from dataclasses import dataclass, replace

import numpy as np

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.readings import Expected, Together


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """What M meters of K kitchens showed of their scatter, arrays (K, M).

    The sum of ``squares`` of their errors, in units of the prior variance, and how many readings that
    counts as; when each was last read in reference oil, POSIX seconds (-inf: never).
    """

    squares: Array
    count: Array
    checked_s: Array

    def more_var(self, known: Coefficients, meters: Index, var: Array) -> Array:
        """Return by how much the variance of readings (K, V) by ``meters`` differs from ``var`` beforehand.

        Less than the prior's own is that of a mean of several, from which it differs less.
        """
        strength, prior_sd = known.scatter_strength.value, known.meter_repeatability.sd
        ratio = (strength + self.squares) / (strength + self.count)
        least, most = (sd.value**2 for sd in (known.least_scatter, known.largest_scatter))
        more = np.minimum(np.maximum(ratio * prior_sd**2, least), most) - prior_sd**2
        return more[np.arange(len(more))[:, None], meters] * np.minimum(var / prior_sd**2, 1.0)


def no_scatter(shape: tuple[int, int]) -> Scatter:
    """Return what is known of the scatter of meters (K, M) beforehand."""
    return Scatter(squares=np.zeros(shape), count=np.zeros(shape), checked_s=np.full(shape, -np.inf))


def for_meters(scatter: Scatter, meters: int) -> Scatter:
    """Return the scatter of kitchens that have so many meters now."""
    came = ((0, 0), (0, meters - scatter.count.shape[1]))
    return Scatter(
        squares=np.pad(scatter.squares, came),
        count=np.pad(scatter.count, came),
        checked_s=np.pad(scatter.checked_s, came, constant_values=-np.inf),
    )


def checked_at(scatter: Scatter, meter: int, at_s: Array) -> Scatter:
    """Return the scatter once a meter was read in reference oil at times (K,), POSIX seconds."""
    checked_s = scatter.checked_s.copy()
    checked_s[:, meter] = np.fmax(checked_s[:, meter], at_s)
    return replace(scatter, checked_s=checked_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class Errors:
    """What readings (K, V) tell of their variance: the ``squares`` of errors, and how many they are."""

    squares: Array
    count: Array


def errors_of(expected: Expected, together: Together, sound: Mask) -> Errors:
    """Return what the ``sound`` readings (K, V, N) of one occasion tell of their own errors."""
    if sound.shape[-1] == 1:
        return errors_of_one(expected.var, together.innovation[..., 0], together.var[..., 0], sound[..., 0])
    apart, count = np.where(sound, together.innovation, 0.0), sound.sum(axis=-1)
    var = np.where(sound, together.var, 0.0).max(axis=-1)  # taken well they are as precise as each other
    single = errors_of_one(expected.var, apart.sum(axis=-1), var, count == 1)
    off = np.where(sound, apart - (apart.sum(axis=-1) / np.maximum(count, 1))[..., None], 0.0)
    return Errors(
        squares=np.where(count == 1, single.squares, (off**2).sum(axis=-1)),
        count=np.where(count == 1, single.count, np.maximum(count - 1, 0)),
    )


def errors_of_one(book_var: Array, innovation: Array, var: Array, where: Mask) -> Errors:
    """Return what single readings ``where`` (K, V) tell of their own errors."""
    share = np.where(where, var / (book_var + var), 0.0) ** 2
    return Errors(squares=np.where(where, share * (innovation**2 - book_var), 0.0), count=share)


def learnt(scatter: Scatter, known: Coefficients, errors: Errors, *, beside: Array, meters: Index) -> Scatter:
    """Return the scatter after readings (K, V) by ``meters``, whose other variance is ``beside``."""
    squares = (errors.squares - errors.count * beside) / known.meter_repeatability.sd**2
    by_meter = (meters[..., None] == np.arange(scatter.count.shape[1])) * 1.0
    return Scatter(
        squares=scatter.squares + np.vecmat(squares, by_meter),
        count=scatter.count + np.vecmat(errors.count, by_meter),
        checked_s=scatter.checked_s,
    )
