"""Rows of the day book become entries of the core, and entries of a log rows."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any, TypedDict

from django.db.models import QuerySet

from kettlewell.book import (
    Adopted,
    AtFryer,
    AtMeter,
    Care,
    Change,
    Entry,
    HotHours,
    LabResult,
    Load,
    MeterCheck,
    MeterOut,
    Move,
    OutOfOrder,
    Reading,
    Return,
    SensoryNote,
    Store,
    TopUp,
)
from kettlewell.records import selectors
from kettlewell.records.canonical import decimal_text
from kettlewell.records.kinds import COMPARED
from kettlewell.records.models import Entry as Row
from kettlewell.records.models import Kitchen

CONDITIONS = ("no_food", "no_bubbles", "probe_clear", "steady")
Payload = Mapping[str, Any]


class Stamp(TypedDict):
    """What every entry at a fryer carries."""

    at: datetime
    ref: str
    fryer: str


class MeterStamp(TypedDict):
    """What every entry about a meter carries."""

    at: datetime
    ref: str
    meter: str


def book_of(kitchen: Kitchen, *, since: datetime | None = None, upto_seq: int) -> list[Entry]:
    """Return what happened to baths and meters since a time, as the day book stood at an entry."""
    return core_entries(selectors.of_the_baths(kitchen, since=since, upto_seq=upto_seq))


def core_entries(found: QuerySet[Row]) -> list[Entry]:
    """Return the core's entries for rows of the day book."""
    rows = found.values_list("seq", "kind", "at", "payload")
    return [entry_of(kind, payload, at=at, ref=f"#{seq}") for seq, kind, at, payload in rows]


def entry_of(kind: str, payload: Payload, *, at: datetime, ref: str) -> Entry:
    """Return the entry that a row of the day book stands for."""
    if of_meter := FROM_METER_ROW.get(kind):
        return of_meter({"at": at, "ref": ref, "meter": payload["meter"]}, payload)
    return FROM_ROW[kind]({"at": at, "ref": ref, "fryer": payload["fryer"]}, payload)


def payload_of(entry: Entry) -> tuple[str, dict[str, Any]]:
    """Return kind and payload of the row for an entry of a log, masses to the gram."""
    kind, told = TO_ROW[type(entry)](entry)
    return kind, {
        **_place(entry),
        **{name: _said(value) for name, value in told.items() if value is not None},
    }


def _place(entry: Entry) -> dict[str, str]:
    match entry:
        case AtFryer():
            return {"fryer": entry.fryer}
        case AtMeter():
            return {"meter": entry.meter}
    return {}


def _said(value: object) -> object:
    match value:
        case bool():
            return value
        case int() | float():
            return decimal_text(round(value, 3))
        case tuple():
            return [_said(each) for each in value]
    return value


def _float(payload: Payload, name: str) -> float | None:
    return float(payload[name]) if name in payload else None


def _reading(stamp: Stamp, payload: Payload) -> Entry:
    return Reading(
        **stamp,
        tpc_pct=float(payload["tpc_pct"]),
        oil_temp_c=_float(payload, "oil_temp_c"),
        meter=payload.get("meter"),
        sound=all(payload[condition] == "yes" for condition in CONDITIONS),
    )


def _laboratory(stamp: Stamp, payload: Payload) -> Entry:
    return LabResult(**stamp, tpc_pct=float(payload["tpc_pct"]), u_pct=_float(payload, "u_pct"))


def _senses(stamp: Stamp, payload: Payload) -> Entry:
    return SensoryNote(**stamp, spoiled=payload["spoiled"], note=", ".join(payload.get("signs", ())))


def _hot_hours(stamp: Stamp, payload: Payload) -> Entry:
    return HotHours(**stamp, hot_h=float(payload["hot_h"]), oil_temp_c=_float(payload, "oil_temp_c"))


def _order(stamp: Stamp, payload: Payload) -> Entry:
    return OutOfOrder(**stamp, back=payload["back"])


def _move(stamp: Stamp, payload: Payload) -> Entry:
    return Move(**stamp, into=payload["into"], mass_kg=_float(payload, "mass_kg"))


def _load(stamp: Stamp, payload: Payload) -> Entry:
    return Load(**stamp, product=payload["product"], mass_kg=_float(payload, "mass_kg"))


FROM_ROW: dict[str, Callable[[Stamp, Payload], Entry]] = {
    "reading": _reading,
    "laboratory": _laboratory,
    "senses": _senses,
    "top_up": lambda stamp, payload: TopUp(**stamp, mass_kg=_float(payload, "mass_kg")),
    "care": lambda stamp, payload: Care(**stamp, kind=payload["care"]),
    "change": lambda stamp, payload: Change(**stamp, oil=payload.get("oil")),
    "move": _move,
    "store": lambda stamp, _: Store(**stamp),
    "return": lambda stamp, _: Return(**stamp),
    "load": _load,
    "hot_hours": _hot_hours,
    "order": _order,
}


def _meter_check(stamp: MeterStamp, payload: Payload) -> Entry:
    return MeterCheck(
        **stamp,
        lot=payload["lot"],
        readings_pct=tuple(float(reading) for reading in payload["readings"]),
        oil_temp_c=_float(payload, "oil_temp_c"),
        adjusted=payload["adjusted"],
    )


def _meter_order(stamp: MeterStamp, payload: Payload) -> Entry:
    return MeterOut(**stamp, back=payload["back"])


def _comparison(stamp: MeterStamp, payload: Payload) -> Entry:
    return Adopted(
        **stamp,
        oil=payload["oil"],
        against=payload.get("against"),
        offset_pct=float(payload["offset_pct"]),
        offset_u_pct=float(payload["offset_u_pct"]),
        gain=float(payload["gain"]),
        gain_u=float(payload["gain_u"]),
        correlation=float(payload["correlation"]),
    )


FROM_METER_ROW: dict[str, Callable[[MeterStamp, Payload], Entry]] = {
    "meter_check": _meter_check,
    "meter_order": _meter_order,
    "comparison": _comparison,
}


def _reading_row(entry: Any) -> tuple[str, dict[str, Any]]:  # noqa: ANN401 - chosen by type
    told = {"tpc_pct": entry.tpc_pct, "oil_temp_c": entry.oil_temp_c, "meter": entry.meter}
    return "reading", told | dict.fromkeys(CONDITIONS, "yes" if entry.sound else "no")


def _meter_check_row(entry: MeterCheck) -> tuple[str, dict[str, Any]]:
    told = {"lot": entry.lot, "readings": entry.readings_pct, "oil_temp_c": entry.oil_temp_c}
    return "meter_check", told | {"adjusted": entry.adjusted}


def _comparison_row(entry: Adopted) -> tuple[str, dict[str, Any]]:
    numbers = {name: decimal_text(round(getattr(entry, name), 6)) for name in COMPARED}
    return "comparison", {"oil": entry.oil, "against": entry.against, **numbers}


TO_ROW: dict[type[Entry], Callable[[Any], tuple[str, dict[str, Any]]]] = {
    Reading: _reading_row,
    LabResult: lambda one: ("laboratory", {"tpc_pct": one.tpc_pct, "u_pct": one.u_pct}),
    SensoryNote: lambda one: ("senses", {"spoiled": one.spoiled}),
    TopUp: lambda one: (
        "top_up",
        {"unit": "kg", "amount": one.mass_kg, "mass_kg": one.mass_kg}
        if one.mass_kg is not None
        else {"unit": "mark"},
    ),
    Care: lambda one: ("care", {"care": one.kind}),
    Change: lambda one: ("change", {"oil": one.oil}),
    Move: lambda one: ("move", {"into": one.into, "mass_kg": one.mass_kg}),
    Store: lambda _: ("store", {}),
    Return: lambda _: ("return", {}),
    Load: lambda one: (
        "load",
        {"product": one.product, "unit": "kg", "amount": one.mass_kg, "mass_kg": one.mass_kg},
    ),
    HotHours: lambda one: ("hot_hours", {"hot_h": one.hot_h, "oil_temp_c": one.oil_temp_c}),
    OutOfOrder: lambda one: ("order", {"back": one.back}),
    MeterCheck: _meter_check_row,
    MeterOut: lambda one: ("meter_order", {"back": one.back}),
    Adopted: _comparison_row,
}
