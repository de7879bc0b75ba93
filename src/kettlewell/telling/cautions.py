"""The usual cautions, in sentences.

UK HSE on draining (oil takes 6-7 h to cool, by hand at 40 °C or below), Regulation (EU) 2017/2158 on
potatoes, ANZCOR guideline 9.1.3 on burns, fire services (London, Buckinghamshire, Greater
Manchester) on smoking oil and wet food, OSHA on class K; the rest is common practice, no source.
"""

from kettlewell.core.outlook.values import Caution
from kettlewell.telling.message import N_, Message

FIRE = N_(
    "Never water on burning oil: cut the heat, close the lid if it is safe, call for help. "
    "If you are trained to, use a class F (K) wet-chemical extinguisher or the hood's system. "
    "No powder, no foam. Do not move the fryer."
)
SMOKE = N_("Oil that smokes is too hot, or old: heat off, no food in, leave it to cool. Do not move it.")
BURNS = N_(
    "Burnt: cool running water for at least 20 minutes, at once; no ice, nothing greasy. Take off rings "
    "and clothes that do not stick. Call an ambulance for more than a small burn. Your local first-aid "
    "rules come first."
)
WET_FOOD = N_(
    "Wet or icy food makes hot oil boil over: shake off ice and water, lower baskets slowly, "
    "never overfill them."
)
DRAIN_BY_HAND = N_(
    "Drain by hand only with the heat off and the oil at 40 °C or below: it takes 6 to 7 hours to cool. "
    "Only someone trained to drain does it, with dry boots and gloves and a dry vessel that is large enough."
)
DRAIN_BY_PUMP = N_(
    "Pump hot oil only with the heat off and only if you are trained to. Dry boots and gloves, face back."
)
REFILL = N_(
    "Every surface rinsed and dry before oil goes in. Fill cold only to the cold mark: hot oil stands "
    "about 13 % higher. Elements stay covered."
)
SOLID_FAT = N_(
    "Fat that is solid when cold: melt it slowly, on the melt setting or below 130 °C. Pack it round the "
    "elements so that none lies bare, never as a block on top. Stay with it. Better melt it apart and ladle "
    "it in. It is drained while it still runs, by people trained and equipped for that."
)
ALLERGENS = N_("A fresh fill alone does not clear allergens: clean the bath before another food goes in.")
PROBE = N_(
    "Measure with no food in the bath and no bubbles rising, the probe clear of metal and as deep as its "
    "instructions say. Hot oil burns."
)
SAMPLE = N_(
    "Take a sample of hot oil with a dry metal ladle, dry gloves, face back. Let it cool before you close "
    "the bottle. Never into plastic or wet glass."
)
POTATOES = N_("Fry potatoes below 175 °C.")
TEXTS = {
    Caution.FIRE: FIRE,
    Caution.SMOKE: SMOKE,
    Caution.BURNS: BURNS,
    Caution.WET_FOOD: WET_FOOD,
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
