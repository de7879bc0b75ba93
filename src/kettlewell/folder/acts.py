"""What one row of the log becomes: a builder for each word under "what"."""

from collections.abc import Callable, Iterable
from datetime import datetime, tzinfo
from typing import Any, NamedTuple, TypedDict, TypeVar
from zoneinfo import ZoneInfo

from kettlewell.book import (
    CARE_KINDS,
    LEAST_FRESH_PCT,
    MOST_FRESH_PCT,
    Care,
    Change,
    Entry,
    Fryer,
    HotHours,
    Kitchen,
    LabResult,
    Load,
    Meter,
    Move,
    Oil,
    OutOfOrder,
    Product,
    Reading,
    ReferenceLot,
    Return,
    SensoryNote,
    Store,
    TopUp,
    find,
)
from kettlewell.book.naming import with_all
from kettlewell.book.setup import Setup
from kettlewell.book.words import N_, Value
from kettlewell.folder import german
from kettlewell.folder.amounts import food_kg, oil_kg
from kettlewell.folder.cells import exact, number
from kettlewell.folder.german import with_german
from kettlewell.folder.words import ANSWERS, COLUMNS, HOUR_UNITS, SENSES, TPC_UNITS, NotUnderstoodError, Words

PLACES = {column: place for place, column in enumerate(COLUMNS)}
T = TypeVar("T", Fryer, Product, Oil, Meter, ReferenceLot)

_ANSWERS = Words(with_german(ANSWERS, german.ANSWERS))
_SENSES = Words(with_german(SENSES, german.SENSES))
_TPC_UNITS = Words(TPC_UNITS.items())
_HOUR_UNITS = Words(with_german(HOUR_UNITS, german.UNITS))


class Row(tuple[str, ...]):
    """The cells of a row in the order of COLUMNS, stripped; "" where empty. Each is called by its column."""

    __slots__ = ()

    def __getattr__(self, column: str) -> str:
        """Return the cell of a column."""
        try:
            return self[PLACES[column]]
        except KeyError:
            raise AttributeError(column) from None


class Written(TypedDict):
    """What every entry carries: when it happened, who wrote it, and where."""

    at: datetime
    person: str | None
    ref: str


class Stamp(Written):
    """What every entry at a fryer carries."""

    fryer: str


class Known:
    """What the words of a row point at in this kitchen: by key, or by name.

    What it had only ``later`` is known too: it may have been written down after it came.
    """

    def __init__(self, setup: Setup, later: Iterable[Kitchen] = ()) -> None:
        """Look nothing up yet."""
        self.present = setup.kitchen
        self.kitchen = kitchen = with_all(setup.kitchen, later)
        self.jug_l = setup.jug_l
        self.zone: tzinfo = ZoneInfo(kitchen.timezone)
        self.fryers = _named(kitchen.fryers)
        self.products = _named(kitchen.products)
        self.oils = _named(kitchen.oils)
        self.meters = _named(kitchen.meters)
        self.lots = _named(kitchen.reference_lots)
        self.by_thing: dict[str, Words[Any]] = {
            "fryers": self.fryers,
            "products": self.products,
            "oils": self.oils,
            "meters": self.meters,
            "reference_lots": self.lots,
        }


def _named(things: tuple[T, ...]) -> Words[T]:
    return Words([(t.key, t) for t in things] + [(t.name, t) for t in things])


class RowAct(NamedTuple):
    """One row, what every entry of it carries, its fryer and the names of the kitchen."""

    row: Row
    stamp: Stamp
    fryer: Fryer
    names: Known


Builder = Callable[[RowAct], Entry]


def _reading(act: RowAct) -> Entry:
    row, meters = act.row, act.names.present.meters
    meter = act.names.meters.find(row.meter, "meter").key if row.meter else None
    if meter is None and len(meters) == 1:
        meter = meters[0].key
    return Reading(
        **act.stamp,
        tpc_pct=_tpc_pct(row),
        oil_temp_c=oil_temp_c(row),
        meter=meter,
        sound=_ANSWERS.find(row.sound, "sound") if row.sound else True,
    )


def _lab(act: RowAct) -> Entry:
    given = act.row.uncertainty
    u_pct = number(given, "uncertainty", 0.01, 100.0, unit="%") if given else None
    given = act.row.polymers
    polymers_pct = number(given, "polymers", 0.0, 100.0, unit="%") if given else None
    return LabResult(**act.stamp, tpc_pct=_tpc_pct(act.row), u_pct=u_pct, polymers_pct=polymers_pct)


def _smell(act: RowAct) -> Entry:
    said, note = act.row.amount, act.row.note
    if not said and not note:
        empty = N_("is empty; write spoiled or fine, or say under note what you noticed")
        raise NotUnderstoodError("amount", empty)
    return SensoryNote(**act.stamp, spoiled=bool(said) and _SENSES.find(said, "amount"), note=note)


def _top_up(act: RowAct) -> Entry:
    return TopUp(**act.stamp, mass_kg=_oil_kg(act))


def _load(act: RowAct) -> Entry:
    product = _product(act)
    mass_kg = food_kg(act.row.amount, act.row.unit, product=product)
    return Load(**act.stamp, product=product.key, mass_kg=mass_kg)


def _hot_hours(act: RowAct) -> Entry:
    row = act.row
    unit = _HOUR_UNITS.find(row.unit, "unit") if row.unit else "h"
    needed(row.amount, "amount", N_("is empty; say how long it was hot; 0 when it stood cold"))
    if unit == "min":
        hot_h = number(row.amount, "amount", 0.0, 24.0 * 60, unit="min") / 60
    else:
        hot_h = number(row.amount, "amount", 0.0, 24.0, unit="h")
    return HotHours(**act.stamp, hot_h=hot_h, oil_temp_c=oil_temp_c(row))


def _change(act: RowAct) -> Entry:
    oil = act.row.oil
    given = act.row.certificate
    return Change(
        **act.stamp,
        oil=act.names.oils.find(oil, "oil").key if oil else None,
        delivery=act.row.lot or None,
        fresh_tpc_pct=number(given, "certificate", LEAST_FRESH_PCT, MOST_FRESH_PCT, unit="%")
        if given
        else None,
    )


def _move(act: RowAct) -> Entry:
    needed(act.row.into, "into", N_("is empty; name the fryer the oil went into"))
    into = act.names.fryers.find(act.row.into, "into").key
    if into == act.fryer.key:
        raise NotUnderstoodError("into", N_("is the fryer the oil came from; name the other one"))
    return Move(**act.stamp, into=into, mass_kg=_oil_kg(act))


def _care(kind: str) -> Builder:
    return lambda act: Care(**act.stamp, kind=kind)


BUILDERS: dict[str, Builder] = {
    "reading": _reading,
    "lab": _lab,
    "smell": _smell,
    "top-up": _top_up,
    "load": _load,
    "hot-hours": _hot_hours,
    "change": _change,
    "move": _move,
    "store": lambda act: Store(**act.stamp),
    "return": lambda act: Return(**act.stamp),
    **{kind: _care(kind) for kind in CARE_KINDS},
    "out-of-order": lambda act: OutOfOrder(**act.stamp),
    "back-in-order": lambda act: OutOfOrder(**act.stamp, back=True),
}


def _tpc_pct(row: Row) -> float:
    needed(row.amount, "amount", N_("is empty; write what the meter or the laboratory said, in %"))
    return percent(row.amount, row.unit)


def percent(amount: str, unit: str) -> float:
    """Return polar compounds in %."""
    if unit:
        _TPC_UNITS.find(unit, "unit")
    return number(amount, "amount", 0.0, 100.0, unit="%")


def oil_temp_c(row: Row) -> float | None:
    """Return the temperature of the oil; None where it was not noted."""
    return number(row.oil_temp, "oil_temp", 0.0, 300.0, unit="°C") if row.oil_temp else None


def _oil_kg(act: RowAct) -> float | None:
    mass_kg = oil_kg(
        act.row.amount,
        act.row.unit,
        oil=find(act.names.kitchen.oils, act.fryer.oil),
        jug_l=act.names.jug_l,
        oil_temp_c=oil_temp_c(act.row),
    )
    if mass_kg is not None and mass_kg > (bath_kg := act.fryer.oil_mass_kg):
        more = N_("{kg} kg is more than the whole bath ({bath} kg); check amount and unit")
        raise NotUnderstoodError("amount", more, kg=round(mass_kg, 1), bath=exact(bath_kg))
    return mass_kg


def _product(act: RowAct) -> Product:
    if act.row.product:
        return act.names.products.find(act.row.product, "product")
    if len(act.fryer.fries) != 1:
        raise NotUnderstoodError("product", N_("is empty; say what was fried"))
    return find(act.names.kitchen.products, act.fryer.fries[0])


def needed(cell: str, field: str, advice: str, **values: Value) -> None:
    """Raise NotUnderstoodError for a cell that is empty."""
    if not cell:
        raise NotUnderstoodError(field, advice, **values)
