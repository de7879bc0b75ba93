"""The cautions that belong to an act at a fryer; those of this module are common practice, no source."""

from collections.abc import Iterable, Iterator

from kettlewell.book import Draining, Fryer, Kitchen, find
from kettlewell.book.allergens import held
from kettlewell.book.fats import may_be_solid
from kettlewell.book.setup import Setup
from kettlewell.telling import N_, Reader
from kettlewell.telling.allergens import allergens_told
from kettlewell.telling.cautions import (
    ALLERGENS,
    DRAIN_BY_HAND,
    DRAIN_BY_PUMP,
    REFILL,
    SAMPLE,
    SOLID_FAT,
    WET_FOOD,
)

TOP_UP = N_(
    "Pour slowly and close to the oil, jug and pack dry. Never above the mark. Elements stay covered."
)
BOIL_OUT = N_(
    "After a boil-out rinse every surface, and let all of it dry before oil goes in: "
    "water and soap make hot oil erupt and spoil it."
)
CRUMBS = N_("Hot crumbs can smoulder and set a bin on fire: let them cool in a metal vessel with a lid.")
SHARED_FILTER = N_(
    "A shared filter carries oil and allergens from fryer to fryer. What is fried here then carries them too."
)
MOVE = N_("The oil takes its allergens along. From now on this also holds for what the other fryer fries.")
MOVE_NAMED = N_(
    "The oil takes its allergens along ({allergens}). The other fryer's food then carries them too."
)
MOVE_UNKNOWN = N_(
    "Not all allergens of what is fried here are written down: ask the chef before the oil is moved."
)
OTHER_FOOD = N_(
    "Another food than usual takes up the allergens of what was fried before, and leaves its own. "
    "A fresh fill alone does not clear allergens: clean the bath first."
)
TASTE = N_(
    "Do not lean over hot oil: waft the smell towards you. Never taste hot oil: taste the food, once it has "
    "cooled."
)
ONE_TAP = N_(
    "Hot oil burns. Dry gloves, face back. Jug and pack dry, never above the mark. Filter only with the heat "
    "off and if you are trained to. Crumbs cool in a metal vessel with a lid."
)
EMPTY_FIRST = N_("The other bath must be empty or have room, and be dry.")
BURNT = N_("Burnt: cool running water at once, for at least 20 minutes; then get help.")
LID = N_("Lids dry, and never on while it heats.")

BY_HOT_OIL = frozenset({"change", "move", "store", "return", "top_up", "care", "laboratory", "load"})


def act_cautions(setup: Setup, fryer: str, kind: str, reader: Reader, *, care: str = "") -> list[str]:
    """Return the cautions of an act at a fryer, of one kind of ``care`` where it is known."""
    return [reader.say(text, **values) for text, values in _texts(setup, fryer, kind, care, reader)]


def _texts(
    setup: Setup, key: str, kind: str, care: str, reader: Reader
) -> Iterator[tuple[str, dict[str, str]]]:
    fryer = find(setup.kitchen.fryers, key)
    drain = DRAIN_BY_HAND if fryer.draining is Draining.HAND else DRAIN_BY_PUMP
    fat = solid_fat(setup, key)
    of_care = {
        "skim": [CRUMBS],
        "filter": [drain, CRUMBS],
        "shared-filter": [drain, SHARED_FILTER, CRUMBS],
        "adsorbent": [drain],
        "boil-out": [drain, BOIL_OUT],
    }
    of_kind = {
        "change": [drain, REFILL, *fat, ALLERGENS],
        "move": [drain, EMPTY_FIRST],
        "store": [drain],
        "return": [REFILL, *fat],
        "top_up": [TOP_UP, *fat],
        "care": of_care.get(care, [drain, SHARED_FILTER, BOIL_OUT, CRUMBS]),
        "senses": [TASTE],
        "laboratory": [SAMPLE],
        "load": [OTHER_FOOD, WET_FOOD],
        "order": [LID],
    }
    yield from plainly(of_kind.get(kind, []))
    if kind == "move":
        yield from taken_along(setup.kitchen, fryer, reader)
    if kind in BY_HOT_OIL:
        yield from plainly([BURNT])


def taken_along(kitchen: Kitchen, fryer: Fryer, reader: Reader) -> Iterator[tuple[str, dict[str, str]]]:
    """Yield which allergens oil takes along from a fryer."""
    takes = held(kitchen, fryer.fries, (fryer.oil,))
    named = allergens_told(sorted(takes.allergens), reader)
    yield (MOVE_NAMED, {"allergens": named}) if named else (MOVE, {})
    if takes.unwritten or not fryer.fries:
        yield from plainly([MOVE_UNKNOWN])


def plainly(texts: Iterable[str]) -> Iterator[tuple[str, dict[str, str]]]:
    """Yield texts that have no values in them."""
    for text in texts:
        yield text, {}


def solid_fat(setup: Setup, fryer: str) -> list[str]:
    """Return what to mind where the fat may be solid when cold."""
    oil = find(setup.kitchen.oils, find(setup.kitchen.fryers, fryer).oil)
    return [SOLID_FAT] if may_be_solid(oil) else []
