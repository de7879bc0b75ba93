"""What a meter's readings are worth: their error budget, and how they lie beside another instrument's."""

from kettlewell.core.metering.budget import (
    PLAIN_METER,
    laboratory_u_pct,
    meter_read,
    offset_sd_pct,
    out_of_range,
    reading_budget,
    reading_var,
    unnamed_meter,
)
from kettlewell.core.metering.comparison import Agreement, Comparison, agreement, deming, york
from kettlewell.core.metering.lines import LeastSquares, StraightLine, least_squares
from kettlewell.core.metering.uncertainty import Component, Uncertainty, combined

__all__ = [
    "PLAIN_METER",
    "Agreement",
    "Comparison",
    "Component",
    "LeastSquares",
    "StraightLine",
    "Uncertainty",
    "agreement",
    "combined",
    "deming",
    "laboratory_u_pct",
    "least_squares",
    "meter_read",
    "offset_sd_pct",
    "out_of_range",
    "reading_budget",
    "reading_var",
    "unnamed_meter",
    "york",
]
