"""What an entry says, as one plain sentence a kind."""

from collections.abc import Callable, Collection, Mapping
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from string import Formatter
from typing import Any

from kettlewell.book.fields import Field, Type
from kettlewell.book.kinds import CONDITIONS as OF_A_SOUND_READING
from kettlewell.book.kinds import KINDS, MayWrite
from kettlewell.core.decision import VerdictKey
from kettlewell.records.kinds import translated
from kettlewell.telling import N_, Reader
from kettlewell.telling.verdicts import VERDICTS
from kettlewell.web.entry.names import Names

Payload = Mapping[str, Any]
Show = Callable[[Any, Names, Reader], str]

CONDITIONS = tuple(condition.name for condition in OF_A_SOUND_READING)
FIGURES = tuple(
    dict.fromkeys(
        field.name
        for kind in KINDS.values()
        for field in kind.fields
        if kind.counts and field.type is Type.NUMBER
    )
)
NOT_SO = N_("Not so: {conditions}.")
NOT_KNOWN = N_("Not known: {conditions}.")

TOP_UPS = {
    "mark": N_("{fryer} topped up to the mark."),
    "kg": N_("{fryer} topped up with {amount} kg of oil."),
    "l": N_("{fryer} topped up with {amount} l of oil ({mass_kg} kg)."),
    "jug": N_("{fryer} topped up. Jugs: {amount} ({mass_kg} kg)."),
    "pack": N_("{fryer} topped up. Packs: {amount} ({mass_kg} kg)."),
}
LOADS = {
    "kg": N_("{amount} kg of {product} fried in {fryer}."),
    "portion": N_("{product} fried in {fryer}. Portions: {amount}."),
    "basket": N_("{product} fried in {fryer}. Baskets: {amount}."),
}
CARED = {
    "skim": N_("{fryer} skimmed."),
    "filter": N_("{fryer} filtered with its own filter."),
    "shared-filter": N_("{fryer} filtered with the shared filter."),
    "adsorbent": N_("{fryer} treated with filter powder."),
    "boil-out": N_("{fryer} boiled out."),
}
RELIED = {
    "stands": N_("The verdict on {fryer} was right, although the meter was off."),
    "not": N_("The verdict on {fryer} was wrong: the meter was off. Oil: {oil_done}. Food: {food_done}."),
    "unknown": N_("Nobody knows whether the verdict on {fryer} was right: the meter was off."),
}
SET = {
    "kitchen": N_("Settings of the kitchen saved."),
    "fryers": N_("Settings of the fryer {name} saved."),
    "oils": N_("Settings of the oil {name} saved."),
    "products": N_("Settings of the food {name} saved."),
    "meters": N_("Settings of the meter {name} saved."),
    "reference_lots": N_("Settings of the reference oil {name} saved."),
    "services": N_("Times of the service {name} saved."),
    "limits": N_("Limit {name} saved."),
    "people": N_("Role of {name} saved."),
    "tablets": N_("{name} became a tablet of this kitchen: people sign on it with name and PIN."),
}
REMOVED = {
    "fryers": N_("The fryer {name} was taken off the list."),
    "oils": N_("The oil {name} was taken off the list."),
    "products": N_("The food {name} was taken off the list."),
    "meters": N_("The meter {name} was taken off the list."),
    "reference_lots": N_("The reference oil {name} was taken off the list."),
    "services": N_("The service {name} was taken off the list."),
    "limits": N_("The limit {name} was taken off the list."),
    "people": N_("{name} no longer has a place in this kitchen."),
    "tablets": N_("{name} is no longer a tablet of this kitchen."),
}


def sentence(kind: str, payload: Payload, names: Names, reader: Reader) -> str:
    """Return what an entry says."""
    values = {
        name: SHOWN[name](value, names, reader)
        for name, value in payload.items()
        if name in SHOWN and value is not None
    }
    if kind == "setting":
        values["name"] = names.of(payload["thing"], payload.get("key", ""))
    if kind == "verdict":
        values["verdict"] = reader.say(VERDICTS[VerdictKey(payload["verdict"])])
    if kind == "erased":
        values["number"] = str(len(payload["entries"]))
    if kind == "imported":
        values |= {name: str(payload[name]) for name in ("first", "last")}
    return reader.say(text_of(kind, payload, values), **values)


def text_of(kind: str, payload: Payload, told: Collection[str]) -> str:
    """Return the sentence of an entry that tells these fields, untranslated."""
    if kind in TEXTS:
        return TEXTS[kind](payload)
    *others, plainest = KINDS[kind].says
    return next((text for text in others if fields_in(text) <= set(told)), plainest)


@cache
def fields_in(text: str) -> frozenset[str]:
    """Return which {fields} a sentence has."""
    return frozenset(name for _, name, _, _ in Formatter().parse(text) if name)


def doubts(kind: str, payload: Payload, reader: Reader) -> list[str]:
    """Return what was not as it should be when a reading was taken."""
    if kind != "reading":
        return []
    told = []
    for answer, text in (("no", NOT_SO), ("unknown", NOT_KNOWN)):
        labels = [
            reader.say(asked.label) for asked in OF_A_SOUND_READING if payload.get(asked.name) == answer
        ]
        if labels:
            told.append(reader.say(text, conditions="; ".join(labels)))
    return told


def figure(written: str, reader: Reader) -> str:
    """Return a number of the ledger with all its decimals, as the reader writes it."""
    value = Decimal(written)
    exponent = value.as_tuple().exponent
    digits = -exponent if isinstance(exponent, int) and exponent < 0 else None
    return reader.number(float(value), digits=digits)


def typed(payload: Payload, reader: Reader) -> dict[str, Any]:
    """Return a payload with its numbers as the reader would type them."""
    numbers = {name: figure(payload[name], reader) for name in FIGURES if name in payload}
    readings = [figure(reading, reader) for reading in payload.get("readings", ())]
    return {**payload, **numbers, **({"readings": readings} if readings else {})}


def _senses(payload: Payload) -> str:
    if payload.get("spoiled"):
        return N_("The oil of {fryer} is spoiled: {signs}.") if payload.get("signs") else SPOILED
    return N_("Noticed at {fryer}: {signs}.") if payload.get("signs") else NOTHING


SPOILED = N_("The oil of {fryer} is spoiled.")
NOTHING = N_("The oil of {fryer} was smelt and looked at: nothing wrong.")


def _top_up(payload: Payload) -> str:
    unit = payload["unit"]
    if unit != "mark" and "amount" not in payload:
        return N_("{fryer} topped up, amount not known.")
    if unit in ("jug", "pack", "l") and "mass_kg" not in payload:
        return N_("{fryer} topped up, amount {amount}.")
    return TOP_UPS[unit]


def _load(payload: Payload) -> str:
    if "amount" not in payload or not payload.get("unit"):
        return N_("{product} fried in {fryer}, amount not known.")
    return LOADS[payload["unit"]]


def _order(payload: Payload) -> str:
    return N_("{fryer} back in use.") if payload.get("back") else N_("{fryer} taken out of use.")


def _meter_check(payload: Payload) -> str:
    if payload["adjusted"]:
        return N_("{meter} adjusted, and read in the reference oil {lot} after it: {readings} %.")
    if "oil_temp_c" in payload:
        return N_("{meter} checked in the reference oil {lot} at {oil_temp_c} °C: {readings} %.")
    return N_("{meter} checked in the reference oil {lot}: {readings} %.")


def _meter_order(payload: Payload) -> str:
    if payload["back"]:
        return N_("The meter {meter} is back in use.")
    return N_("The meter {meter} was taken out of use.")


def _setting(payload: Payload) -> str:
    if payload.get("renewed"):
        return N_("The access of {name} was changed.")
    return (REMOVED if payload.get("removed") else SET)[payload["thing"]]


# the kinds whose sentence needs more than the fields that are told
TEXTS: dict[str, Callable[[Payload], str]] = {
    "senses": _senses,
    "top_up": _top_up,
    "care": lambda payload: CARED[payload["care"]],
    "load": _load,
    "order": _order,
    "meter_check": _meter_check,
    "meter_order": _meter_order,
    "relied": lambda payload: RELIED[payload["stands"]],
    "setting": _setting,
}


def _name(thing: str) -> Show:
    return lambda key, names, _: names.of(thing, str(key))


def _figure(written: object, _: Names, reader: Reader) -> str:
    return figure(str(written), reader)


def _figures(written: list[str], _: Names, reader: Reader) -> str:
    return " / ".join(figure(reading, reader) for reading in written)


def _choice(choices: tuple[tuple[str, Any], ...]) -> Show:
    labels = dict(choices)
    return lambda key, _, __: str(labels.get(key, key))


def _choices(choices: tuple[tuple[str, Any], ...]) -> Show:
    labels = dict(choices)
    return lambda keys, _, __: ", ".join(str(labels.get(key, key)) for key in keys)


def _moment(written: str, _: Names, reader: Reader) -> str:
    return reader.moment(datetime.fromisoformat(written))


def _day(written: str, _: Names, reader: Reader) -> str:
    return reader.written_day(date.fromisoformat(written))


def _show(field: Field) -> Show | None:
    """Return how a field is shown in a sentence; None where it is not."""
    if field.things:
        return _name(field.things)
    if field.type is Type.CHOICES:
        return _choices(translated(field.choices))
    if field.type is Type.CHOICE and field.name != "unit":
        return _choice(translated(field.choices))
    return BY_TYPE.get(field.type)


def _text(written: str, _: Names, __: Reader) -> str:
    return written


BY_TYPE: dict[Type, Show] = {
    Type.TEXT: _text,
    Type.NUMBER: _figure,
    Type.NUMBERS: _figures,
    Type.PERSON: _name("people"),
    Type.MOMENT: _moment,
    Type.DAY: _day,
}
SHOWN: dict[str, Show] = {
    field.name: show
    for kind in KINDS.values()
    if kind.writer is not MayWrite.PROGRAM
    for field in kind.fields
    if (show := _show(field))
}
