"""The meters: their checks, the look-back after a failed one, and another instrument beside them."""
