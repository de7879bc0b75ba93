"""The usual cautions, in sentences.

From the facts: UK HSE on draining (oil takes 6-7 h to cool, by hand at 40 °C or below),
Regulation (EU) 2017/2158 on potatoes; the rest is common practice, no source.
"""

from kettlewell.core.outlook.values import Caution
from kettlewell.telling.message import N_, Message

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
TEXTS = {
    Caution.FIRE: FIRE,
    Caution.DRAIN_BY_HAND: DRAIN_BY_HAND,
    Caution.DRAIN_BY_PUMP: DRAIN_BY_PUMP,
    Caution.REFILL: REFILL,
    Caution.SOLID_FAT: SOLID_FAT,
    Caution.ALLERGENS: ALLERGENS,
    Caution.PROBE: PROBE,
    Caution.POTATOES: POTATOES,
}


def caution_message(caution: Caution) -> Message:
    """Return a caution."""
    return Message(text=TEXTS[caution])
