"""What is said of allergens: what stays in a bath, and who can take its work while it cools."""

from collections.abc import Iterable, Iterator, Mapping

from kettlewell.book import Kitchen, Protection, find
from kettlewell.book.allergens import MEAT, Allergen
from kettlewell.core.outlook.values import Assessment, TakeOver
from kettlewell.telling.message import N_
from kettlewell.telling.verdicts import named
from kettlewell.telling.words import Reader

WORDS: Mapping[str, str] = {
    Allergen.GLUTEN: N_("gluten"),
    Allergen.CRUSTACEANS: N_("crustaceans"),
    Allergen.EGG: N_("egg"),
    Allergen.FISH: N_("fish"),
    Allergen.PEANUT: N_("peanut"),
    Allergen.SOYA: N_("soya"),
    Allergen.MILK: N_("milk"),
    Allergen.NUTS: N_("nuts"),
    Allergen.CELERY: N_("celery"),
    Allergen.MUSTARD: N_("mustard"),
    Allergen.SESAME: N_("sesame"),
    Allergen.SULPHITES: N_("sulphites"),
    Allergen.LUPIN: N_("lupin"),
    Allergen.MOLLUSCS: N_("molluscs"),
    MEAT: N_("meat"),
}
PROMISES = {
    Protection.GLUTEN_FREE: N_("gluten-free"),
    Protection.NUT_FREE: N_("nut-free"),
    Protection.MILK_FREE: N_("milk-free"),
    Protection.EGG_FREE: N_("egg-free"),
    Protection.FISH_FREE: N_("fish-free"),
    Protection.VEGETARIAN: N_("vegetarian"),
}
TAKES_OVER = N_("While it cools, the work can go to {fryers}.")
TAKES_OVER_WITH = N_(
    "While it cools, the work can go to {fryers}. Food fried there then contains: {allergens}."
)
ASKS_CHEF = N_("Only if the chef says so: {fryers}. Food fried there then contains: {allergens}.")
NONE_TAKES_OVER = N_("No other fryer can take its work while it cools.")
FOOD_UNKNOWN = N_(
    "No other fryer is offered for its work: what it fries, or the allergens in that, is not written down."
)
NOT_OFFERED = N_("Not offered, since its foods or their allergens are not written down: {fryers}.")
LEFT = N_(
    "Left in this bath: {allergens}. Its food takes that on until the bath is boiled out and filled fresh."
)
UNKEPT = N_(
    "Do not sell this food as {promise}: {things} came into this bath, or its allergens are not "
    "written down. Boil it out and fill it fresh first."
)
FOODS_UNKNOWN = N_("Do not sell this food as {promise}: nothing says what is fried here.")


def allergens_told(words: Iterable[str], reader: Reader) -> str:
    """Return allergens in the reader's words; a kitchen's own stay as they are."""
    return ", ".join(reader.say(WORDS[word]) if word in WORDS else word for word in words)


def take_over(assessment: Assessment, kitchen: Kitchen, reader: Reader) -> str | None:
    """Return which fryers can take the work while the bath cools, or that none can; None where none need."""
    if assessment.cooling is None:
        return None
    return " ".join(_takes_over(assessment, kitchen, reader))


def _takes_over(assessment: Assessment, kitchen: Kitchen, reader: Reader) -> Iterator[str]:
    verdict = assessment.verdict
    if assessment.fryer in verdict.not_offered:
        yield reader.say(FOOD_UNKNOWN)
        return
    for adding, asking in (
        ((False, False), TAKES_OVER),
        ((True, False), TAKES_OVER_WITH),
        ((True, True), ASKS_CHEF),
    ):
        if overs := [over for over in verdict.taken_over_by if (bool(over.adds), over.asks_chef) == adding]:
            yield from _offers(overs, asking, kitchen, reader)
    if not verdict.taken_over_by:
        yield reader.say(NONE_TAKES_OVER)
    if verdict.not_offered:
        yield reader.say(NOT_OFFERED, fryers=_named(verdict.not_offered, kitchen))


def _offers(overs: Iterable[TakeOver], text: str, kitchen: Kitchen, reader: Reader) -> Iterator[str]:
    """Yield offers, those that add the same in one sentence."""
    by_added: dict[tuple[str, ...], list[str]] = {}
    for over in overs:
        by_added.setdefault(over.adds, []).append(over.fryer)
    for adds, keys in by_added.items():
        yield reader.say(text, fryers=_named(keys, kitchen), allergens=allergens_told(adds, reader))


def bath_warnings(assessment: Assessment, kitchen: Kitchen, reader: Reader) -> Iterator[str]:
    """Yield which promise on a fryer does not hold now, and what stays in its bath."""
    bath = assessment.in_bath
    for unkept in bath.unkept:
        promise = reader.say(PROMISES[unkept.promise])
        things = ", ".join(_thing(key, kitchen) for key in unkept.by)
        yield reader.say(UNKEPT if things else FOODS_UNKNOWN, promise=promise, things=things)
    if bath.left:
        yield reader.say(LEFT, allergens=allergens_told(bath.left, reader))


def _named(keys: Iterable[str], kitchen: Kitchen) -> str:
    return ", ".join(named(find(kitchen.fryers, key)) for key in keys)


def _thing(key: str, kitchen: Kitchen) -> str:
    names = {thing.key: thing.name for thing in kitchen.oils} | {
        thing.key: thing.name for thing in kitchen.products
    }
    return names.get(key, key)
