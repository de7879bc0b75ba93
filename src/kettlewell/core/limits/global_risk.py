"""The risks of a whole process and its inspection (JCGM 106:2012, clause 9)."""

import math
from dataclasses import dataclass

from scipy.special import ndtr

REACH_SD = 12.0  # a normal density beyond this many standard deviations is below 1e-31


@dataclass(frozen=True, slots=True, kw_only=True)
class GlobalRisks:
    """Joint probabilities for a process and its inspection (JCGM 106, 9.5).

    ``consumer``: an item is accepted and does not conform; ``producer``: it
    conforms and is rejected.
    """

    consumer: float
    producer: float


def global_risks(
    process_mean: float,
    process_sd: float,
    *,
    u: float,
    tolerance: tuple[float, float],
    acceptance: tuple[float, float],
) -> GlobalRisks:
    """Return the global consumer's and producer's risk of a normal process.

    The true value is N(process_mean, process_sd²), the measured value normal
    about it with standard uncertainty ``u``; both intervals are (lower, upper) in
    the same unit and may be infinite. JCGM 106:2012, 9.5, with the joint
    probability of conforming and being accepted integrated numerically.

    Raises ValueError unless both standard deviations are above 0.
    """
    if not (process_sd > 0 and u > 0):
        raise ValueError("process_sd and u must be above 0")
    # loading the integrator takes longer than assessing a kitchen, which seldom needs it
    from scipy.integrate import quad  # noqa: PLC0415

    def conforms_and_accepted(true: float) -> float:
        z = (true - process_mean) / process_sd
        density = math.exp(-z * z / 2) / (process_sd * math.sqrt(2 * math.pi))
        return density * _share_within(true, u, acceptance)

    low = max(tolerance[0], process_mean - REACH_SD * process_sd)
    high = min(tolerance[1], process_mean + REACH_SD * process_sd)
    kinks = [edge for edge in (process_mean, *acceptance) if low < edge < high]
    both = quad(conforms_and_accepted, low, high, points=kinks, limit=200)[0] if low < high else 0.0
    accepted = _share_within(process_mean, math.hypot(process_sd, u), acceptance)
    conforming = _share_within(process_mean, process_sd, tolerance)
    return GlobalRisks(consumer=max(accepted - both, 0.0), producer=max(conforming - both, 0.0))


def _share_within(mean: float, sd: float, interval: tuple[float, float]) -> float:
    return float(ndtr((interval[1] - mean) / sd) - ndtr((interval[0] - mean) / sd))
