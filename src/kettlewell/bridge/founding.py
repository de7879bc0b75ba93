"""Founding a kitchen: at the very first start of a server with its owner, later by somebody who is there."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.text import slugify

from kettlewell.bridge.known import TPC, is_judged_in, quantity_rule
from kettlewell.bridge.settings import NOTHING_JUDGES, SettingChange, settings_change
from kettlewell.records.first_start import check_set_up_code
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Kitchen, Person, Role
from kettlewell.records.people import SeatTerms, first_owner_add, seat_set
from kettlewell.records.selectors import slugs_like

SLUG_LENGTH = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class Founding:
    """A kitchen to be: its own settings, and its limit on polar compounds, % m/m, if it has one."""

    values: Mapping[str, Any]
    house_limit_pct: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstOwner:
    """The first person of a server, and the code that the server printed."""

    name: str
    sign_in: str
    password: str
    code: str


class RefusedOwnerError(ValidationError):
    """Why somebody cannot be the first owner, by field."""


def first_kitchen_found(founding: Founding, owner: FirstOwner, now: datetime) -> tuple[Kitchen, Person]:
    """Return the first kitchen of a server and its owner, both or none.

    Raises RefusedOwnerError by field for what is wrong with the owner or the code, or where somebody was
    quicker; ValidationError as ``kitchen_found`` does.
    """
    with transaction.atomic():
        try:
            check_set_up_code(owner.code)
            person = first_owner_add(sign_in=owner.sign_in, name=owner.name, password=owner.password)
        except ValidationError as error:
            raise RefusedOwnerError(error) from None
        return kitchen_found(founding, Hand(person=person, now=now)), person


def kitchen_found(founding: Founding, hand: Hand) -> Kitchen:
    """Return a new kitchen with its owner, settings and own limit; raises ValidationError by field."""
    if hand.person is None:
        raise ValueError("a kitchen is founded by somebody: its owner")
    place = founding.values.get("jurisdiction") or None
    if founding.house_limit_pct is None and not is_judged_in(place):
        raise ValidationError({"house_limit_pct": NOTHING_JUDGES})
    with transaction.atomic():
        kitchen = kitchen_begun(str(founding.values.get("name", "")), hand.person, hand)
        settings_change(kitchen, changes_of(founding), hand)
    return kitchen


def kitchen_begun(name: str, owner: Person, hand: Hand) -> Kitchen:
    """Return a new kitchen that has an owner and nothing else yet."""
    kitchen = Kitchen.objects.create(slug=free_slug(name))
    seat_set(kitchen, owner, SeatTerms(role=Role.OWNER), hand=hand)
    return kitchen


def changes_of(founding: Founding) -> list[SettingChange]:
    """Return what is set in a kitchen that is founded."""
    changes = [SettingChange(thing="kitchen", values=founding.values, new=True)]
    if founding.house_limit_pct is not None:
        direction, unit = quantity_rule(TPC)
        limit = {"quantity": TPC, "unfit_when": direction, "value": founding.house_limit_pct, "unit": unit}
        changes.append(SettingChange(thing="limits", key="house", values=limit, new=True))
    return changes


def free_slug(name: str) -> str:
    """Return a part of an address made from a name, that no kitchen has yet."""
    stem = slugify(name)[:SLUG_LENGTH].strip("-") or "kitchen"
    taken = slugs_like(stem)
    tried = (stem, *(f"{stem}-{number}" for number in range(2, len(taken) + 3)))
    return next(slug for slug in tried if slug not in taken)
