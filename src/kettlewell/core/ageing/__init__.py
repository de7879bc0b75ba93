"""How oil ages: the mass balance, its rival, and how fast."""

from kettlewell.core.ageing.balance import advance, hours_to_limit, steady_state
from kettlewell.core.ageing.power_law import advance_power_law

__all__ = ["advance", "advance_power_law", "hours_to_limit", "steady_state"]
