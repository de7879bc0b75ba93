"""Reads kitchen.toml."""

import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import fields
from datetime import datetime
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from kettlewell.book import (
    Draining,
    FoodKind,
    Force,
    Fryer,
    Kitchen,
    Language,
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
from kettlewell.book.setup import Keeping, Setup
from kettlewell.book.words import N_, Message, ToldError, Value, message_of
from kettlewell.core.belief.week import week_of
from kettlewell.core.limits import packaged_limits
from kettlewell.folder.cells import exact, moment
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
from kettlewell.folder.values import Earlier, KitchenError, opened
from kettlewell.folder.words import nearest, squeezed

T = TypeVar("T")

KITCHEN_NAME = "kitchen.toml"
EARLIER_NAMES = "kitchen-*.toml"
OF_EARLIER = N_("is of what the kitchen was earlier; call that file kitchen-….toml, or take the line out")
UNTIL_WHEN = N_('says not until when it counted; add a line such as until = "31.12.2026 14:05" at the top')
MOST_BYTES = 1_000_000  # far beyond any kitchen
MOST_POINTS = 50
QUOTED = re.compile(r'"[^"]*"|\'[^\']*\'')
# one packaged limit for each quantity: its unit, what it judges, and its unfit side are those of all
QUANTITIES = {limit.quantity: limit for limit in packaged_limits() if limit.value is not None}

ENUMS: dict[tuple[str, ...], type[StrEnum]] = {
    tuple(enum): enum for enum in (OilKind, FoodKind, Draining, Protection, Polymers, Readings, Language)
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
    with _of_file(path):
        data = _whole(_load(path))
        if "until" in data:
            raise _MistakeError("until", OF_EARLIER)
        return _setup(data)


def read_earlier(folder: Path) -> tuple[Earlier, ...]:
    """Return what the kitchen was earlier, in order; raise KitchenError as ``read_kitchen`` does."""
    found: dict[datetime, Earlier] = {}
    for path in sorted(folder.glob(EARLIER_NAMES)):
        with _of_file(path):
            data = _load(path)
            until = _until(data.pop("until", None), data.get("timezone"))
            if until in found:
                raise _MistakeError(
                    "until", N_("another file ends at this time too; take one of the two out")
                )
            found[until] = Earlier(until=until, setup=_setup(data))
    return tuple(found[until] for until in sorted(found))


def _until(written: object, zone_name: object) -> datetime:
    if written is None:
        raise _MistakeError("", UNTIL_WHEN)
    try:
        return moment(text(written), ZoneInfo(zone(zone_name)), "until")
    except ValueError as error:
        raise _MistakeError("until", message_of(error)) from None


@contextmanager
def _of_file(path: Path) -> Iterator[None]:
    try:
        yield
    except _MistakeError as wrong:
        raise KitchenError(path.name, wrong.where, wrong.message) from None
    except OSError as error:
        why = error.strerror or Message(text=N_("cannot be read"))
        raise KitchenError(path.name, "", why) from None


def setup_from(data: Mapping[str, Any]) -> Setup:
    """Return what tables such as those of a kitchen.toml say, even before there is a fryer.

    Raises KitchenError with place and advice.
    """
    try:
        return _setup(dict(data))
    except _MistakeError as wrong:
        raise KitchenError("", wrong.where, wrong.message) from wrong.__cause__


class _MistakeError(ToldError):
    """A mistake at ``where``, before the file's name is put to it."""

    def __init__(self, where: str | Message, text: str | Message, **values: Value) -> None:
        super().__init__(text, **values)
        self.where = where


def _load(path: Path) -> dict[str, Any]:
    with opened(path, most=MOST_BYTES) as stream:
        raw = stream.read()
    try:
        written = raw.decode("utf-8-sig")  # text editors write a byte-order mark
    except UnicodeDecodeError as error:
        where = Message(text=N_("byte {number}"), values={"number": error.start})
        raise _MistakeError(where, N_("the file is not UTF-8; save it as UTF-8")) from None
    _check_points(written)
    data = _parsed(written)
    _check_texts(data)
    return data


def _parsed(written: str) -> dict[str, Any]:
    try:
        return tomllib.loads(written, parse_float=Decimal)  # which keeps prices exact
    except tomllib.TOMLDecodeError as error:
        not_toml = N_("this is not TOML: {error}; write 18.5 with a point, and times and texts in quotes")
        raise _MistakeError("", not_toml, error=str(error)) from None
    except (ValueError, RecursionError) as error:
        raise _MistakeError("", N_("this cannot be read: {error}"), error=str(error)) from None


def _check_points(written: str) -> None:
    """Refuse a line of names put together by points, of which a long one takes minutes to be read."""
    for number, line in enumerate(written.splitlines(), 1):
        if QUOTED.sub("", line).count(".") > MOST_POINTS:
            where = Message(text=N_("line {number}"), values={"number": number})
            raise _MistakeError(where, N_("holds more than {most} points; take it apart"), most=MOST_POINTS)


def _check_texts(data: dict[str, Any]) -> None:
    """Refuse texts that nobody can see, or read to their end."""
    for where, written in _texts(data, ""):
        if unseen := unseen_in(written):
            hidden = N_("holds a letter that cannot be seen ({letter}); type it again")
            raise _MistakeError(where, hidden, letter=named(unseen))
        if len(written) > LONGEST_TEXT:
            raise _MistakeError(where, N_("is longer than {most} letters; shorten it"), most=LONGEST_TEXT)


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
            raise _MistakeError(name, N_("there is none; describe at least one under [[{name}]]"), name=name)
    return data


def _setup(data: dict[str, Any]) -> Setup:
    tables = {name: _list_of_tables(name, data.pop(name, [])) for name in TABLES}
    top = _checked("kitchen", data)
    jug_l = top.pop("jug_l", None)
    keeping = Keeping(**{field.name: top.pop(field.name, None) for field in fields(Keeping)})
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
        raise _MistakeError("", message_of(error)) from None
    _check_services(kitchen)
    _check_words("oils", oils)
    _check_words("products", products)
    _check_words("fryers", fryers)
    _check_words("meters", meters)
    _check_words("reference_lots", lots)
    return Setup(kitchen=kitchen, jug_l=jug_l, keeping=keeping)


def _list_of_tables(name: str, value: object) -> list[dict[str, Any]]:
    if not isinstance(value, list) or not all(isinstance(each, dict) for each in value):
        raise _MistakeError(name, N_("is not a list of tables; write [[{name}]] above each"), name=name)
    if len(value) > (most := TABLES[name].most):
        many = N_("there are {found}; a kitchen has at most {most}")
        raise _MistakeError(name, many, found=len(value), most=most)
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
            raise _MistakeError(where, message_of(error)) from None
    return tuple(made)


def _checked(name: str, raw: Mapping[str, object], *, where: str = "") -> dict[str, Any]:
    """Return the values of one table, each checked; unknown and missing keys are mistakes."""
    checks = CHECKS[name]
    for key in raw:
        if key not in checks:
            raise _MistakeError(f"{where} {key}".strip(), _unknown_key(key, checks))
    for setting in THINGS[name].settings:
        if setting.required and setting.name not in raw:
            raise _MistakeError(where, N_("{name!r} is missing; add a line {name} = …"), name=setting.name)
    values = {}
    for key, value in raw.items():
        try:
            values[key] = checks[key](value)
        except ValueError as error:
            raise _MistakeError(f"{where} {key}".strip(), message_of(error)) from None
    return values


def _unknown_key(key: str, checks: Iterable[str]) -> Message:
    if key in CHECKS["kitchen"]:
        moved = N_("this belongs to the whole kitchen; move it to the top of the file, above the first [[")
        return Message(text=moved)
    choice = [*checks, *TABLES] if "timezone" in checks else checks
    return Message(text=N_("this key is not known; {advice}"), values={"advice": nearest(key, choice)})


def _maker(kind: Callable[..., T]) -> Callable[[dict[str, Any]], T]:
    return lambda values: kind(**{"name": values["key"], **values})


def _fryer(values: dict[str, Any]) -> Fryer:
    fryer = _maker(Fryer)(values)
    if fryer.minimum_mass_kg is not None and fryer.minimum_mass_kg > fryer.oil_mass_kg:
        raise ToldError(
            N_("minimum_mass_kg is more than oil_mass_kg; the minimum mark lies below the cold-fill mark")
        )
    if fryer.standby_temp_c is not None and fryer.standby_temp_c > fryer.set_temp_c:
        raise ToldError(N_("standby_temp_c lies above set_temp_c; leave it out where nothing is turned down"))
    if (fryer.usual_load_kg or 0) > (most_kg := most_usual_load_kg(fryer.oil_mass_kg)):
        too_much = N_("usual_load_kg is more than this bath can fry in a service ({most} kg)")
        raise ToldError(too_much, most=exact(most_kg))
    return fryer


def _meter(values: dict[str, Any]) -> Meter:
    meter = _maker(Meter)(values)
    if meter.min_oil_temp_c >= meter.max_oil_temp_c:
        raise ToldError(N_("min_oil_temp_c must lie below max_oil_temp_c"))
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
        other = N_("{quantity} is given in {unit!r}, not in {other!r}")
        raise ToldError(other, quantity=name, unit=known.unit, other=values["unit"])
    if unfit_when[0] != known.unfit_when[0]:
        turned = N_("{quantity} is unfit when {side}, not when {other}")
        raise ToldError(turned, quantity=name, side=known.unfit_when, other=unfit_when)
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
                where, advice = f"[[services]] {service.name} fryers", nearest(key, fryers)
                raise _MistakeError(where, N_("no fryer {key!r}; {advice}"), key=key, advice=advice)
    for fryer in kitchen.fryers if kitchen.services else ():
        try:
            week_of(kitchen, fryer)
        except ValueError as error:
            raise _MistakeError("[[services]]", message_of(error)) from error


def _check_words(table: str, things: Iterable[Oil | Product | Fryer | Meter | ReferenceLot]) -> None:
    """Refuse two things that a word in the log could both mean."""
    owners: dict[str, str] = {}
    for thing in things:
        for word in (thing.key, thing.name):
            if (owner := owners.setdefault(squeezed(word), thing.key)) != thing.key:
                twice = N_("in the log {word!r} could also mean {other!r}; choose another key or name")
                raise _MistakeError(f"[[{table}]] {thing.key}", twice, word=word, other=owner)
