"""Combining uncertain inputs into one uncertain result, after JCGM 100:2008 (the GUM)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from kettlewell.core.limits.decision import coverage_factor


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """One line of an error budget.

    ``u`` is the input's standard uncertainty in the input's own unit, ``sensitivity``
    the result's unit per unit of the input, ``dof`` the degrees of freedom behind ``u``.

    Raises ValueError for a negative or unknown ``u``, an infinite or unknown
    ``sensitivity``, or fewer than 1 degree of freedom.
    """

    name: str
    u: float
    sensitivity: float = 1.0
    dof: float = math.inf

    def __post_init__(self) -> None:
        """Refuse what no sum of squares could show to be wrong."""
        if not (0 <= self.u < math.inf and math.isfinite(self.sensitivity)):
            raise ValueError(f"{self.name}: the uncertainty must be 0 or more, and finite")
        if not self.dof >= 1:
            raise ValueError(f"{self.name}: there must be at least 1 degree of freedom")

    @property
    def variance(self) -> float:
        """Return what the component adds to the result's variance, result's unit squared."""
        return (self.sensitivity * self.u) ** 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertainty:
    """A standard uncertainty ``u`` in the result's unit and its effective degrees of freedom."""

    u: float
    dof: float

    def expanded(self, coverage: float) -> float:
        """Return the half-width of the interval that covers the true value with probability ``coverage``.

        k·u with k the two-sided quantile of Student's t, the degrees of freedom cut to
        a whole number as JCGM 100:2008, G.4.1, has it. Raises ValueError unless
        0 < coverage < 1.
        """
        if not 0 < coverage < 1:
            raise ValueError("coverage must lie between 0 and 1")
        whole = self.dof if math.isinf(self.dof) else math.floor(self.dof + 1e-9)  # 4 may come as 3.999…
        return float(coverage_factor((1 - coverage) / 2, dof=whole)) * self.u


def combined(components: Sequence[Component]) -> Uncertainty:
    """Return the uncertainty of a result whose inputs are independent.

    u² = Σ(cᵢuᵢ)² (JCGM 100:2008, 5.1.2) with ν = u⁴/Σ((cᵢuᵢ)⁴/νᵢ), the
    Welch-Satterthwaite formula (G.4.1), which is infinite where every input's is.

    Raises ValueError without components: what nobody looked at is not certain.
    """
    if not components:
        raise ValueError("a budget needs at least one component")
    variance = combined_var(components)
    doubt = sum(component.variance**2 / component.dof for component in components)
    return Uncertainty(u=math.sqrt(variance), dof=variance**2 / doubt if doubt else math.inf)


def combined_var(components: Sequence[Component]) -> float:
    """Return the sum of the components' variances, the result's unit squared."""
    return sum(component.variance for component in components)
