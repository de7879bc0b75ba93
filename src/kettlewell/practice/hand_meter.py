"""The hand meter of practice kitchens, benches and tests: invented figures, stated once."""

from kettlewell.book import Meter

HAND_METER = Meter(
    key="hand",
    name="Hand meter",
    resolution_pct=0.5,
    largest_error_pct=2.0,
    min_oil_temp_c=40.0,
    max_oil_temp_c=200.0,
)
