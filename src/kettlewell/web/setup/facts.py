"""What a thing is set to, and how that came to be, in words."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from kettlewell.book.allergens import allergen
from kettlewell.bridge.known import UNTOLD, assumed
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.numbers import NumberField
from kettlewell.records.settings import Things, written_of
from kettlewell.telling import Reader
from kettlewell.telling.allergens import allergens_told
from kettlewell.web.setup.base_forms import (
    NO_ALLERGENS,
    ThingForm,
    litre_kg_of,
    things_by_name,
)
from kettlewell.web.setup.forms import FORMS, ServiceForm
from kettlewell.web.setup.known import DAYS, QUANTITIES, Choices, bound_words, label_of

Values = Mapping[str, Any]
KITCHEN_KEY = "own"
NOTHING: tuple[object, ...] = (None, "", [])
# what a thing's row in the table of its sort shows; all else is a tap away
COLUMNS: Mapping[str, tuple[str, ...]] = {
    "fryers": ("oil", "oil_mass_kg", "set_temp_c", "fries"),
    "oils": ("kind", "price_per_kg", "allergens"),
    "products": ("kind", "allergens"),
    "meters": ("largest_error_pct", "resolution_pct", "in_use_since"),
    "reference_lots": ("tpc_pct", "expanded_u_pct", "best_before"),
    "services": ("days", "from", "to"),
    "limits": ("value", "reason"),
    "kitchen": ("jurisdiction", "timezone"),
}
BATH_KG = ("oil_mass_kg", "minimum_mass_kg")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """What one thing is set to in one respect; ``name`` is that of the setting."""

    name: str
    label: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PastChange:
    """One change: who, when, and what is other since."""

    entry: Entry
    when: str
    facts: list[Fact]
    removed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ThingShown:
    """A thing as the kitchen screen shows it."""

    key: str
    name: str
    thing: str
    facts: list[Fact]
    history: list[PastChange]

    @property
    def main(self) -> list[Fact]:
        """What its row shows, a fact for each column; without a text where it says nothing."""
        told = {fact.name: fact for fact in self.facts}
        return [told.get(name, Fact(name=name, label="", text="")) for name in COLUMNS[self.thing]]

    @property
    def rest(self) -> list[Fact]:
        """What else it is set to."""
        return [fact for fact in self.facts if fact.name not in COLUMNS[self.thing]]

    @property
    def since(self) -> str:
        """When it was last set."""
        return self.history[0].when if self.history else ""


def days_of(value: object) -> list[str]:
    """Return the days of a service, which may be written as a stretch like "fri-sun"."""
    keys = [key for key, _label in DAYS]
    if not isinstance(value, str):
        return list(value) if isinstance(value, list | tuple) else []
    first, dash, last = value.partition("-")
    begin, end = keys.index(first), keys.index(last if dash else first)
    return [keys[(begin + step) % 7] for step in range((end - begin) % 7 + 1)]


def initial_of(thing: str, key: str, values: Values) -> dict[str, Any]:
    """Return the values of a thing as its form shows them."""
    shown = {**values}
    if thing == "services":
        shown["days"] = days_of(values.get("days"))
    if thing in ("fryers", "oils", "products", "meters", "reference_lots"):
        shown.setdefault("name", key)
    return shown


def facts(
    thing: str, values: Values, things: Things, reader: Reader, *, assuming: bool = False
) -> list[Fact]:
    """Return what a thing is set to, in the order of its form; ``assuming``, what is taken unsaid too."""
    if thing == "limits":
        return limit_facts(values, reader)
    form = FORMS[thing](things=things, key="")
    shown = initial_of(thing, "", values)
    names = [name for name in form.fields if name not in ("name", UNTOLD)]
    if isinstance(form, ServiceForm) and "fryers" in values and "fryers" not in names:
        names.append("fryers")
    told = [
        Fact(name=name, label=label(form, name), text=text(form, name, shown, things, reader))
        for name in names
        if shown.get(name) not in NOTHING or (name == "allergens" and shown.get(name) == [])
    ]
    return [*told, *(assumptions(form, shown, things, reader) if assuming else ())]


def columns(thing: str, things: Things) -> list[str]:
    """Return what the columns of the table of a sort are called."""
    form = FORMS[thing](things=things, key="")
    return [_("Limit") if name == "value" else label(form, name) for name in COLUMNS[thing]]


def assumptions(form: ThingForm, shown: Values, things: Things, reader: Reader) -> Iterator[Fact]:
    """Yield what the program takes where a thing says nothing."""
    if form.thing == "products" and shown.get("allergens") is None:
        yield Fact(name="allergens", label=label(form, "allergens"), text=_("not written down"))
    usual = assumed(form.thing, shown)
    for name in usual:
        if name in form.fields and shown.get(name) in NOTHING:
            said = text(form, name, usual, things, reader)
            ours = form.thing == "meters" and shown.get(UNTOLD)
            taken = _("%(value)s (ours, wide)") if ours else _("%(value)s (assumed)")
            yield Fact(name=name, label=label(form, name), text=taken % {"value": said})


def limit_facts(values: Values, reader: Reader) -> list[Fact]:
    """Return what a limit of the house says."""
    bound = bound_words(values["unfit_when"], float(values["value"]), values["unit"], reader)
    found = [Fact(name="value", label=_("Limit"), text=bound)]
    for name, title in (("reason", _("Why")), ("source", _("Where it is written"))):
        if values.get(name):
            found.append(Fact(name=name, label=title, text=str(values[name])))
    return found


def label(form: ThingForm, name: str) -> str:
    """Return what a field is called, without its unit."""
    return parted(form.fields[name])[0] if name in form.fields else _("Fryers in use")


def parted(field: forms.Field) -> tuple[str, str]:
    """Return what a field asks for, and in what unit: the label of a number ends in it."""
    what, _comma, unit = str(field.label).rpartition(", ")
    return (what, unit) if what and isinstance(field, NumberField) else (str(field.label), "")


def text(form: ThingForm, name: str, values: Values, things: Things, reader: Reader) -> str:
    """Return a value as it reads, with its unit."""
    field, value = form.fields.get(name), values[name]
    if isinstance(value, list | tuple):
        return listed(form, name, value, things, reader)
    if form.thing == "fryers" and name in BATH_KG:
        litres = float(value) / litre_kg_of(things, str(values.get("oil", "")))
        return f"{figure(str(value), reader)} kg ({reader.number(litres)} l)"
    if isinstance(field, NumberField):
        return f"{figure(str(value), reader)} {parted(field)[1]}".rstrip()
    if isinstance(field, forms.DateField):
        return reader.written_day(date.fromisoformat(str(value)))
    if isinstance(field, forms.ChoiceField):
        return label_of(choices_of(field), str(value))
    return str(value)


def listed(form: ThingForm, name: str, keys: Sequence[object], things: Things, reader: Reader) -> str:
    """Return a value that is a list as it reads."""
    field = form.fields.get(name)
    if name == "allergens":
        return allergens_told((allergen(str(key)) for key in keys), reader) or str(NO_ALLERGENS)
    choices = things_by_name(things, "fryers") if name == "fryers" else choices_of(field)
    return ", ".join(label_of(choices, str(key)) for key in keys)


def choices_of(field: forms.Field | None) -> Choices:
    """Return what a field offers."""
    return list(getattr(field, "choices", ()))


def figure(written: str, reader: Reader) -> str:
    """Return a number with all its decimals, as the reader writes it."""
    try:
        value = Decimal(written)
    except InvalidOperation:
        return written
    exponent = value.normalize().as_tuple().exponent
    return reader.number(float(value), digits=max(0, -int(exponent)))


def things_shown(kitchen: Kitchen, thing: str, things: Things, reader: Reader) -> list[ThingShown]:
    """Return all things of a sort, each with its history, the newest change first."""
    pasts = past_changes(kitchen, thing, things, reader)
    return [
        ThingShown(
            key=key or KITCHEN_KEY,
            name=name_of(thing, key, values),
            thing=thing,
            facts=facts(thing, values, things, reader, assuming=True),
            history=pasts.get(key, []),
        )
        for key, values in things.get(thing, {}).items()
    ]


def past_changes(kitchen: Kitchen, thing: str, things: Things, reader: Reader) -> dict[str, list[PastChange]]:
    """Return the changes of all things of a sort by key, the newest first."""
    found: dict[str, list[PastChange]] = {}
    last: dict[str, list[Fact]] = {}
    for entry in written_of(kitchen, thing):
        key, values = entry.payload.get("key", ""), entry.payload.get("values", {})
        name = [Fact(name="name", label=_("Name"), text=name_of(thing, key, values))] if values else []
        told = [*name, *(facts(thing, values, things, reader) if values else [])]
        past = PastChange(
            entry=entry,
            when=reader.date(entry.at),
            facts=[fact for fact in told if fact not in last.get(key, [])],
            removed=bool(entry.payload.get("removed")),
        )
        found.setdefault(key, []).insert(0, past)
        last[key] = told
    return found


def name_of(thing: str, key: str, values: Values) -> str:
    """Return what a thing is called."""
    if thing == "limits":
        return label_of(QUANTITIES, str(values.get("quantity", key)))
    name = str(values.get("name") or key)
    return f"{key} · {name}" if thing == "fryers" and name != key else name
