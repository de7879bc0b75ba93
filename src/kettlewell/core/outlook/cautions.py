"""The usual cautions, each where it belongs.

From the facts: UK HSE on draining (oil takes 6-7 h to cool, by hand at 40 °C or below),
Regulation (EU) 2017/2158 on potatoes; the rest is common practice, no source.
"""

from collections.abc import Iterator

from kettlewell.book import Draining, FoodKind, Fryer, Kitchen, Message, OilKind, find
from kettlewell.book.words import N_
from kettlewell.core.outlook.values import VerdictKey

FIRE = N_(
    "Never water on burning oil: cut the heat, close the lid if it is safe, "
    "use a class F extinguisher or the hood's system, call for help."
)
DRAIN_BY_HAND = N_(
    "Drain by hand only with the heat off and the oil at 40 °C or below: it takes 6 to 7 hours to cool. "
    "Only someone trained to drain does it, with dry boots and gloves and a dry vessel that is large enough."
)
DRAIN_BY_PUMP = N_(
    "Pump hot oil only with the heat off and only if you are trained to: dry boots, gloves, face kept away."
)
REFILL = N_(
    "Every surface rinsed and dry before oil goes in. Fill cold only to the cold mark: hot oil stands "
    "about 13 % higher. Elements stay covered."
)
SOLID_FAT = N_("Melt solid fat slowly, with the elements covered.")
ALLERGENS = N_("A fresh fill alone does not clear allergens: clean the bath before another food goes in.")
PROBE = N_(
    "Measure with no food in the bath and no bubbles rising, the probe clear of metal and between its marks. "
    "Hot oil burns."
)
POTATOES = N_("Fry potatoes below 175 °C.")
POTATOES_BELOW_C = 175


def cautions_of(kitchen: Kitchen, fryer: Fryer, key: VerdictKey) -> tuple[Message, ...]:
    """Return the cautions that belong to a verdict on a fryer."""
    return tuple(Message(text=text) for text in texts_of(kitchen, fryer, key))


def texts_of(kitchen: Kitchen, fryer: Fryer, key: VerdictKey) -> Iterator[str]:
    """Yield the cautions, those of the act first."""
    foods = [find(kitchen.products, product) for product in fryer.fries]
    if key in (VerdictKey.CHANGE_BEFORE, VerdictKey.CHANGE_AFTER):
        yield DRAIN_BY_HAND if fryer.draining is Draining.HAND else DRAIN_BY_PUMP
        yield REFILL
        if find(kitchen.oils, fryer.oil).kind is OilKind.PALM_OLEIN:
            yield SOLID_FAT
        if any(food.allergens for food in foods):
            yield ALLERGENS
    if key is VerdictKey.MEASURE_AGAIN:
        yield PROBE
    if any(food.kind in (FoodKind.FROZEN_FRIES, FoodKind.FRESH_CHIPS) for food in foods):
        yield POTATOES
    yield FIRE
