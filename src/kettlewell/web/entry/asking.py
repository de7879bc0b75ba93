"""The form that asks for an entry, with what stands in the kitchen now."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Unpack

from django.http import QueryDict

from kettlewell.book.setup import Setup
from kettlewell.bridge.meters import meters_at_hand
from kettlewell.bridge.setups import setup_of
from kettlewell.records.access import lasts
from kettlewell.records.roster import people_of
from kettlewell.web.common import Visit
from kettlewell.web.entry.forms import FORMS as AT_FRYERS
from kettlewell.web.entry.forms import OnScreen, Place
from kettlewell.web.entry.kitchen_forms import RecallForm, ReviewForm
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
    offered = drainers(visit, initial) if "drained_by" in FORMS[kind].base_fields else ()
    own = str(visit.hand.person.pk) if visit.hand.person else ""
    if own in dict(offered) and sent is None:
        initial = {"drained_by": own, **initial}
    return FORMS[kind](
        sent,
        initial=initial,
        setup=in_use_first(visit) if "meter" in FORMS[kind].base_fields else setup_of(visit.kitchen),
        fryer=fryer,
        drainers=offered,
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


def drainers(visit: Visit, initial: Mapping[str, object]) -> list[tuple[str, str]]:
    """Return by id and name who works here and is trained to drain, and who was named, though gone since."""
    found = {
        str(seat.person_id): str(seat.person)
        for seat in people_of(visit.kitchen)
        if seat.trained_to_drain and lasts(seat, visit.now)
    }
    if (named := initial.get("drained_by")) and named not in found:
        found[str(named)] = names_of(visit.kitchen).of("people", str(named))
    return list(found.items())
