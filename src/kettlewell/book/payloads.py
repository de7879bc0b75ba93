"""What stands in the day book becomes values, and values what stands there."""

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import cache
from typing import Any, NamedTuple

from kettlewell.book.entries import Entry
from kettlewell.book.fields import Field, Type
from kettlewell.book.kinds import KINDS, OF_VALUE, EntryKind
from kettlewell.book.plain import decimal_text, time_text

Payload = Mapping[str, Any]
GRAM_DIGITS = 3  # masses are written down to the gram


class Part(NamedTuple):
    """A field of a payload, what it is called in the value, and how it is read."""

    field: str
    attribute: str
    read: Callable[[Any], Any]


def value_of(kind: str, payload: Payload, *, at: datetime, ref: str, person: str | None = None) -> Entry:
    """Return the value of an entry; raises KeyError for a kind from which no belief follows."""
    value, parts, answers = _plan(kind)
    told = {part.attribute: part.read(payload[part.field]) for part in parts if part.field in payload}
    for attribute, names in answers:
        told[attribute] = all(payload[name] == "yes" for name in names)
    return value(at=at, ref=ref, person=person, **told)


@cache
def _plan(kind: str) -> tuple[type[Entry], tuple[Part, ...], tuple[tuple[str, tuple[str, ...]], ...]]:
    told = KINDS[kind]
    if told.value is None:
        raise KeyError(kind)
    held = [(field, told.attribute(field)) for field in told.fields if told.attribute(field)]
    parts = [
        Part(field.name, attribute, READ.get(field.type, str))
        for field, attribute in held
        if field.type is not Type.ANSWER
    ]
    answers: dict[str, tuple[str, ...]] = {}
    for field, attribute in held:
        if field.type is Type.ANSWER:
            answers[attribute] = (*answers.get(attribute, ()), field.name)
    return told.value, tuple(parts), tuple(answers.items())


def _floats(texts: list[str]) -> tuple[float, ...]:
    return tuple(float(text) for text in texts)


READ: Mapping[Type, Callable[[Any], Any]] = {
    Type.NUMBER: float,
    Type.NUMBERS: _floats,
    Type.YES: bool,
    Type.CHOICES: ", ".join,
    Type.MOMENT: datetime.fromisoformat,
}


def payload_of(entry: Entry) -> tuple[str, dict[str, Any]]:
    """Return kind and payload of a value, its numbers as exact as the day book keeps them."""
    kind = OF_VALUE[type(entry)]
    told = {
        field.name: said(field, getattr(entry, kind.attribute(field)))
        for field in kind.fields
        if kind.attribute(field)
    }
    return kind.key, {
        name: value for name, value in {**told, **_measured(kind, told)}.items() if value not in (None, [])
    }


def said(field: Field, value: Any) -> Any:  # noqa: ANN401 - as different as fields are
    """Return a field of a value as it stands in a payload; None where it says nothing."""
    if value is None or field.type not in SAID:
        return value
    return SAID[field.type](field, value)


def _rounded(field: Field, value: float) -> str:
    return decimal_text(round(value, GRAM_DIGITS if field.decimals is None else field.decimals))


SAID: Mapping[Type, Callable[[Field, Any], Any]] = {
    Type.NUMBER: _rounded,
    Type.NUMBERS: lambda field, values: [_rounded(field, each) for each in values],
    Type.ANSWER: lambda _, value: "yes" if value else "no",
    Type.CHOICES: lambda field, value: [each for each in value.split(", ") if each in dict(field.choices)],
    Type.MOMENT: lambda _, value: time_text(value),
}


def _measured(kind: EntryKind, told: Payload) -> dict[str, Any]:
    """Return in what an amount was measured, of a kind that says so: in kg, or to the mark."""
    units = next((dict(field.choices) for field in kind.fields if field.name == "unit"), None)
    if units is None:
        return {}
    to_mark = told["mass_kg"] is None and "mark" in units
    return {"unit": "mark" if to_mark else "kg", "amount": told["mass_kg"]}
