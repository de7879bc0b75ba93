"""Changing a kitchen's settings: the same for a form, a file and a script.

What is wrong is said by field. All changes are judged together, and written together or not at all.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kettlewell.bridge import replays
from kettlewell.bridge.known import TPC, is_judged_in
from kettlewell.bridge.setting_rules import check_values, free_key
from kettlewell.bridge.setups import check_setup
from kettlewell.records.kinds import plain
from kettlewell.records.ledger import Hand, check_counts_from, setting_add
from kettlewell.records.models import Kitchen
from kettlewell.records.selectors import is_spoken_of
from kettlewell.records.settings import Things, day_in, folded, set_after, settings_of, stood_at

NOTHING_JUDGES = gettext_lazy(
    "Nothing verified says here from when on oil is unfit: give a limit of your own."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingChange:
    """New values of a thing; None removes it.

    A ``new`` thing is one that the kitchen does not have; without a key it gets one from its name.
    """

    thing: str
    values: Mapping[str, Any] | None
    key: str = ""
    new: bool = False


class RefusedChangeError(ValidationError):
    """Why changes were not written, by field; ``number`` is which of them is at fault, from 0."""

    def __init__(self, error: ValidationError, number: int) -> None:
        """Keep fields, codes and texts of what is wrong."""
        super().__init__(error)
        self.number = number


def settings_change(
    kitchen: Kitchen,
    changes: Sequence[SettingChange],
    hand: Hand,
    *,
    counts_from: datetime | None = None,
) -> list[str]:
    """Write changes that count from a time on (None: from now), all or none; return the things' keys.

    They are judged by what stood at that time, and by what would stand now. What is as it was is not
    written again. Raises RefusedChangeError, a ValidationError by field, where a change cannot be, where
    it removes what is in use, where nothing would judge the oil, or where the things do not go together;
    ValidationError for a time that has not come.
    """
    check_counts_from(counts_from, hand.now)
    with transaction.atomic():
        row = Kitchen.objects.select_for_update().get(pk=kitchen.pk)
        before = after = stood_at(row, counts_from) if counts_from else settings_of(row)
        checked: list[SettingChange] = []
        for number, change in enumerate(changes):
            try:
                checked.append(judged(row, after, change, hand.now))
            except ValidationError as error:
                raise RefusedChangeError(error, number) from None
            after = changed(after, checked[-1])
        check_together(after, checked)
        if counts_from:
            check_together(folded(set_after(row, counts_from), after), checked)
        for change in checked:
            if before.get(change.thing, {}).get(change.key) != change.values:
                setting_add(
                    kitchen, change.thing, change.key, change.values, hand=hand, counts_from=counts_from
                )
        if counts_from:
            replays.told_late(kitchen, counts_from, hand.now)
    return [change.key for change in checked]


def judged(kitchen: Kitchen, things: Things, change: SettingChange, now: datetime) -> SettingChange:
    """Return a change with its key, its values as the day book keeps them; raises ValidationError."""
    if change.values is None:
        check_unused(kitchen, things, change.thing, change.key)
        return change
    if not change.new and change.key not in things.get(change.thing, {}):
        raise ValidationError(_("This is no longer set up here. Open the page anew."), code="gone")
    values = plain(change.values)
    check_values(change.thing, None if change.new else change.key, values, things=things)
    check_days(kitchen, change.thing, values, now)
    if not change.new:
        return replace(change, values=values)
    # a key that was given since is taken too, where a thing is to count from an earlier time
    known = {**settings_of(kitchen).get(change.thing, {}), **things.get(change.thing, {})}
    key = free_key(change.thing, change.key, values, {**things, change.thing: known})
    return replace(change, key=key, values=values)


def check_days(kitchen: Kitchen, thing: str, values: Mapping[str, Any], now: datetime) -> None:
    """Raise ValidationError for a bottle that was opened on a day that has not come in the kitchen."""
    opened = values.get("opened")
    if thing == "reference_lots" and opened and opened > day_in(kitchen, now).isoformat():
        raise ValidationError({"opened": _("This day has not come yet.")})


def changed(things: Things, change: SettingChange) -> Things:
    """Return the settings as they would be after a change."""
    of_thing = {key: values for key, values in things.get(change.thing, {}).items() if key != change.key}
    if change.values is not None:
        of_thing = {**things.get(change.thing, {}), change.key: dict(change.values)}
    return {**things, change.thing: of_thing}


def check_together(things: Things, changes: Sequence[SettingChange]) -> None:
    """Raise RefusedChangeError where settings make no kitchen, or nothing in them judges the oil."""
    try:
        check_setup(things)
    except ValidationError as error:
        services = [number for number, change in enumerate(changes) if change.thing == "services"]
        if getattr(error, "code", "") == "at_once" and services:
            raise RefusedChangeError(ValidationError({"to": error}), services[0]) from None
        raise RefusedChangeError(error, 0) from None
    if not has_own_limit(things) and not is_judged_in(place_of(things)):
        raise RefusedChangeError(ValidationError(NOTHING_JUDGES), 0)


def place_of(things: Things) -> str | None:
    """Return whose rules hold for a kitchen; None where it did not say."""
    return things.get("kitchen", {}).get("", {}).get("jurisdiction")


def has_own_limit(things: Things) -> bool:
    """Tell whether a kitchen has a limit of its own on polar compounds."""
    return any(limit.get("quantity") == TPC for limit in things.get("limits", {}).values())


def check_unused(kitchen: Kitchen, things: Things, thing: str, key: str) -> None:
    """Raise ValidationError where the day book or another thing names this one."""
    if is_spoken_of(kitchen, thing, key):
        if thing == "fryers":
            raise ValidationError(
                _("The day book speaks of this fryer, so it stays. Take it out of use instead."),
                code="in_use",
            )
        raise ValidationError(_("The day book speaks of it, so it stays. Give it another name if you like."))
    users = [name for name, values in things.get("fryers", {}).items() if key in named_by(thing, values)]
    if users:
        raise ValidationError(_("In use at: %(fryers)s. Change that first.") % {"fryers": ", ".join(users)})
    if thing == "oils" and any(lot.get("oil") == key for lot in things.get("reference_lots", {}).values()):
        raise ValidationError(_("A control oil is of this oil. Change that first."))
    services = things.get("services", {}).values()
    if thing == "fryers" and any(key in service.get("fryers", ()) for service in services):
        raise ValidationError(_("A service names this fryer. Change that first."))


def named_by(thing: str, fryer: Mapping[str, Any]) -> list[str]:
    """Return the keys of oils or foods that a fryer names."""
    if thing == "oils":
        return [str(fryer.get("oil", ""))]
    return list(fryer.get("fries", ())) if thing == "products" else []
