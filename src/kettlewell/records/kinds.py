"""What each kind of entry may say: a form a kind, the one check for screens and programs alike.

The forms are made from ``kettlewell.book.kinds``, which tells every kind once.
"""

from collections.abc import Callable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any, TypeVar
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.book import fields
from kettlewell.book.fields import Choices, Field, Type
from kettlewell.book.kinds import KINDS
from kettlewell.book.plain import decimal_text, time_text
from kettlewell.records.numbers import NumberField, NumbersField


def translated(choices: Choices) -> tuple[tuple[str, Any], ...]:
    """Return choices with their words in the reader's language."""
    return tuple((key, _(label)) for key, label in choices)


ANSWERS = translated(fields.ANSWERS)
SIGNS = translated(fields.SIGNS)
CARE = translated(fields.CARE)
OIL_DONE = translated(fields.OIL_DONE)
FOOD_DONE = translated(fields.FOOD_DONE)
COMPLAINTS = translated(fields.COMPLAINTS)
TRAINED_IN = translated(fields.TRAINED_IN)
CAUSES = translated(fields.CAUSES)
OIL_UNITS = translated(fields.OIL_UNITS)
FOOD_UNITS = translated(fields.FOOD_UNITS)
SOURCES = translated(fields.SOURCES)
STANDS = translated(fields.STANDS)


class Payload(forms.Form):
    """What an entry says. Anything it does not know is refused."""

    told: tuple[Field, ...] = ()

    def clean(self) -> dict[str, Any]:
        """Refuse what this kind does not know, and fields that do not go together."""
        for name in set(self.data) - {self.add_prefix(name) for name in self.fields}:
            self.add_error(None, _("“%(name)s” does not belong in such an entry.") % {"name": name[:40]})
        for field in self.told:
            if refusal := self.together(field):
                self.add_error(field.name, _(refusal))
        return self.cleaned_data

    def together(self, field: Field) -> str:
        """Return what is wrong with a field beside the others; "" where nothing is."""
        said = self.cleaned_data.get(field.name)
        if field.name not in self.fields or field.name in self.errors:
            return ""
        if said and field.other_than and said == self.cleaned_data.get(field.other_than):
            return field.or_same
        if field.only_if is None or field.only_if[0] not in self.cleaned_data:
            return ""
        asked = self.cleaned_data[field.only_if[0]] == field.only_if[1]
        return "" if bool(said) is asked else field.or_else[0 if asked else 1]

    def payload(self) -> dict[str, Any]:
        """Return what is written down: numbers as decimal strings, nothing for what was not said."""
        return {name: plain(value) for name, value in self.cleaned_data.items() if said(value)}


F = TypeVar("F", bound=Payload)


def fields_of(kind: str) -> Callable[[type[F]], type[F]]:
    """Give a form the fields of a kind of entry."""

    def give(form: type[F]) -> type[F]:
        told = {field.name: form_field(field) for field in KINDS[kind].fields}
        form.told = KINDS[kind].fields
        form.base_fields = form.declared_fields = {**told, **form.declared_fields}
        return form

    return give


MADE: dict[Type, Callable[..., forms.Field]] = {
    Type.NUMBER: NumberField,
    Type.NUMBERS: NumbersField,
    Type.TEXT: forms.CharField,
    Type.CHOICE: forms.ChoiceField,
    Type.CHOICES: forms.MultipleChoiceField,
    Type.ANSWER: forms.ChoiceField,
    Type.YES: forms.BooleanField,
    Type.ENTRY: forms.UUIDField,
    Type.PERSON: forms.UUIDField,
    Type.MOMENT: forms.DateTimeField,
    Type.DAY: forms.DateField,
    Type.JSON: forms.JSONField,
}


def form_field(field: Field) -> forms.Field:
    """Return the field of a form that asks for one of an entry."""
    about: dict[str, Any] = {"required": field.required, "label": _(field.label) if field.label else None}
    if field.choices:
        about["choices"] = translated(field.choices)
    if field.type is Type.TEXT:
        about["max_length"] = field.most
    if field.type is Type.NUMBERS:
        about["most"] = field.most
    if field.type in (Type.NUMBER, Type.NUMBERS):
        about |= {"min_value": field.low, "max_value": field.high, "decimal_places": field.decimals}
    return MADE[field.type](**about)


class Shared(dict[str, forms.Field]):
    """The fields of a form that nobody changes: each form takes the very same, in place of a deep copy."""

    def __deepcopy__(self, _memo: object) -> "Shared":
        """Return itself."""
        return self


def payload_form(kind: str) -> type[Payload]:
    """Return the form that checks what an entry of a kind says."""
    form: type[Payload] = fields_of(kind)(type(f"{kind.title().replace('_', '')}Payload", (Payload,), {}))
    form.base_fields = Shared(form.base_fields)
    return form


def plain(value: object) -> Any:  # noqa: ANN401, PLR0911 - JSON, and a return for each sort of it
    """Return a cleaned value as it stands in the ledger."""
    match value:
        case bool() | str() | None:
            return value
        case Decimal() | int() | float():
            return decimal_text(value)
        case UUID():
            return str(value)
        case datetime():
            return time_text(value)
        case date():
            return value.isoformat()
        case Mapping():
            return {str(key): plain(each) for key, each in value.items()}
        case list() | tuple():
            return [plain(each) for each in value]
    raise TypeError(f"{value!r} cannot be written down")


def said(value: object) -> bool:
    """Tell whether a field says anything."""
    return value is not None and value not in ("", [])


PAYLOADS: dict[str, type[Payload]] = {kind: payload_form(kind) for kind in KINDS}
