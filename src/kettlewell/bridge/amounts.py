"""Amounts as a kitchen measures them, in kilograms."""

from decimal import Decimal

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from kettlewell.book import find
from kettlewell.book.likely import usual_load_kg
from kettlewell.folder import Setup
from kettlewell.folder.amounts import food_unit_kg, oil_unit_kg
from kettlewell.records.kinds import FOOD_UNITS, OIL_UNITS


def oil_units(setup: Setup, fryer: str) -> list[str]:
    """Return the units in which this kitchen can say how much oil went into a fryer."""
    oil = find(setup.kitchen.oils, find(setup.kitchen.fryers, fryer).oil)
    lacking = {"jug": setup.jug_l is None, "pack": oil.pack_kg is None}
    return [unit for unit, _label in OIL_UNITS if not lacking.get(unit, False)]


def food_units(setup: Setup, product: str) -> list[str]:
    """Return the units in which this kitchen can say how much of a product was fried."""
    food = find(setup.kitchen.products, product)
    lacking = {"portion": food.portion_kg is None, "basket": food.basket_kg is None}
    return [unit for unit, _label in FOOD_UNITS if not lacking.get(unit, False)]


def oil_amount_kg(setup: Setup, fryer: str, amount: Decimal | None, unit: str) -> Decimal | None:
    """Return the mass of oil added to a fryer; None, unknown, to the mark.

    Raises ValidationError for an amount that is missing, or in a measure this kitchen lacks.
    """
    if unit == "mark":
        return None
    if amount is None:
        raise ValidationError({"amount": _("Say how much, or choose “to the mark”.")})
    if unit not in oil_units(setup, fryer):
        raise ValidationError({"unit": _("This kitchen has no such measure.")})
    oil = find(setup.kitchen.oils, find(setup.kitchen.fryers, fryer).oil)
    return _grams(float(amount) * oil_unit_kg(unit, oil, setup.jug_l, None))


def food_amount_kg(setup: Setup, product: str, amount: Decimal | None, unit: str) -> Decimal | None:
    """Return the mass of food fried; None, unknown, where no amount is said. Raises ValidationError."""
    if amount is None:
        return None
    if unit not in food_units(setup, product):
        raise ValidationError({"unit": _("Say what the amount is in.")})
    return _grams(float(amount) * food_unit_kg(unit, find(setup.kitchen.products, product)))


def _grams(mass_kg: float) -> Decimal:
    return round(Decimal(repr(mass_kg)), 3)


def usual_load_in(setup: Setup, fryer: str, product: str, unit: str) -> float:
    """Return a usual load of a fryer in a unit of a product, shared alike by all that it usually fries."""
    bath = find(setup.kitchen.fryers, fryer)
    share_kg = usual_load_kg(bath) / max(len(bath.fries), 1)
    return share_kg / food_unit_kg(unit, find(setup.kitchen.products, product))
