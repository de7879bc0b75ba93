"""Reads kitchen.toml."""

import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar

from kettlewell.book import (
    Draining,
    FoodKind,
    Force,
    Fryer,
    Kitchen,
    Limit,
    Meter,
    Oil,
    OilKind,
    Polymers,
    Product,
    Protection,
    Readings,
    ReferenceLot,
    Service,
)
from kettlewell.book.letters import LONGEST_TEXT, named, unseen_in
from kettlewell.book.likely import most_usual_load_kg
from kettlewell.book.settings import TABLES, THINGS, Setting, SettingType
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
    some_of,
    text,
    texts,
    weekdays,
    word_of,
    zone,
)
from kettlewell.folder.values import KitchenError, opened
from kettlewell.folder.words import nearest, squeezed

T = TypeVar("T")

KITCHEN_NAME = "kitchen.toml"
MOST_BYTES = 1_000_000  # far beyond any kitchen
MOST_POINTS = 50
QUOTED = re.compile(r'"[^"]*"|\'[^\']*\'')
# one packaged limit for each quantity: its unit, what it judges, and its unfit side are those of all
QUANTITIES = {limit.quantity: limit for limit in packaged_limits() if limit.value is not None}

ENUMS: dict[tuple[str, ...], type[StrEnum]] = {
    tuple(enum): enum for enum in (OilKind, FoodKind, Draining, Protection, Polymers, Readings)
}
BY_TYPE: dict[SettingType, Check] = {
    SettingType.PRICE: Price(),
    SettingType.TEXT: text,
    SettingType.TEXTS: texts,
    SettingType.ZONE: zone,
    SettingType.JURISDICTION: jurisdiction,
    SettingType.QUANTITY: word_of(tuple(QUANTITIES)),
    SettingType.UNIT: text,
    SettingType.DAY: day,
    SettingType.CLOCK: clock,
    SettingType.WEEKDAYS: weekdays,
}


def check_of(setting: Setting) -> Check:
    """Return what checks a value of a setting as it stands in a kitchen.toml."""
    if setting.type is SettingType.NUMBER:
        return NumberIn(low=setting.low, high=setting.high, above=setting.above)
    if setting.type is SettingType.WORD:
        return one_of(ENUMS[setting.words]) if setting.words in ENUMS else word_of(setting.words)
    if setting.type is SettingType.WORDS:
        return some_of(ENUMS[setting.words])
    return BY_TYPE[setting.type]


CHECKS: dict[str, dict[str, Check]] = {
    name: {setting.name: check_of(setting) for setting in thing.settings} for name, thing in THINGS.items()
}
NUMBERS: dict[str, dict[str, NumberIn]] = {
    table: {name: check for name, check in checks.items() if isinstance(check, NumberIn)}
    for table, checks in CHECKS.items()
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
    with opened(path, most=MOST_BYTES) as stream:
        raw = stream.read()
    try:
        written = raw.decode("utf-8-sig")  # text editors write a byte-order mark
    except UnicodeDecodeError as error:
        raise _MistakeError(f"byte {error.start}", "the file is not UTF-8; save it as UTF-8") from None
    _check_points(written)
    data = _parsed(written)
    _check_texts(data)
    return data


def _parsed(written: str) -> dict[str, Any]:
    try:
        return tomllib.loads(written, parse_float=Decimal)  # which keeps prices exact
    except tomllib.TOMLDecodeError as error:
        raise _MistakeError(
            "", f"this is not TOML: {error}; write 18.5 with a point, and times and texts in quotes"
        ) from None
    except (ValueError, RecursionError) as error:
        raise _MistakeError("", f"this cannot be read: {error}") from None


def _check_points(written: str) -> None:
    """Refuse a line of names put together by points, of which a long one takes minutes to be read."""
    for number, line in enumerate(written.splitlines(), 1):
        if QUOTED.sub("", line).count(".") > MOST_POINTS:
            raise _MistakeError(f"line {number}", f"holds more than {MOST_POINTS} points; take it apart")


def _check_texts(data: dict[str, Any]) -> None:
    """Refuse texts that nobody can see, or read to their end."""
    for where, written in _texts(data, ""):
        if unseen := unseen_in(written):
            raise _MistakeError(where, f"holds a letter that cannot be seen ({named(unseen)}); type it again")
        if len(written) > LONGEST_TEXT:
            raise _MistakeError(where, f"is longer than {LONGEST_TEXT} letters; shorten it")


def _texts(value: object, where: str) -> Iterator[tuple[str, str]]:
    """Yield every text of tables and lists, keys too, and where it stands."""
    match value:
        case str():
            yield where, value
        case dict():
            for key, each in value.items():
                yield "a key", key
                yield from _texts(each, f"{where} {key}".strip())
        case list():
            for number, each in enumerate(value, 1):
                yield from _texts(each, f"{where} number {number}" if isinstance(each, dict) else where)


def _whole(data: dict[str, Any]) -> dict[str, Any]:
    for name in ("oils", "fryers"):
        if not data.get(name):
            raise _MistakeError(name, f"there is none; describe at least one under [[{name}]]")
    return data


def _setup(data: dict[str, Any]) -> Setup:
    tables = {name: _list_of_tables(name, data.pop(name, [])) for name in TABLES}
    top = _checked("kitchen", data)
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
    if len(value) > (most := TABLES[name].most):
        raise _MistakeError(name, f"there are {len(value)}; a kitchen has at most {most}")
    return value


def _each(
    name: str, tables: Mapping[str, list[dict[str, Any]]], make: Callable[[dict[str, Any]], T]
) -> tuple[T, ...]:
    made = []
    for count, raw in enumerate(tables[name], 1):
        where = f"[[{name}]] {raw.get('key', raw.get('name', f'number {count}'))}"
        values = _checked(name, raw, where=where)
        try:
            made.append(make(values))
        except ValueError as error:
            raise _MistakeError(where, error) from None
    return tuple(made)


def _checked(name: str, raw: Mapping[str, object], *, where: str = "") -> dict[str, Any]:
    """Return the values of one table, each checked; unknown and missing keys are mistakes."""
    checks = CHECKS[name]
    for key in raw:
        if key not in checks:
            raise _MistakeError(f"{where} {key}".strip(), _unknown_key(key, checks))
    for setting in THINGS[name].settings:
        if setting.required and setting.name not in raw:
            advice = f"{setting.name!r} is missing; add a line {setting.name} = …"
            raise _MistakeError(where, advice)
    values = {}
    for key, value in raw.items():
        try:
            values[key] = checks[key](value)
        except ValueError as error:
            raise _MistakeError(f"{where} {key}".strip(), error) from None
    return values


def _unknown_key(key: str, checks: Iterable[str]) -> str:
    if key in CHECKS["kitchen"]:
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
    if fryer.standby_temp_c is not None and fryer.standby_temp_c > fryer.set_temp_c:
        raise ValueError("standby_temp_c lies above set_temp_c; leave it out where nothing is turned down")
    if (fryer.usual_load_kg or 0) > (most_kg := most_usual_load_kg(fryer.oil_mass_kg)):
        raise ValueError(f"usual_load_kg is more than this bath can fry in a service ({most_kg:g} kg)")
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
        jurisdiction=Force.HOUSE.value,
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
