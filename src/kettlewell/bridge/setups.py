"""Settings as rows become a kitchen as the core knows it."""

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError

from kettlewell.folder import KitchenError, Setup, setup_from
from kettlewell.records.models import Kitchen
from kettlewell.records.settings import Things, settings_mark, settings_of

KEYED = ("oils", "products", "fryers", "meters")
UNKEYED = ("services", "limits")
NUMBERS = frozenset(
    {"risk", "jug_l", "fresh_tpc_pct", "density_kg_per_l", "pack_kg", "price_per_kg", "wear_factor"}
    | {"uptake_kg_per_kg", "portion_kg", "basket_kg", "oil_mass_kg", "set_temp_c", "minimum_mass_kg"}
    | {"usual_load_kg", "resolution_pct", "largest_error_pct", "min_oil_temp_c", "max_oil_temp_c", "value"}
)


def setup_of(kitchen: Kitchen, *, at_seq: int | None = None) -> Setup:
    """Return the kitchen's settings as of an entry, or now."""
    return _setup(kitchen.pk, *settings_mark(kitchen, at_seq=at_seq))


@lru_cache(maxsize=64)
def _setup(pk: UUID, seq: int, last_hash: str) -> Setup:
    return setup_from(tables(settings_of(Kitchen(pk=pk, settings_seq=seq, settings_hash=last_hash))))


def check_setup(things: Things) -> None:
    """Raise ValidationError where settings together make no kitchen."""
    try:
        setup_from(tables(things))
    except KitchenError as error:
        where = f"{error.where}: " if error.where else ""
        raise ValidationError(f"{where}{error.advice}") from None


def tables(things: Things) -> dict[str, Any]:
    """Return settings as the tables that a kitchen.toml would hold."""
    found: dict[str, Any] = {**_numbers(things.get("kitchen", {}).get("", {}))}
    for name in KEYED:
        found[name] = [{"key": key, **_numbers(values)} for key, values in things.get(name, {}).items()]
    for name in UNKEYED:
        found[name] = [_numbers(values) for values in things.get(name, {}).values()]
    return found


def _numbers(values: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: _number(value) if name in NUMBERS else value
        for name, value in values.items()
        if value is not None and value != ""
    }


def _number(value: object) -> object:
    try:
        return Decimal(str(value))
    except InvalidOperation:
        return value  # the check of the table says what is wrong with it
