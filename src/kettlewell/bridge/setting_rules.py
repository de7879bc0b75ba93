"""What a setting may be, thing by thing: every refusal names its field.

What is said here is said by whoever sets a thing. How far numbers go is as in a kitchen's file; what
is left, whether all things together make a kitchen, is judged in ``setups.check_setup``.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.text import slugify
from django.utils.translation import gettext_lazy as _

from kettlewell.book import Draining, FoodKind, OilKind, Protection
from kettlewell.book.letters import LONGEST_TEXT, is_blank, unseen_in
from kettlewell.book.likely import most_usual_load_kg
from kettlewell.book.setup import USUAL_RECORDS_MONTHS
from kettlewell.bridge.known import assumed, spans_of
from kettlewell.folder import squeezed
from kettlewell.records.numbers import NumberField
from kettlewell.records.settings import Things

Values = Mapping[str, Any]
Refusal = tuple[str, Any]
Rule = Callable[[Values, Things], Iterator[Refusal]]

KEY_LENGTH = 40
MARK = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]*")
MARK_LENGTH = 20
REQUIRED = forms.Field.default_error_messages["required"]
NO_CHOICE = forms.ChoiceField.default_error_messages["invalid_choice"]
NEEDED = {
    "kitchen": ("name", "timezone"),
    "oils": ("name",),
    "products": ("name",),
    "fryers": ("name", "oil", "oil_mass_kg"),
    "meters": ("name",),
    "reference_lots": ("name", "tpc_pct", "expanded_u_pct"),
    "services": ("name", "days", "from", "to"),
    "limits": ("quantity", "unfit_when", "value", "unit"),
}
KINDS = {
    ("oils", "kind"): [kind.value for kind in OilKind],
    ("products", "kind"): [kind.value for kind in FoodKind],
    ("fryers", "draining"): [draining.value for draining in Draining],
    ("fryers", "protected"): [protection.value for protection in Protection],
}
# a field that names other things of the kitchen, and of which sort they are
NAMES = {
    ("fryers", "oil"): "oils",
    ("fryers", "fries"): "products",
    ("services", "fryers"): "fryers",
    ("reference_lots", "oil"): "oils",
}
NAMED = ("oils", "products", "fryers", "meters", "reference_lots")


def check_values(thing: str, key: str | None, values: Values, *, things: Things) -> None:
    """Raise ValidationError, by field, for values a thing cannot have; ``key`` None: it is new."""
    if thing not in NEEDED:
        raise ValidationError(_("There is no such thing to set."))
    refused: dict[str, list[Any]] = {}
    for field, refusal in refusals(thing, key, values, things):
        refused.setdefault(field, []).append(refusal)
    if refused:
        raise ValidationError(refused)


def refusals(thing: str, key: str | None, values: Values, things: Things) -> Iterator[Refusal]:
    """Yield what is wrong with the values of a thing."""
    wrong = [*lacking(thing, values), *numbers_wrong(thing, values), *unknown(thing, values, things)]
    wrong += illegible(values)
    yield from wrong
    if thing in NAMED and squeezed(str(values.get("name", ""))) in words_taken(thing, key, things):
        yield "name", _("Another one is called so, or nearly so: choose another name.")
    if not wrong and thing in RULES:
        yield from RULES[thing](values, things)


def lacking(thing: str, values: Values) -> Iterator[Refusal]:
    """Yield what has to be said and is not."""
    for name in NEEDED[thing]:
        if values.get(name) in (None, "", []):
            yield name, REQUIRED


def numbers_wrong(thing: str, values: Values) -> Iterator[Refusal]:
    """Yield what is no number, or lies further than it may."""
    for name, span in spans_of(thing).items():
        field = NumberField(required=False, max_digits=9)
        field.keep_within(span.low, span.high, above=span.above)
        try:
            field.clean(values.get(name))
        except ValidationError as error:
            yield name, error


def illegible(values: Values) -> Iterator[Refusal]:
    """Yield what nobody can see, or read to its end."""
    for name, value in values.items():
        for text in value if isinstance(value, list | tuple) else [value]:
            if not isinstance(text, str):
                continue
            if unseen_in(text) or (text and is_blank(text)):
                yield name, _("This holds letters that cannot be seen: type it again.")
            elif len(text) > LONGEST_TEXT:
                yield name, _("This is too long: shorten it.")


def unknown(thing: str, values: Values, things: Things) -> Iterator[Refusal]:
    """Yield what is none of the choices there are."""
    offered = {name: choices for (of, name), choices in KINDS.items() if of == thing}
    offered |= {name: list(things.get(sort, {})) for (of, name), sort in NAMES.items() if of == thing}
    for name, choices in offered.items():
        chosen = values.get(name) or []
        for choice in chosen if isinstance(chosen, list | tuple) else [chosen]:
            if choice not in choices:
                yield name, ValidationError(NO_CHOICE, code="invalid_choice", params={"value": choice})


def fryer_rules(values: Values, _things: Things) -> Iterator[Refusal]:
    """Yield what is wrong with a bath as a whole."""
    lowest = values.get("minimum_mass_kg")
    if lowest and Decimal(lowest) > Decimal(values["oil_mass_kg"]):
        yield "minimum_mass_kg", _("This must lie below the cold-fill mark.")
    standby_c, set_c = values.get("standby_temp_c"), values.get("set_temp_c")
    if standby_c and float(standby_c) > float(set_c or assumed("fryers", values)["set_temp_c"]):
        yield "standby_temp_c", _("This lies above the set temperature.")
    if float(values.get("usual_load_kg") or 0) > most_usual_load_kg(float(values["oil_mass_kg"])):
        yield "usual_load_kg", _("That is more than this bath can fry in a service. Check it.")


def meter_rules(values: Values, _things: Things) -> Iterator[Refusal]:
    """Yield what is wrong with a meter that may be read in no oil; usual values stand for those not given."""
    whole = assumed("meters", values) | {name: value for name, value in values.items() if value}
    if float(whole["min_oil_temp_c"]) >= float(whole["max_oil_temp_c"]):
        yield "max_oil_temp_c", _("This lies below the coldest.")


def kitchen_rules(values: Values, _things: Things) -> Iterator[Refusal]:
    """Yield what would be erased before the kitchen may, and an address that is none."""
    least = float(values.get("records_months") or USUAL_RECORDS_MONTHS)
    for name in ("notes_months", "photos_months", "names_months"):
        if (months := values.get(name)) and float(months) < least:
            yield name, _("Records are kept longer than that: this may not be shorter.")
    if address := values.get("check_code_to"):
        try:
            validate_email(address)
        except ValidationError as error:
            yield "check_code_to", error


def lot_rules(values: Values, _things: Things) -> Iterator[Refusal]:
    """Yield what is wrong with a bottle that was opened when it was no longer good."""
    opened, best_before = values.get("opened"), values.get("best_before")
    if opened and best_before and opened > best_before:
        yield "opened", _("This lies after “best before”: correct one of the two.")


def service_rules(values: Values, _things: Things) -> Iterator[Refusal]:
    """Yield what is wrong with a service of no length; one may end on the next day."""
    if values["from"] == values["to"]:
        yield "to", _("It ends when it begins: give another time.")


RULES: Mapping[str, Rule] = {
    "kitchen": kitchen_rules,
    "fryers": fryer_rules,
    "meters": meter_rules,
    "reference_lots": lot_rules,
    "services": service_rules,
}


def free_key(thing: str, key: str, values: Values, things: Things) -> str:
    """Return the key of a new thing: the one it was given, or one made from its name.

    Raises ValidationError for one that is another thing's, or that no fryer can be marked with.
    """
    if thing == "kitchen":
        return ""
    taken = words_taken(thing, None, things)
    if not key and thing != "fryers":
        stem = slugify(str(values.get("name") or values.get("quantity", "")))[: KEY_LENGTH - 4]
        tried = stem or thing.rstrip("s")
        keys = (tried, *(f"{tried}-{number}" for number in range(2, len(taken) + 3)))
        return next(free for free in keys if squeezed(free) not in taken)
    if not MARK.fullmatch(key) or len(key) > (MARK_LENGTH if thing == "fryers" else KEY_LENGTH):
        raise ValidationError({"key": _("Use letters and digits only, without spaces.")})
    if squeezed(key) in taken:
        raise ValidationError(
            {
                "key": _("Another fryer has this number.")
                if thing == "fryers"
                else _("Another thing has this key.")
            }
        )
    return key


def words_taken(thing: str, key: str | None, things: Things) -> set[str]:
    """Return what the other things of a sort answer to, by key and name."""
    others = {other: values for other, values in things.get(thing, {}).items() if other != key}
    return {
        squeezed(word) for other, values in others.items() for word in (other, values.get("name") or other)
    }
