"""Allergens: the words for them, what foods and oils hold, and what a fryer is kept free of.

What is not written down is unknown, never none.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from kettlewell.book.kitchen import Kitchen, Oil, Product, Protection


class Allergen(StrEnum):
    """What has to be told of a food: Regulation (EU) 1169/2011, Annex II."""

    GLUTEN = "gluten"
    CRUSTACEANS = "crustaceans"
    EGG = "egg"
    FISH = "fish"
    PEANUT = "peanut"
    SOYA = "soya"
    MILK = "milk"
    NUTS = "nuts"
    CELERY = "celery"
    MUSTARD = "mustard"
    SESAME = "sesame"
    SULPHITES = "sulphites"
    LUPIN = "lupin"
    MOLLUSCS = "molluscs"


# how else kitchens write them, in the languages of the screens; any other word stands for itself
SPELT: Mapping[str, Allergen] = MappingProxyType(
    {
        word: allergen
        for allergen, words in {
            Allergen.GLUTEN: "wheat rye barley oats spelt weizen roggen gerste hafer dinkel",
            Allergen.CRUSTACEANS: "crustacean prawn prawns shrimp shrimps crab krebstiere garnelen",
            Allergen.EGG: "eggs ei eier",
            Allergen.FISH: "fisch",
            Allergen.PEANUT: "peanuts groundnut groundnuts erdnuss erdnüsse",
            Allergen.SOYA: "soy soja",
            Allergen.MILK: "dairy lactose milch laktose",
            Allergen.NUTS: "nut almond almonds hazelnut hazelnuts nüsse schalenfrüchte mandeln haselnüsse",
            Allergen.CELERY: "sellerie",
            Allergen.MUSTARD: "senf",
            Allergen.SESAME: "sesam",
            Allergen.SULPHITES: "sulphite sulfite sulfites",
            Allergen.LUPIN: "lupine lupinen",
            Allergen.MOLLUSCS: "mollusc mollusk mollusks mussels squid weichtiere muscheln",
        }.items()
        for word in (allergen.value, *words.split())
    }
)
GRAVE = frozenset(
    {
        Allergen.FISH,
        Allergen.CRUSTACEANS,
        Allergen.PEANUT,
        Allergen.NUTS,
        Allergen.MILK,
        Allergen.EGG,
        Allergen.SESAME,
    }
)
MEAT = "meat"  # no allergen, yet written among them where a food of another kind holds it
SHUT_OUT: Mapping[Protection, frozenset[str]] = MappingProxyType(
    {
        Protection.GLUTEN_FREE: frozenset({Allergen.GLUTEN}),
        Protection.NUT_FREE: frozenset({Allergen.PEANUT, Allergen.NUTS}),
        Protection.MILK_FREE: frozenset({Allergen.MILK}),
        Protection.EGG_FREE: frozenset({Allergen.EGG}),
        Protection.FISH_FREE: frozenset({Allergen.FISH, Allergen.CRUSTACEANS, Allergen.MOLLUSCS}),
        Protection.VEGETARIAN: frozenset({Allergen.FISH, Allergen.CRUSTACEANS, Allergen.MOLLUSCS, MEAT}),
    }
)
# what refined oils of a kind hold; where a kind is not listed nobody knows until it is written
FREE = (
    "rapeseed high-oleic-rapeseed sunflower mid-oleic-sunflower high-oleic maize cottonseed rice-bran olive "
    "pomace palm-olein hard-palm coconut dripping lard"
)
OF_OIL_KIND: Mapping[str, tuple[Allergen, ...]] = MappingProxyType(
    {**dict.fromkeys(FREE.split(), ()), "groundnut": (Allergen.PEANUT,)}
)
OF_ANIMALS = frozenset({"battered-fish", "coated-fish", "chicken", "coated-chicken", "schnitzel"})
FATS_OF_ANIMALS = frozenset({"dripping", "lard"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What foods and oils hold: their ``allergens``, and the keys of those of which none are written down."""

    allergens: frozenset[str]
    unwritten: frozenset[str] = frozenset()


def allergen(word: str) -> str:
    """Return an allergen as it is known here, whatever a kitchen wrote; a word of its own stays."""
    folded = word.strip().casefold()
    return MEAT if folded == "fleisch" else SPELT.get(folded, folded)


def needs_the_chef(word: str) -> bool:
    """Tell whether food may be given an allergen only with the chef's word; one that is not known, too."""
    return word in GRAVE or word not in set(Allergen)


def allergens_of(thing: Product | Oil | None) -> frozenset[str] | None:
    """Return the allergens of a food or oil; None where nobody wrote them down."""
    if thing is None:
        return None
    written: Iterable[str] | None = thing.allergens
    if isinstance(thing, Oil):
        of_kind = OF_OIL_KIND.get(thing.kind)
        written = of_kind if written is None else (*written, *(of_kind or ()))
    return None if written is None else frozenset(map(allergen, written))


def held(kitchen: Kitchen, foods: Iterable[str], oils: Iterable[str] = ()) -> Held:
    """Return what foods and oils hold, by their keys; of one that the kitchen has not, nothing is known."""
    told = [
        *((key, allergens_of(_among(kitchen.products, key))) for key in foods),
        *((key, allergens_of(_among(kitchen.oils, key))) for key in oils),
    ]
    return Held(
        allergens=frozenset().union(*(found for _, found in told if found)),
        unwritten=frozenset(key for key, found in told if found is None),
    )


def shut_out(kitchen: Kitchen, protection: Protection, foods: Iterable[str], oils: Iterable[str]) -> set[str]:
    """Return the keys of foods and oils that hold, or may hold, what a fryer is to be kept free of."""
    foods, oils = set(foods), set(oils)
    each = [
        *((key, held(kitchen, (key,))) for key in foods),
        *((key, held(kitchen, (), (key,))) for key in oils),
    ]
    found = {key for key, told in each if told.unwritten or told.allergens & SHUT_OUT[protection]}
    if protection is Protection.VEGETARIAN:
        found |= {food.key for food in kitchen.products if food.key in foods and food.kind in OF_ANIMALS}
        found |= {oil.key for oil in kitchen.oils if oil.key in oils and oil.kind in FATS_OF_ANIMALS}
    return found


def _among(things: Iterable[Product] | Iterable[Oil], key: str) -> Product | Oil | None:
    return next((thing for thing in things if thing.key == key), None)
