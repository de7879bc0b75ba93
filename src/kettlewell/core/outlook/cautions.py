"""Which of the usual cautions belong to a verdict."""

from collections.abc import Iterator

from kettlewell.book import Draining, FoodKind, Fryer, Kitchen, find
from kettlewell.book.allergens import held
from kettlewell.book.fats import may_be_solid
from kettlewell.core.decision import VerdictKey
from kettlewell.core.outlook.values import Caution

POTATOES_BELOW_C = 175  # Regulation (EU) 2017/2158


def cautions_of(kitchen: Kitchen, fryer: Fryer, key: VerdictKey, *, cools: bool) -> tuple[Caution, ...]:
    """Return the cautions that belong to a verdict on a fryer, or to one that ``cools``, the act's first."""
    changes = cools or key in (VerdictKey.CHANGE_BEFORE, VerdictKey.CHANGE_AFTER)
    return tuple(_cautions(kitchen, fryer, key, changes=changes))


def bears_allergens(kitchen: Kitchen, fryer: Fryer) -> bool:
    """Tell whether food or oil of a fryer holds allergens, as far as they are written down, or may."""
    takes = held(kitchen, fryer.fries, (fryer.oil,))
    return bool(takes.allergens or takes.unwritten or not fryer.fries)


def _cautions(kitchen: Kitchen, fryer: Fryer, key: VerdictKey, *, changes: bool) -> Iterator[Caution]:
    foods = [find(kitchen.products, product) for product in fryer.fries]
    if changes:
        by_hand = fryer.draining is Draining.HAND
        yield Caution.DRAIN_BY_HAND if by_hand else Caution.DRAIN_BY_PUMP
        yield Caution.REFILL
        if may_be_solid(find(kitchen.oils, fryer.oil)):
            yield Caution.SOLID_FAT
        if bears_allergens(kitchen, fryer):
            yield Caution.ALLERGENS
    if key is VerdictKey.MEASURE_AGAIN:
        yield Caution.PROBE
    if any(food.kind in (FoodKind.FROZEN_FRIES, FoodKind.FRESH_CHIPS) for food in foods):
        yield Caution.POTATOES
    yield Caution.WET_FOOD
    yield Caution.SMOKE
    yield Caution.FIRE
    yield Caution.BURNS
