"""Amounts of oil and food in kilograms, whatever a kitchen measures them with."""

from kettlewell.book import Oil, Product
from kettlewell.book.units import DENSITY_KG_PER_L, REFERENCE_TEMP_C, oil_mass_kg
from kettlewell.book.words import N_, Value
from kettlewell.folder import german
from kettlewell.folder.cells import number
from kettlewell.folder.german import with_german
from kettlewell.folder.words import FOOD_UNITS, OIL_UNITS, NotUnderstoodError, Words

MOST_KG = 10_000.0
MOST_COUNT = 1e6
NO_PACK = N_("oil {thing!r} has no pack_kg in kitchen.toml; add it, or write the amount in kg")
NO_JUG = N_("kitchen.toml has no jug_l; add it, or write the amount in kg")
NO_SIZE = N_("product {thing!r} has no {size} in kitchen.toml; add it, or write the amount in kg")
_OIL_UNITS = Words(with_german(OIL_UNITS, german.UNITS))
_FOOD_UNITS = Words(with_german(FOOD_UNITS, german.UNITS))


def oil_kg(
    amount: str, unit: str, *, oil: Oil, jug_l: float | None, oil_temp_c: float | None
) -> float | None:
    """Return the mass of an amount of oil; None, unknown, for "mark" and for no amount.

    Litres, millilitres and jugs are taken at ``oil_temp_c``, or at 20 °C where the
    row does not say. Raises NotUnderstoodError with what to write instead.
    """
    kind = _OIL_UNITS.find(unit, "unit") if unit else None
    if not amount:
        return None
    if kind is None:
        raise NotUnderstoodError(
            "unit", N_("is empty; say what the amount is in: kg, g, l, ml, jugs or packs")
        )
    if kind == "mark":
        raise NotUnderstoodError(
            "amount", N_('must be empty when the unit is "mark"; or give the amount in kg or l')
        )
    count = number(amount, "amount", 0.0, MOST_COUNT)
    return _at_most(count * oil_unit_kg(kind, oil, jug_l, oil_temp_c))


def oil_unit_kg(kind: str, oil: Oil, jug_l: float | None, oil_temp_c: float | None) -> float:
    """Return the mass of one kg, g, l, ml, jug or pack of oil; raises NotUnderstoodError without its size."""
    if kind == "kg":
        return 1.0
    if kind == "g":
        return 1e-3
    if kind == "pack":
        return _told(oil.pack_kg, NO_PACK, thing=oil.key)
    litres = {"l": 1.0, "ml": 1e-3}.get(kind) or _told(jug_l, NO_JUG)
    return oil_mass_kg(
        litres,
        REFERENCE_TEMP_C if oil_temp_c is None else oil_temp_c,
        DENSITY_KG_PER_L if oil.density_kg_per_l is None else oil.density_kg_per_l,
    )


def food_kg(amount: str, unit: str, *, product: Product) -> float | None:
    """Return the mass of an amount of food; None, unknown, for no amount."""
    kind = _FOOD_UNITS.find(unit, "unit") if unit else None
    if not amount:
        return None
    if kind is None:
        raise NotUnderstoodError(
            "unit", N_("is empty; say what the amount is in: kg, g, portions or baskets")
        )
    count = number(amount, "amount", 0.0, MOST_COUNT)
    return _at_most(count * food_unit_kg(kind, product))


def food_unit_kg(kind: str, product: Product) -> float:
    """Return the mass of one kg, g, portion or basket; raises NotUnderstoodError without its size."""
    if kind == "kg":
        return 1.0
    if kind == "g":
        return 1e-3
    each = product.portion_kg if kind == "portion" else product.basket_kg
    return _told(each, NO_SIZE, thing=product.key, size=f"{kind}_kg")


def _told(value: float | None, lack: str, **values: Value) -> float:
    if value is None:
        raise NotUnderstoodError("unit", lack, **values)
    return value


def _at_most(mass_kg: float) -> float:
    if mass_kg > MOST_KG:
        cannot_be = N_("{kg} kg cannot be; check the amount and its unit")
        raise NotUnderstoodError("amount", cannot_be, kg=round(mass_kg))
    return mass_kg
