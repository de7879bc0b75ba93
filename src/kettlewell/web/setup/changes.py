"""Changing a kitchen's settings: checked as a whole, then written; refused where the day book needs them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from kettlewell.records.kinds import plain
from kettlewell.records.ledger import Hand, setting_add
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.settings import Things, settings_of
from kettlewell.web.setup.base_forms import ThingForm
from kettlewell.web.setup.known import check

SPOKEN_OF = {
    "oils": (("change", "oil"), ("comparison", "oil")),
    "products": (("load", "product"),),
    "meters": (
        ("reading", "meter"),
        ("meter_check", "meter"),
        ("meter_order", "meter"),
        ("comparison", "meter"),
        ("comparison", "against"),
    ),
    "reference_lots": (("meter_check", "lot"),),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """New values of a thing; None removes it."""

    thing: str
    key: str
    values: dict[str, Any] | None


def changes_write(kitchen: Kitchen, changes: Iterable[Change], hand: Hand) -> None:
    """Write the changes, all or none.

    Raises ValidationError where they make no kitchen together, or remove what is in use. What is as it
    was is not written again.
    """
    with transaction.atomic():
        row = Kitchen.objects.select_for_update().get(pk=kitchen.pk)
        things = settings_of(row)
        real = [change for change in changes if things.get(change.thing, {}).get(change.key) != kept(change)]
        for change in real:
            if change.values is None:
                check_unused(row, change.thing, change.key)
        check(changed(things, real))
        for change in real:
            setting_add(kitchen, change.thing, change.key, change.values, hand=hand)


def refuse(form: ThingForm, error: ValidationError) -> None:
    """Say in a form why its change was not written, beside the hours where they are the reason."""
    form.add_error("to" if getattr(error, "code", "") == "at_once" and "to" in form.fields else None, error)


def kept(change: Change) -> Any:  # noqa: ANN401 - JSON
    """Return values as the day book keeps them."""
    return None if change.values is None else plain(change.values)


def changed(things: Things, changes: Iterable[Change]) -> Things:
    """Return the settings as they would be."""
    after = {thing: dict(of_thing) for thing, of_thing in things.items()}
    for change in changes:
        of_thing = after.setdefault(change.thing, {})
        of_thing.pop(change.key, None) if change.values is None else of_thing.update(
            {change.key: kept(change)}
        )
    return after


def check_unused(kitchen: Kitchen, thing: str, key: str) -> None:
    """Raise ValidationError where the day book or another thing names this one."""
    things = settings_of(kitchen)
    entries = Entry.objects.filter(kitchen=kitchen)
    if thing == "fryers" and entries.filter(Q(fryer=key) | Q(kind="move", payload__into=key)).exists():
        raise ValidationError(
            _("The day book speaks of this fryer, so it stays. Take it out of use instead."), code="in_use"
        )
    if any(
        entries.filter(kind=kind, **{f"payload__{field}": key}).exists()
        for kind, field in SPOKEN_OF.get(thing, ())
    ):
        raise ValidationError(_("The day book speaks of it, so it stays. Give it another name if you like."))
    users = [name for name, values in things.get("fryers", {}).items() if key in named_by(thing, values)]
    if users:
        raise ValidationError(_("In use at: %(fryers)s. Change that first.") % {"fryers": ", ".join(users)})
    if thing == "fryers" and any(key in one.get("fryers", ()) for one in things.get("services", {}).values()):
        raise ValidationError(_("A service names this fryer. Change that first."))


def named_by(thing: str, fryer: Mapping[str, Any]) -> list[str]:
    """Return the keys of oils or foods that a fryer names."""
    if thing == "oils":
        return [str(fryer.get("oil", ""))]
    return list(fryer.get("fries", ())) if thing == "products" else []
