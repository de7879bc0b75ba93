"""Every address of the program, found in its own table of addresses, and filled in with what is there."""

from contextlib import contextmanager
from dataclasses import dataclass, replace

from django.db import transaction
from django.urls import URLResolver, get_resolver, reverse

from kettlewell import bridge
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, setting_add
from kettlewell.records.models import Kitchen, Role
from kettlewell.records.people import SeatTerms, device_add, seat_set
from kettlewell.records.settings import settings_of

READING = {
    "fryer": "F1",
    "tpc_pct": "25",
    "no_food": "yes",
    "no_bubbles": "yes",
    "probe_clear": "yes",
    "steady": "yes",
}
OF_VERDICTS = {"told", "settle"}
OF_CALLS = {"answer-call"}


@dataclass(frozen=True)
class Address:
    """An address by its name, and what has to be filled in."""

    name: str
    fields: tuple[str, ...]

    def at(self, ids):
        """Return the path with the ids of a kitchen filled in."""
        known = {**ids, "entry": ids[self.entry_kind]}
        return reverse(self.name, kwargs={field: known[field] for field in self.fields})

    @property
    def entry_kind(self):
        return "verdict" if self.name in OF_VERDICTS else "call" if self.name in OF_CALLS else "reading"


def addresses(resolver=None):
    """Return every address of the program."""
    found = []
    for pattern in (resolver or get_resolver()).url_patterns:
        if isinstance(pattern, URLResolver):
            found += addresses(pattern)
        else:
            found.append(Address(pattern.name, tuple(pattern.pattern.converters)))
    return found


def ids_of(kitchen, person, hand):
    """Write a reading with its verdict and a call; return what fills in a kitchen's addresses."""
    told = Told(id=uuid7(hand.now), kind="reading", happened_at=hand.now, payload=READING)
    recorded = bridge.record(kitchen, told, hand)
    call = replace(told, id=uuid7(hand.now), kind="call", payload={"fryer": "F1"})
    return {
        "slug": kitchen.slug,
        "fryer": "F1",
        "kind": "top_up",
        "thing": "fryers",
        "key": "F1",
        "person": person.pk,
        "device": device_add(kitchen, "By the fryers").pk,
        "reading": recorded.entry.pk,
        "verdict": recorded.verdict.pk,
        "call": bridge.record(kitchen, call, hand).entry.pk,
    }


def second_kitchen(kitchen, owner, now):
    """Return a kitchen set up as another one is, with an owner of its own."""
    second = Kitchen.objects.create(slug="second")
    hand = Hand(person=owner, now=now)
    seat_set(second, owner, SeatTerms(role=Role.OWNER), hand=hand)
    for thing, of_thing in settings_of(kitchen).items():
        for key, values in of_thing.items():
            if thing != "people":
                setting_add(second, thing, key, values, hand=hand)
    return second


@contextmanager
def undone():
    """Leave the database as it was."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
