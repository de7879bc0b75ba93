"""Every address of the program, found in its own table of addresses, and filled in with what is there."""

from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import timedelta

from django.db import transaction
from django.urls import URLResolver, get_resolver, reverse

from kettlewell.bridge.standing import standing
from kettlewell.bridge.verdicts import record
from kettlewell.records.feeds import feed_make
from kettlewell.records.ids import uuid7
from kettlewell.records.kept_tables import table_keep
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
BOTTLE = {"name": "Reference oil", "tpc_pct": "18", "expanded_u_pct": "0.6"}
CHECK = {"meter": "hand", "lot": "bottle", "readings": ["15", "15", "15"], "oil_temp_c": "50"}
TAKEN = {"carrier": "A firm", "waste_code": "20 01 25"}
TABLE = b"Date;Fryer;TPM;Topped up\n03/04/2026;Frying 1;12,5;2\n04/04/2026;F1;65;2 kg\n05/04/2026;F1;zz;\n"
RECEIPT = b"%PDF-1.7 invented"
LATE = timedelta(days=2)
OF_VERDICTS = {"told", "settle"}
OF_CALLS = {"answer-call"}
OF_SETTLED = {"look-over"}
OF_COLLECTED = {"receipt", "erase"}
OF_CHECKS = {"meter-found", "look-back", "relied"}


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
        kinds = {
            "verdict": OF_VERDICTS,
            "call": OF_CALLS,
            "settled": OF_SETTLED,
            "collected": OF_COLLECTED,
            "check": OF_CHECKS,
        }
        return next((kind for kind, names in kinds.items() if self.name in names), "reading")


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
    """Write what every address shows: return what fills in a kitchen's addresses.

    A reading that a failed check of the meter calls in question, and what was done then; a further one with
    its verdict, a call, a hand-over of old oil with its receipt, a table brought in, and what was
    written down days late.
    """
    told = Told(id=uuid7(hand.now), kind="reading", happened_at=hand.now, payload=READING)
    call = replace(told, id=uuid7(hand.now), kind="call", payload={"fryer": "F1"})
    taken = replace(told, id=uuid7(hand.now), kind="collected", payload=TAKEN, private={"photo": RECEIPT})
    relied, check = failed_check(kitchen, hand)
    done = {"fryer": "F2", "verdict": str(relied.pk), "oil_done": "unknown", "food_done": "unknown"}
    settled = replace(told, id=uuid7(hand.now), kind="settled", payload=done)
    recorded = record(kitchen, told, hand)
    skimmed = {"fryer": "F2", "care": "skim"}
    late = replace(told, id=uuid7(hand.now), kind="care", payload=skimmed, happened_at=hand.now - LATE)
    record(kitchen, late, hand)
    return {
        "slug": kitchen.slug,
        "fryer": "F1",
        "kind": "top_up",
        "thing": "fryers",
        "key": "F1",
        "person": person.pk,
        "secret": feed_make(kitchen, "en", hand=hand),
        "device": device_add(kitchen, "By the fryers", hand=hand).pk,
        "relied": relied.pk,
        "check": check.pk,
        "reading": recorded.entry.pk,
        "verdict": recorded.verdict.pk,
        "call": record(kitchen, call, hand).entry.pk,
        "collected": record(kitchen, taken, hand).entry.pk,
        "table": table_keep(kitchen, hand.person, hand.now, name="old.csv", content=TABLE).pk,
        "settled": record(kitchen, settled, replace(hand, person=person)).entry.pk,
    }


def failed_check(kitchen, hand):
    """Write a reading that nobody doubts, and a check that finds the meter off; return verdict and check."""
    setting_add(kitchen, "reference_lots", "bottle", BOTTLE, hand=hand)

    def written(kind, payload, hours):
        at = hand.now - timedelta(hours=hours)
        told = Told(id=uuid7(hand.now), kind=kind, happened_at=at, payload=payload)
        return record(kitchen, told, hand)

    (bath,) = [one for one in standing(kitchen, hand.now).assessments if one.fryer == "F2"]
    as_believed = {**READING, "fryer": "F2", "tpc_pct": f"{bath.tpc_mean_pct:.1f}"}
    relied = written("reading", as_believed, 2)
    return relied.verdict, written("meter_check", CHECK, 1).entry


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
