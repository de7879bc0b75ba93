"""The form that asks for an entry, with what stands in the kitchen now."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Unpack

from django.http import QueryDict

from kettlewell.book.setup import Setup
from kettlewell.bridge.meters import meters_at_hand
from kettlewell.bridge.setups import setup_of
from kettlewell.records.access import MAY, Act, lasts
from kettlewell.records.models import Role
from kettlewell.records.roster import people_of
from kettlewell.web.common import Visit
from kettlewell.web.entry.forms import FORMS as AT_FRYERS
from kettlewell.web.entry.forms import OnScreen, Place
from kettlewell.web.entry.kitchen_forms import CollectedForm, RecallForm, ReviewForm, TrainingForm
from kettlewell.web.entry.meter_forms import CheckForm, ReliedForm
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.settling_forms import ComplaintForm, ReviewedForm, SettledForm

FORMS: dict[str, type[OnScreen]] = {
    **AT_FRYERS,
    "complaint": ComplaintForm,
    "settled": SettledForm,
    "reviewed": ReviewedForm,
    "review": ReviewForm,
    "recall": RecallForm,
    "training": TrainingForm,
    "collected": CollectedForm,
    "meter_check": CheckForm,
    "relied": ReliedForm,
}


def form_of(
    kind: str,
    visit: Visit,
    fryer: str,
    *,
    sent: QueryDict | None,
    initial: Mapping[str, object],
    **place: Unpack[Place],
) -> OnScreen:
    """Return the form for a kind of entry, with what was ``sent`` or else its ``initial`` values.

    ``place`` tells it apart from other forms on its page.
    """
    initial = {**usual(kind, visit, sent), **initial}
    return FORMS[kind](
        sent,
        initial=initial,
        setup=in_use_first(visit) if "meter" in FORMS[kind].base_fields else setup_of(visit.kitchen),
        fryer=fryer,
        people=people_named(kind, visit, initial),
        **place,
    )


def in_use_first(visit: Visit) -> Setup:
    """Return the kitchen's settings, its meters in use before those out of use."""
    setup = setup_of(visit.kitchen)
    if len(setup.kitchen.meters) < 2:
        return setup
    out = {at_hand.meter.key for at_hand in meters_at_hand(visit.kitchen) if not at_hand.in_use}
    meters = tuple(sorted(setup.kitchen.meters, key=lambda meter: meter.key in out))
    return replace(setup, kitchen=replace(setup.kitchen, meters=meters))


def usual(kind: str, visit: Visit, sent: QueryDict | None) -> dict[str, str]:
    """Return who is named unless another is: who writes, if trained to drain."""
    own = str(visit.hand.person.pk) if visit.hand.person else ""
    asked = sent is None and "drained_by" in FORMS[kind].base_fields
    return {"drained_by": own} if asked and own in drainers(visit) else {}


def people_named(kind: str, visit: Visit, initial: Mapping[str, object]) -> list[tuple[str, str]]:
    """Return by id and name who can be named in an entry, and who was named, though gone since."""
    field = next((name for name in OFFERED if name in FORMS[kind].base_fields), None)
    if field is None:
        return []
    found = OFFERED[field](visit)
    if (named := initial.get(field)) and str(named) not in found:
        found[str(named)] = names_of(visit.kitchen).of("people", str(named))
    return list(found.items())


def drainers(visit: Visit) -> dict[str, str]:
    """Return by id and name who works here and is trained to drain."""
    return {
        str(seat.person_id): str(seat.person)
        for seat in people_of(visit.kitchen)
        if seat.trained_to_drain and lasts(seat, visit.now)
    }


def at_work(visit: Visit) -> dict[str, str]:
    """Return by id and name who writes in the day book here."""
    return {
        str(seat.person_id): str(seat.person)
        for seat in people_of(visit.kitchen)
        if Act.RECORD in MAY[Role(seat.role)] and lasts(seat, visit.now)
    }


OFFERED = {"drained_by": drainers, "trained": at_work}
