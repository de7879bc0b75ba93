"""Polymerised triglycerides read off TPC, for limits on what no kitchen measures."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from kettlewell.book import Grade, Oil, OilKind
from kettlewell.core.ageing.coefficients import PACKAGED, OilDefaults, oil_defaults
from kettlewell.core.data import packaged_rows

MEASURED_TO_TPC_PCT = 25.0
POOLED = "pooled"


@dataclass(frozen=True, slots=True, kw_only=True)
class PolymerFigure:
    """What a laboratory found in one sample of ``oil``; both in % m/m."""

    oil: str
    tpc_pct: float
    polymers_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PolymerLine:
    """Polymers against TPC in one oil, a straight line from its fresh TPC, where there are none.

    ``per_point`` % m/m of polymers come with each point of TPC beyond ``fresh_pct``; each has its
    standard uncertainty. ``grade`` is research where a source gives the line for this kind of oil, derived
    where it follows from other figures or is that of all oils together, house where the kitchen's
    laboratory bore on it.
    """

    per_point: float
    per_point_u: float
    fresh_pct: float
    fresh_u_pct: float
    grade: Grade

    def tpc_pct(self, polymers_pct: float) -> tuple[float, float]:
        """Return the TPC at which the oil holds ``polymers_pct``, and its standard uncertainty.

        TPC = p0 + polymers/b, and u² = (polymers/b · u(b)/b)² + u(p0)². Fresh oil holds no polymers, and
        they follow TPC with r ≥ 0.99 (Takeoka et al., J. Agric. Food Chem. 45:3244-3249, 1997); above
        25 % TPC the line is drawn on beyond its points.
        """
        rise_pct = polymers_pct / self.per_point
        return self.fresh_pct + rise_pct, math.hypot(
            rise_pct * self.per_point_u / self.per_point, self.fresh_u_pct
        )


def line_of(oil: Oil, figures: Sequence[PolymerFigure] = ()) -> PolymerLine:
    """Return the line of an oil: of its kind, or of all oils together, told anew by ``figures`` of it.

    Each figure tells b with u(b)/b = √(u_r² + (u_rise/rise)²), in which u_rise is of the laboratory's TPC and
    of the fresh value, b as published; it counts beside the packaged line as it is sure.
    """
    defaults = oil_defaults(oil, PACKAGED)
    fresh_pct = defaults.fresh_tpc_pct if oil.fresh_tpc_pct is None else oil.fresh_tpc_pct
    published, published_u, grade = published_line(OilKind.OTHER if oil.parts else oil.kind)
    precision = published_u**-2
    total = published * precision
    for figure in figures:
        rise_pct = figure.tpc_pct - fresh_pct
        if figure.oil == oil.key and rise_pct > 0:
            weight = (published * figure_rel_u(figure, rise_pct, defaults)) ** -2
            precision, grade = precision + weight, Grade.HOUSE
            total += weight * figure.polymers_pct / rise_pct
    return PolymerLine(
        per_point=total / precision,
        per_point_u=precision**-0.5,
        fresh_pct=fresh_pct,
        fresh_u_pct=defaults.fresh_tpc_sd_pct,
        grade=grade,
    )


def figure_rel_u(figure: PolymerFigure, rise_pct: float, oil: OilDefaults) -> float:
    """Return the relative uncertainty of polymers per point of TPC that a laboratory's figure tells."""
    rise_u_pct = math.hypot(PACKAGED.laboratory.sd * figure.tpc_pct, oil.fresh_tpc_sd_pct)
    return math.hypot(PACKAGED.laboratory_polymers.sd, rise_u_pct / rise_pct)


@cache
def published_line(kind: OilKind) -> tuple[float, float, Grade]:
    """Return polymers per point of TPC of data/polymers.csv, its uncertainty, and how it is known."""
    rows = {row["oil"]: row for row in packaged_rows("polymers.csv")}
    row = rows.get(kind, rows[POOLED])
    return float(row["polymers_per_point"]), float(row["polymers_per_point_u"]), Grade(row["grade"])
