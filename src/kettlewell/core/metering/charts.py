"""Control charts, and the one combined rule by which a meter's checks are watched.

The plain charts follow the NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 to
6.3.2.4; values, targets and standard deviations are in one unit of the caller's.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

MEAN_RANGE_OF_TWO = (
    1.128  # d2: mean range of two normal values of standard deviation 1, as the handbook rounds it
)
WIDTH_SDS = 3.0  # see ``meter_chart``
WEIGHT = 0.4
PRIOR_DOF = 20.0


class SignalKind(StrEnum):
    """Which part of the rule speaks: one check alone, or the weighted mean of the checks."""

    INDIVIDUAL = "individual"
    EWMA = "ewma"


class Direction(StrEnum):
    """Whether the meter reads too high or too low."""

    UP = "up"
    DOWN = "down"


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """A check outside a control limit: its place from 0 and its distance from the centre in points."""

    kind: SignalKind
    index: int
    size_pct: float
    direction: Direction


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlLimits:
    """The centre line of a chart and the limits below and above it."""

    centre: float
    lower: float
    upper: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterChart:
    """A meter's checks against where they should stand, percentage points; shape (..., checks).

    A limit is the distance from there beyond which a check, or the weighted mean, signals.
    """

    deviation_pct: NDArray[np.float64]
    deviation_limit_pct: NDArray[np.float64]
    ewma_pct: NDArray[np.float64]
    ewma_limit_pct: NDArray[np.float64]


def individuals_limits(values: ArrayLike, *, width: float = 3.0) -> ControlLimits:
    """Return mean ± ``width``·(mean moving range)/1.128 of two values or more (e-Handbook 6.3.2.2).

    Raises ValueError for fewer than two values.
    """
    values = np.asarray(values, dtype=np.float64)
    if values.size < 2:
        raise ValueError("an individuals chart needs at least two values")
    centre = float(values.mean())
    reach = width * float(np.abs(np.diff(values)).mean()) / MEAN_RANGE_OF_TWO
    return ControlLimits(centre=centre, lower=centre - reach, upper=centre + reach)


def ewma(values: ArrayLike, *, weight: float, start: ArrayLike) -> NDArray[np.float64]:
    """Return the exponentially weighted moving averages of values of shape (..., n), in that shape.

    z_i = weight·x_i + (1 - weight)·z_(i-1) with z_0 = ``start`` (e-Handbook 6.3.2.4).
    Raises ValueError unless 0 < weight ≤ 1.
    """
    values = np.asarray(values, dtype=np.float64)
    share = _share(weight)
    averages = np.empty_like(values)
    last = np.asarray(start, dtype=np.float64)
    for i in range(values.shape[-1]):
        averages[..., i] = last = share * values[..., i] + (1 - share) * last
    return averages


def ewma_limits(target: float, sd: float, *, weight: float, width: float = 3.0) -> ControlLimits:
    """Return the limits of a long-running EWMA: target ± width·sd·√(weight/(2 - weight)) (6.3.2.4).

    Raises ValueError unless 0 < weight ≤ 1.
    """
    reach = width * sd * float(np.sqrt(_share(weight) / (2 - weight)))
    return ControlLimits(centre=target, lower=target - reach, upper=target + reach)


def cusum(
    values: ArrayLike, *, target: float, slack: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the upper and lower tabular sums of n values (e-Handbook 6.3.2.3), each of shape (n,).

    S⁺_i = max(0, S⁺_(i-1) + x_i - target - slack), S⁻ likewise downwards; ``slack`` is
    half the shift to be found. A sum beyond the caller's decision value h is a signal.
    """
    beyond = np.asarray(values, dtype=np.float64) - target
    return _one_sided(beyond - slack), _one_sided(-beyond - slack)


def meter_chart(deviations_pct: ArrayLike, sds_pct: ArrayLike, *, prior_dof: float = PRIOR_DOF) -> MeterChart:
    """Return the combined chart of a meter's checks since it was last adjusted.

    Parameters
    ----------
    deviations_pct : how far each check stood from where it should, percentage points,
        shape (..., checks), oldest first
    sds_pct : what each should scatter by according to the error budget; broadcast to that shape
    prior_dof : for how many earlier checks the budget counts

    A check alone signals beyond 3 standard deviations, and so does the weighted mean
    (weight 0.4) of all checks, whose variance is carried along from 0 at the start. The
    budget is weighed with the scatter of earlier checks by a scaled inverse chi-square
    prior: factor² = (prior_dof + Σ(deviation/sd)²)/(prior_dof + checks). A check never
    widens its own limit.

    Weight, width and degrees of freedom are chosen, not published: by simulation over seeds
    other than those of the tests (20,000 runs; checks every 28 days of three readings to
    0.5 points, repeatability 0.5). A steady meter signals in 3 % of runs of 12 checks. A
    drift of 1.5 points in 60 days that begins at a check is signalled by the second check
    after it in 96 %; one that begins anywhere between two checks by the second in 64 % and
    by the third in 99 %. A meter that repeats worse than its budget gives more false signals,
    and so does a reference's error that is left in: at a standard uncertainty of 0.25, 23 %.

    Raises ValueError for a standard deviation or ``prior_dof`` that is not above 0.
    """
    deviations = np.asarray(deviations_pct, dtype=np.float64)
    sds = np.broadcast_to(np.asarray(sds_pct, dtype=np.float64), deviations.shape)
    if not (np.all(sds > 0) and prior_dof > 0):
        raise ValueError("standard deviations and prior degrees of freedom must be above 0")
    reach = WIDTH_SDS * _learnt_factors(deviations / sds, prior_dof)
    mean_sds = np.sqrt(_ewma_variances(sds**2))
    return MeterChart(
        deviation_pct=deviations,
        deviation_limit_pct=reach * sds,
        ewma_pct=ewma(deviations, weight=WEIGHT, start=0.0),
        ewma_limit_pct=reach * mean_sds,
    )


def meter_signals(chart: MeterChart) -> tuple[Signal, ...]:
    """Return every signal of one meter's chart (arrays of shape (checks,)), oldest first."""
    alone = _signals(SignalKind.INDIVIDUAL, chart.deviation_pct, chart.deviation_limit_pct)
    together = _signals(SignalKind.EWMA, chart.ewma_pct, chart.ewma_limit_pct)
    return tuple(sorted(alone + together, key=lambda signal: signal.index))


def _signals(kind: SignalKind, sizes: NDArray[np.float64], limits: NDArray[np.float64]) -> list[Signal]:
    return [
        Signal(
            kind=kind,
            index=int(i),
            size_pct=float(sizes[i]),
            direction=Direction.UP if sizes[i] > 0 else Direction.DOWN,
        )
        for i in np.flatnonzero(np.abs(sizes) > limits)
    ]


def _learnt_factors(scores: NDArray[np.float64], prior_dof: float) -> NDArray[np.float64]:
    """Return the budget's standard deviation factor before each check."""
    earlier = np.cumsum(scores**2, axis=-1) - scores**2
    return np.asarray(np.sqrt((prior_dof + earlier) / (prior_dof + np.arange(scores.shape[-1]))))


def _ewma_variances(variances: NDArray[np.float64]) -> NDArray[np.float64]:
    carried = np.empty_like(variances)
    last = np.zeros(variances.shape[:-1])
    for i in range(variances.shape[-1]):
        carried[..., i] = last = WEIGHT**2 * variances[..., i] + (1 - WEIGHT) ** 2 * last
    return carried


def _one_sided(steps: NDArray[np.float64]) -> NDArray[np.float64]:
    total = np.cumsum(steps)
    return np.asarray(total - np.minimum(np.minimum.accumulate(total), 0.0))


def _share(weight: float) -> float:
    if not 0 < weight <= 1:
        raise ValueError("the weight of an EWMA must lie above 0 and at most at 1")
    return weight
