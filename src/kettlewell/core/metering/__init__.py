"""The error budget of a meter reading."""

from kettlewell.core.metering.budget import (
    Component,
    offset_sd_pct,
    out_of_range,
    reading_budget,
    reading_var,
)

__all__ = ["Component", "offset_sd_pct", "out_of_range", "reading_budget", "reading_var"]
