"""Reads kitchen.toml."""

import tomllib
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

from kettlewell.book import (
    LARGEST_DEVIATION_PCT,
    Draining,
    FoodKind,
    Force,
    Fryer,
    Kitchen,
    Limit,
    Meter,
    Oil,
    OilKind,
    Product,
    ReferenceLot,
    Service,
)
from kettlewell.book.setup import Setup
from kettlewell.core.belief.week import week_of
from kettlewell.core.limits import packaged_limits
from kettlewell.folder.checks import (
    Check,
    NumberIn,
    Price,
    clock,
    day,
    jurisdiction,
    one_of,
    text,
    texts,
    weekdays,
    word_of,
    zone,
)
from kettlewell.folder.values import KitchenError
from kettlewell.folder.words import nearest, squeezed

T = TypeVar("T")

KITCHEN_NAME = "kitchen.toml"
HOUSE = "house"
# one packaged limit for each quantity: its unit, what it judges, and its unfit side are those of all
QUANTITIES = {limit.quantity: limit for limit in packaged_limits() if limit.value is not None}

_MASS = NumberIn(high=10_000.0, above=True)
_TEMP = NumberIn(high=300.0)
_NAMED: dict[str, Check] = {"key": text, "name": text}

TOP: dict[str, Check] = {
    "name": text,
    "timezone": zone,
    "jurisdiction": jurisdiction,
    "risk": NumberIn(high=0.5, above=True),
    "jug_l": NumberIn(high=100.0, above=True),
    "permissible_pct": NumberIn(high=LARGEST_DEVIATION_PCT, above=True),
    "laboratory_price": Price(),
}
TABLES: dict[str, dict[str, Check]] = {
    "oils": {
        **_NAMED,
        "kind": one_of(OilKind),
        "fresh_tpc_pct": NumberIn(high=100.0),
        "density_kg_per_l": NumberIn(low=0.5, high=1.5),
        "pack_kg": _MASS,
        "price_per_kg": Price(),
        "allergens": texts,
    },
    "products": {
        **_NAMED,
        "kind": one_of(FoodKind),
        "wear_factor": NumberIn(high=10.0, above=True),
        "uptake_kg_per_kg": NumberIn(high=1.0),
        "portion_kg": _MASS,
        "basket_kg": _MASS,
        "allergens": texts,
    },
    "fryers": {
        **_NAMED,
        "oil": text,
        "oil_mass_kg": _MASS,
        "set_temp_c": _TEMP,
        "minimum_mass_kg": _MASS,
        "draining": one_of(Draining),
        "fries": texts,
        "usual_load_kg": NumberIn(high=10_000.0, above=True),
    },
    "meters": {
        **_NAMED,
        "resolution_pct": NumberIn(high=10.0, above=True),
        "largest_error_pct": NumberIn(high=50.0, above=True),
        "min_oil_temp_c": _TEMP,
        "max_oil_temp_c": _TEMP,
        "in_use_since": day,
    },
    "reference_lots": {
        **_NAMED,
        "tpc_pct": NumberIn(high=100.0, above=True),
        "expanded_u_pct": NumberIn(high=100.0),
        "coverage_factor": NumberIn(high=100.0, above=True),
        "opened": day,
        "best_before": day,
    },
    "services": {"name": text, "days": weekdays, "from": clock, "to": clock, "fryers": texts},
    "limits": {
        "quantity": word_of(tuple(QUANTITIES)),
        "unfit_when": word_of((">", ">=", "<", "<=")),
        "value": NumberIn(high=1000.0, above=True),
        "unit": text,
        "reason": text,
        "source": text,
    },
}
NUMBERS: dict[str, dict[str, NumberIn]] = {
    table: {name: check for name, check in checks.items() if isinstance(check, NumberIn)}
    for table, checks in {"kitchen": TOP, **TABLES}.items()
}
NEEDED: dict[str, tuple[str, ...]] = {
    "": ("name", "timezone"),
    "oils": ("key",),
    "products": ("key",),
    "fryers": ("key", "oil", "oil_mass_kg"),
    "meters": ("key",),
    "reference_lots": ("key", "tpc_pct", "expanded_u_pct"),
    "services": ("name", "days", "from", "to"),
    "limits": ("quantity", "unfit_when", "value", "unit"),
}


def read_kitchen(path: Path) -> Setup:
    """Return what a kitchen.toml says; raise KitchenError with file, place and advice."""
    try:
        return _setup(_whole(_load(path)))
    except _MistakeError as wrong:
        raise KitchenError(path.name, wrong.where, wrong.advice) from None
    except OSError as error:
        raise KitchenError(path.name, "", error.strerror or "cannot be read") from None


def setup_from(data: Mapping[str, Any]) -> Setup:
    """Return what tables such as those of a kitchen.toml say, even before there is a fryer.

    Raises KitchenError with place and advice.
    """
    try:
        return _setup(dict(data))
    except _MistakeError as wrong:
        raise KitchenError("", wrong.where, wrong.advice) from wrong.__cause__


class _MistakeError(ValueError):
    """A mistake at ``where``, before the file's name is put to it."""

    def __init__(self, where: str, advice: object) -> None:
        super().__init__(str(advice))
        self.where = where
        self.advice = str(advice)


def _load(path: Path) -> dict[str, Any]:
    try:
        # Decimal keeps prices exact; utf-8-sig because text editors write a byte-order mark
        return tomllib.loads(path.read_bytes().decode("utf-8-sig"), parse_float=Decimal)
    except UnicodeDecodeError as error:
        raise _MistakeError(f"byte {error.start}", "the file is not UTF-8; save it as UTF-8") from None
    except tomllib.TOMLDecodeError as error:
        raise _MistakeError(
            "", f"this is not TOML: {error}; write 18.5 with a point, and times and texts in quotes"
        ) from None
    except (ValueError, RecursionError) as error:
        raise _MistakeError("", f"this cannot be read: {error}") from None


def _whole(data: dict[str, Any]) -> dict[str, Any]:
    for name in ("oils", "fryers"):
        if not data.get(name):
            raise _MistakeError(name, f"there is none; describe at least one under [[{name}]]")
    return data


def _setup(data: dict[str, Any]) -> Setup:
    tables = {name: _list_of_tables(name, data.pop(name, [])) for name in TABLES}
    top = _checked("", data, TOP)
    jug_l = top.pop("jug_l", None)
    oils = _each("oils", tables, _maker(Oil))
    products = _each("products", tables, _maker(Product))
    fryers = _each("fryers", tables, _fryer)
    meters = _each("meters", tables, _meter)
    lots = _each("reference_lots", tables, _maker(ReferenceLot))
    services = _each("services", tables, _service)
    limits = _each("limits", tables, _limit)
    try:
        kitchen = Kitchen(
            oils=oils,
            products=products,
            fryers=fryers,
            meters=meters,
            reference_lots=lots,
            services=services,
            limits=limits,
            **top,
        )
    except ValueError as error:
        raise _MistakeError("", error) from None
    _check_services(kitchen)
    _check_words("oils", oils)
    _check_words("products", products)
    _check_words("fryers", fryers)
    _check_words("meters", meters)
    _check_words("reference_lots", lots)
    return Setup(kitchen=kitchen, jug_l=jug_l)


def _list_of_tables(name: str, value: object) -> list[dict[str, Any]]:
    if not isinstance(value, list) or not all(isinstance(each, dict) for each in value):
        raise _MistakeError(name, f"is not a list of tables; write [[{name}]] above each")
    return value


def _each(
    name: str, tables: Mapping[str, list[dict[str, Any]]], make: Callable[[dict[str, Any]], T]
) -> tuple[T, ...]:
    made = []
    for count, raw in enumerate(tables[name], 1):
        where = f"[[{name}]] {raw.get('key', raw.get('name', f'number {count}'))}"
        values = _checked(name, raw, TABLES[name], where=where)
        try:
            made.append(make(values))
        except ValueError as error:
            raise _MistakeError(where, error) from None
    return tuple(made)


def _checked(
    name: str, raw: Mapping[str, object], checks: Mapping[str, Check], *, where: str = ""
) -> dict[str, Any]:
    """Return the values of one table, each checked; unknown and missing keys are mistakes."""
    for key in raw:
        if key not in checks:
            raise _MistakeError(f"{where} {key}".strip(), _unknown_key(key, checks))
    if missing := [key for key in NEEDED[name] if key not in raw]:
        raise _MistakeError(where, f"{missing[0]!r} is missing; add a line {missing[0]} = …")
    values = {}
    for key, value in raw.items():
        try:
            values[key] = checks[key](value)
        except ValueError as error:
            raise _MistakeError(f"{where} {key}".strip(), error) from None
    return values


def _unknown_key(key: str, checks: Iterable[str]) -> str:
    if key in TOP:
        return "this belongs to the whole kitchen; move it to the top of the file, above the first [["
    choice = [*checks, *TABLES] if "timezone" in checks else checks
    return f"this key is not known; {nearest(key, choice)}"


def _maker(kind: Callable[..., T]) -> Callable[[dict[str, Any]], T]:
    return lambda values: kind(**{"name": values["key"], **values})


def _fryer(values: dict[str, Any]) -> Fryer:
    fryer = _maker(Fryer)(values)
    if fryer.minimum_mass_kg is not None and fryer.minimum_mass_kg > fryer.oil_mass_kg:
        raise ValueError(
            "minimum_mass_kg is more than oil_mass_kg; the minimum mark lies below the cold-fill mark"
        )
    return fryer


def _meter(values: dict[str, Any]) -> Meter:
    meter = _maker(Meter)(values)
    if meter.min_oil_temp_c >= meter.max_oil_temp_c:
        raise ValueError("min_oil_temp_c must lie below max_oil_temp_c")
    return meter


def _service(values: dict[str, Any]) -> Service:
    return Service(
        name=values["name"],
        weekdays=values["days"],
        begins=values["from"],
        ends=values["to"],
        fryers=values.get("fryers", ()),
    )


def _limit(values: dict[str, Any]) -> Limit:
    name, unfit_when = values["quantity"], values["unfit_when"]
    known = QUANTITIES[name]
    if values["unit"] != known.unit:
        raise ValueError(f"{name} is given in {known.unit!r}, not in {values['unit']!r}")
    if unfit_when[0] != known.unfit_when[0]:
        raise ValueError(f"{name} is unfit when {known.unfit_when}, not when {unfit_when}")
    return Limit(
        jurisdiction=HOUSE,
        judges=known.judges,
        quantity=name,
        unfit_when=unfit_when,
        value=values["value"],
        unit=known.unit,
        force=Force.HOUSE,
        source=values.get("source", ""),
        remark=values.get("reason", ""),
    )


def _check_services(kitchen: Kitchen) -> None:
    fryers = [fryer.key for fryer in kitchen.fryers]
    for service in kitchen.services:
        for key in service.fryers:
            if key not in fryers:
                raise _MistakeError(
                    f"[[services]] {service.name} fryers", f"no fryer {key!r}; {nearest(key, fryers)}"
                )
    for fryer in kitchen.fryers if kitchen.services else ():
        try:
            week_of(kitchen, fryer)
        except ValueError as error:
            raise _MistakeError("[[services]]", error) from error


def _check_words(table: str, things: Iterable[Oil | Product | Fryer | Meter | ReferenceLot]) -> None:
    """Refuse two things that a word in the log could both mean."""
    owners: dict[str, str] = {}
    for thing in things:
        for word in (thing.key, thing.name):
            if (owner := owners.setdefault(squeezed(word), thing.key)) != thing.key:
                advice = f"in the log {word!r} could also mean {owner!r}; choose another key or name"
                raise _MistakeError(f"[[{table}]] {thing.key}", advice)
