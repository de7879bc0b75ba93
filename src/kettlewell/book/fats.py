"""Which oils are fats that are solid when cold."""

from kettlewell.book.kitchen import Oil

# solid or half solid at room temperature: common practice, no source; of "other" nobody knows
SOLID_WHEN_COLD = frozenset({"palm-olein", "hard-palm", "coconut", "dripping", "lard", "other"})


def may_be_solid(oil: Oil) -> bool:
    """Tell whether an oil may be solid when cold, so that it is melted with care."""
    return oil.kind in SOLID_WHEN_COLD
