"""Two instruments compared on the same oils: one pair of readings for each oil.

Both instruments err, so a line that takes one of them for the truth comes out too
flat. Both errors are taken as independent. Formulas are from memory unless marked.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from kettlewell.core.metering.lines import StraightLine, columns, refuse_one_x

LIMITS_SD = 1.96  # limits of agreement hold 95 % of differences
STEPS = 500  # it rests after a few dozen where there is a line at all
CLOSE_ENOUGH = 1e-12  # relative change of the slope at which York's iteration rests
NO_LINE = "the pairs do not lie along one line"

Column = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A line from one instrument's readings to the other's.

    ``misfit`` is the root mean square distance of the pairs from the line, with ``dof``
    degrees of freedom. York regression counts it in the stated standard uncertainties:
    near 1 where they explain the scatter, above where they do not. Deming regression
    knows only their ratio, and counts it in the unit of x: what x errs by.
    """

    line: StraightLine
    misfit: float
    dof: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """The numbers of a difference plot, all in the readings' unit.

    ``lower`` and ``upper`` are the limits between which 95 % of differences lie,
    each known to the standard uncertainty ``limit_u``.
    """

    mean: float
    mean_u: float
    sd: float
    lower: float
    upper: float
    limit_u: float


def york(x: ArrayLike, y: ArrayLike, *, x_u: ArrayLike, y_u: ArrayLike) -> Comparison:
    """Return the line through pairs with their own standard uncertainties (York regression).

    The slope b minimises Σ(y - a - b·x)²/(y_u² + b²·x_u²), found by the iteration of
    York et al. 2004, Am. J. Phys. 72:367, errors within a pair uncorrelated. The
    line's uncertainty follows from the stated ones alone, not from the scatter. Where
    ``misfit`` is several times 1, another slope may lie nearer still. All four have
    shape (n,) and the readings' units.

    Raises ValueError for fewer than 3 pairs, columns that differ in length, numbers
    unknown, uncertainties not above 0, or pairs that lie along no one line.
    """
    x, y, x_u, y_u = columns(x, y, x_u, y_u)
    if not ((x_u > 0).all() and (y_u > 0).all()):
        raise ValueError("both instruments' standard uncertainties must be above 0")
    x_var, y_var = x_u**2, y_u**2
    slope = _deming_slope(x, y, float(y_var.mean() / x_var.mean()))
    near_x, near_y = x - x.mean(), y - y.mean()  # far from 0, rounding would keep the slope from resting
    for _ in range(STEPS):
        last, slope = slope, _york_slope(slope, near_x, near_y, x_var=x_var, y_var=y_var)
        if abs(slope - last) <= CLOSE_ENOUGH * abs(slope):
            return _comparison(slope, x, y, x_var=x_var, y_var=y_var)
    raise ValueError(NO_LINE)


def deming(x: ArrayLike, y: ArrayLike, *, variance_ratio: float) -> Comparison:
    """Return the line through pairs whose two instruments err alike at all sizes (Deming regression).

    With λ = ``variance_ratio``, the error variance of y over that of x, and d = Syy - λ·Sxx:
    slope = (d + √(d² + 4λ·Sxy²))/(2·Sxy). How large the errors are is learnt from the
    scatter; the line's uncertainty is York's for errors so large. ``x`` and ``y`` have
    shape (n,).

    Raises ValueError for fewer than 3 pairs, columns that differ in length, numbers
    unknown, a ratio not above 0, or pairs that lie along no one line.
    """
    x, y = columns(x, y)
    if not 0 < variance_ratio < math.inf:
        raise ValueError("the ratio of the error variances must be above 0")
    slope = _deming_slope(x, y, variance_ratio)
    unit = np.ones_like(x)
    alike = _comparison(slope, x, y, x_var=unit, y_var=variance_ratio * unit)
    line = alike.line
    scaled = replace(line, y0_u=alike.misfit * line.y0_u, slope_u=alike.misfit * line.slope_u)
    return replace(alike, line=scaled)


def agreement(x: ArrayLike, y: ArrayLike) -> Agreement:
    """Return how far y lies from x: the mean of y - x and its limits of agreement.

    mean ± 1.96 sd, each limit with variance sd²·(1/n + 1.96²/(2(n - 1))), Bland &
    Altman 1999, Stat. Methods Med. Res. 8:135; differences taken as normal and their
    spread as the same at all sizes. ``x`` and ``y`` have shape (n,).

    Raises ValueError for fewer than 3 pairs, columns that differ in length or numbers
    unknown.
    """
    x, y = columns(x, y)
    n = len(x)
    mean, sd = float((y - x).mean()), float((y - x).std(ddof=1))
    reach = LIMITS_SD * sd
    return Agreement(
        mean=mean,
        mean_u=sd / math.sqrt(n),
        sd=sd,
        lower=mean - reach,
        upper=mean + reach,
        limit_u=sd * math.sqrt(1 / n + LIMITS_SD**2 / (2 * (n - 1))),
    )


def _deming_slope(x: Column, y: Column, variance_ratio: float) -> float:
    refuse_one_x(x)
    x, y = x - x.mean(), y - y.mean()
    both = float(x @ y)
    flatter = variance_ratio * float(x @ x) - float(y @ y)
    root = math.hypot(flatter, 2 * math.sqrt(variance_ratio) * both)
    if flatter > 0:  # the same root of the equation, without a difference of near equals
        return 2 * variance_ratio * both / (root + flatter)
    if both == 0:
        raise ValueError(NO_LINE)
    return (root - flatter) / (2 * both)


def _york_slope(slope: float, x: Column, y: Column, *, x_var: Column, y_var: Column) -> float:
    weight = 1 / (y_var + slope**2 * x_var)
    x, y = x - np.average(x, weights=weight), y - np.average(y, weights=weight)
    pull = weight**2 * (y_var * x + slope * x_var * y)
    return float(pull @ y) / float(pull @ x)


def _comparison(slope: float, x: Column, y: Column, *, x_var: Column, y_var: Column) -> Comparison:
    """Return the line of this slope; its uncertainties are taken where the pairs truly lie on it."""
    weight = 1 / (y_var + slope**2 * x_var)
    x_mean, y_mean = np.average(x, weights=weight), np.average(y, weights=weight)
    miss = y - y_mean - slope * (x - x_mean)
    true_x = x + slope * x_var * weight * miss
    x0 = float(np.average(true_x, weights=weight))
    line = StraightLine(
        x0=x0,
        y0=float(y_mean + slope * (x0 - x_mean)),
        y0_u=1 / math.sqrt(weight.sum()),
        slope=slope,
        slope_u=1 / math.sqrt(weight @ (true_x - x0) ** 2),
    )
    dof = len(x) - 2
    return Comparison(line=line, misfit=math.sqrt(float(weight @ miss**2) / dof), dof=dof)
