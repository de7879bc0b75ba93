"""Polymerised triglycerides read off TPC, for limits on what no kitchen measures."""

import math
from dataclasses import dataclass
from functools import cache

from kettlewell.book import Grade, OilKind
from kettlewell.core.data import packaged_rows

MEASURED_TO_TPC_PCT = 25.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PolymerLine:
    """Polymers against TPC in one kind of oil, a straight line; all in % m/m.

    No polymers at ``zero_tpc_pct``, ``polymers_at_25_pct`` (standard uncertainty
    ``polymers_at_25_u_pct``) at 25 % TPC; ``scatter_tpc_pct`` is the standard
    deviation of single oils about their line: 1 point, as published fits near the
    limit differ from their own data (25.3 % measured at frying 20, the fit crosses
    25 % at 22.5; Bastida & Sánchez-Muniz). ``grade`` is research where a source gives
    the line for this oil, derived where it follows from other figures of a source.
    """

    zero_tpc_pct: float
    polymers_at_25_pct: float
    polymers_at_25_u_pct: float
    scatter_tpc_pct: float
    grade: Grade

    def tpc_pct(self, polymers_pct: float) -> tuple[float, float]:
        """Return the TPC at which the oil holds ``polymers_pct``, and its standard uncertainty.

        TPC = z + (25 - z)·polymers/q with z and q the two points of the line, and
        u² = ((TPC - z)·u(q)/q)² + scatter². Polymers follow TPC with r ≥ 0.99
        (Takeoka et al., J. Agric. Food Chem. 45:3244-3249, 1997); above 25 % TPC
        the line is drawn on beyond its points.
        """
        rise_pct = (MEASURED_TO_TPC_PCT - self.zero_tpc_pct) * polymers_pct / self.polymers_at_25_pct
        slope_u_pct = rise_pct * self.polymers_at_25_u_pct / self.polymers_at_25_pct
        return self.zero_tpc_pct + rise_pct, math.hypot(slope_u_pct, self.scatter_tpc_pct)


@cache
def polymer_line(kind: OilKind) -> PolymerLine | None:
    """Return the line of data/polymers.csv for a kind of oil; None where nothing was published."""
    row = next((row for row in packaged_rows("polymers.csv") if row["oil"] == kind), None)
    if row is None:
        return None
    return PolymerLine(
        zero_tpc_pct=float(row["zero_tpc_pct"]),
        polymers_at_25_pct=float(row["polymers_at_25_pct"]),
        polymers_at_25_u_pct=float(row["polymers_at_25_u_pct"]),
        scatter_tpc_pct=float(row["scatter_tpc_pct"]),
        grade=Grade(row["grade"]),
    )
