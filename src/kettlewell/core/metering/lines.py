"""A straight line through measured points, and how well it is known.

A line is held by the point on it whose height and the slope are uncorrelated, because
every other value and its uncertainty follow from those two alone.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FEWEST_POINTS = 3  # two points lie on a line whatever their errors


@dataclass(frozen=True, slots=True, kw_only=True)
class StraightLine:
    """The line y = y0 + slope·(x - x0), its two standard uncertainties uncorrelated.

    ``y0_u`` is in the unit of y, ``slope_u`` in that of y per unit of x.
    """

    x0: float
    y0: float
    y0_u: float
    slope: float
    slope_u: float

    @property
    def intercept(self) -> float:
        """Return the line's value at x = 0, in the unit of y."""
        return self.y0 - self.slope * self.x0

    @property
    def covariance(self) -> NDArray[np.float64]:
        """Return the covariance of (intercept, slope), shape (2, 2)."""
        slope_var = self.slope_u**2
        both = -self.x0 * slope_var
        return np.array([[self.y0_u**2 - self.x0 * both, both], [both, slope_var]])

    def value(self, x: ArrayLike) -> NDArray[np.float64]:
        """Return the line's value at ``x``, shaped as ``x``."""
        return self.y0 + self.slope * np.subtract(x, self.x0, dtype=np.float64)

    def value_u(self, x: ArrayLike) -> NDArray[np.float64]:
        """Return the standard uncertainty of the line's own value at ``x``, shaped as ``x``.

        Of the line only: one more reading scatters about it as well.
        """
        distance = np.subtract(x, self.x0, dtype=np.float64)
        return np.asarray(np.hypot(self.y0_u, self.slope_u * distance), dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastSquares:
    """A line fitted by least squares; ``residual_sd`` in the unit of y, with ``dof`` degrees of freedom."""

    line: StraightLine
    residual_sd: float
    dof: int

    def reading_u(self, x: ArrayLike) -> NDArray[np.float64]:
        """Return the standard uncertainty of one more reading's y foretold at ``x``, shaped as ``x``."""
        return np.asarray(np.hypot(self.line.value_u(x), self.residual_sd), dtype=np.float64)


def least_squares(x: ArrayLike, y: ArrayLike) -> LeastSquares:
    """Return the calibration line: y scatters evenly about it, x is known.

    slope = Σ(x - x̄)(y - ȳ)/Σ(x - x̄)², s² = Σ(residuals²)/(n - 2), with variances s²/n
    of the height at x̄ and s²/Σ(x - x̄)² of the slope (JCGM 100:2008, H.3.2). ``x`` and
    ``y`` have shape (n,).

    Raises ValueError for fewer than 3 points, unequal or unknown numbers, or points
    that all lie at one x.
    """
    x, y = columns(x, y)
    refuse_one_x(x)
    x0, y0 = float(x.mean()), float(y.mean())
    away = x - x0
    spread = float(away @ away)
    slope = float(away @ (y - y0)) / spread
    misses = y - y0 - slope * away
    dof = len(x) - 2
    s = math.sqrt(float(misses @ misses) / dof)
    line = StraightLine(x0=x0, y0=y0, y0_u=s / math.sqrt(len(x)), slope=slope, slope_u=s / math.sqrt(spread))
    return LeastSquares(line=line, residual_sd=s, dof=dof)


def columns(*given: ArrayLike) -> tuple[NDArray[np.float64], ...]:
    """Return equally long columns of known numbers, each of shape (n,).

    Raises ValueError for fewer than 3 rows or columns that are not alike.
    """
    arrays = tuple(np.asarray(column, dtype=np.float64) for column in given)
    if any(array.ndim != 1 or array.shape != arrays[0].shape for array in arrays):
        raise ValueError("every point needs all of its numbers: the columns differ in length")
    if len(arrays[0]) < FEWEST_POINTS:
        raise ValueError(f"at least {FEWEST_POINTS} points are needed, not {len(arrays[0])}")
    if not all(np.isfinite(array).all() for array in arrays):
        raise ValueError("every number must be known and finite")
    return arrays


def refuse_one_x(x: NDArray[np.float64]) -> None:
    """Raise ValueError where all points lie at one x."""
    if np.ptp(x) == 0:
        raise ValueError("all points lie at one x: no line follows from them")
