"""What a recipe asks of a kitchen, and its answers, in words."""

from collections.abc import Mapping

from kettlewell.book.words import N_
from kettlewell.tables.recipe import Conditions, Decimals, Order, Role

ROLES: Mapping[Role, str] = {
    Role.NOTHING: N_("nothing, leave it out"),
    Role.DAY: N_("day, or day and time"),
    Role.CLOCK: N_("time of day"),
    Role.FRYER: N_("which fryer"),
    Role.READING: N_("polar compounds"),
    Role.OIL_TEMP: N_("oil temperature"),
    Role.TOP_UP: N_("oil topped up"),
    Role.CHANGE: N_("filled with fresh oil (yes or a tick)"),
    Role.WHAT: N_("what was done"),
    Role.AMOUNT: N_("how much, of what was done"),
    Role.UNIT: N_("unit of how much"),
    Role.WHO: N_("who, kept as a note"),
    Role.NOTE: N_("note"),
}
ORDERS: Mapping[Order, str] = {
    Order.DAY_FIRST: N_("day first: 3/4 is 3 April"),
    Order.MONTH_FIRST: N_("month first: 3/4 is 4 March"),
}
DECIMALS: Mapping[Decimals, str] = {Decimals.COMMA: N_("a comma: 12,5"), Decimals.POINT: N_("a point: 12.5")}
CONDITIONS: Mapping[Conditions, str] = {
    Conditions.SOUND: N_("yes: no food, oil still, probe clear, temperature steady"),
    Conditions.UNKNOWN: N_("I don't know: they then count as not sound"),
}
QUESTIONS: Mapping[str, str] = {
    "order": N_("Days in numbers: day or month first?"),
    "unit": N_("Oil topped up is measured in what?"),
    "clock": N_("At what time was it, where the table does not say?"),
    "fryers": N_("Which fryer is meant?"),
    "meter": N_("Which meter was it read with?"),
}
