"""The invented canteen of Marrowby ferry terminal, brought into the day book."""

import secrets
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from kettlewell.book import AtMeter, Entry
from kettlewell.book.kinds import KINDS
from kettlewell.book.settings import DAYS
from kettlewell.bridge.folder_settings import things_bring, things_of
from kettlewell.bridge.folders import told_of
from kettlewell.bridge.verdicts import record
from kettlewell.folder import MARROWBY, Folder, read_folder
from kettlewell.folder.checks import weekdays
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, entry_add
from kettlewell.records.models import Kitchen, Person, Role
from kettlewell.records.people import SeatTerms, person_add, seat_set
from kettlewell.records.settings import Things
from kettlewell.telling import N_

Say = Callable[[str], str]

SLUG = "marrowby"
NAMED = ("name", "reason")
# as kitchen.toml has them
NAMES = (
    N_("Marrowby ferry terminal"),
    N_("Rapeseed oil"),
    N_("High-oleic sunflower oil"),
    N_("Sunflower oil"),
    N_("Frozen fries"),
    N_("Battered fish"),
    N_("Breaded chicken"),
    N_("Doughnuts"),
    N_("Vegetables in batter"),
    N_("Fries"),
    N_("Fish"),
    N_("Chicken"),
    N_("Vegetables"),
    N_("Hand meter"),
    N_("Lot R18"),
    N_("Breakfast"),
    N_("Lunch"),
    N_("Dinner"),
    N_("Rule of the house: no number was found in law"),
)
HOUR = timedelta(hours=1)
INSPECTED_DAYS = 14
TOLD_FOR = timedelta(days=17)  # the verdicts, too, that rested on the meter before it was found off
DATES = ("in_use_since", "opened", "best_before")
CALLED_TO = "F2"
NOTED_TWICE = N_("Noted twice")
FOAMED = N_("It foamed at the end of service. Please look at it.")
# invented for the demo
CAST = (
    ("owner", N_("Ada Brook"), Role.OWNER, True),
    ("cook", N_("Ben Carr"), Role.COOK, True),
    ("porter", N_("Cleo Dunn"), Role.COOK, False),
    ("area", N_("Dov Ellis"), Role.AREA_MANAGER, False),
    ("inspector", N_("Edda Fox"), Role.INSPECTOR, False),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoPerson:
    """Someone who can look around in the demo."""

    name: str
    sign_in: str
    role: Role
    password: str
    pin: str


def demo_kitchen(now: datetime, say: Say = str) -> tuple[Kitchen, list[DemoPerson]]:
    """Return Marrowby with its people, its log moved by whole days so that it runs up to now.

    ``say`` tells the names of place, people and things in a reader's language.

    On the last day of its log each verdict stands somewhere at every hour.
    """
    folder = read_folder(MARROWBY)
    moved = days_to(folder, now)
    entries = moved_up_to(folder, moved, now)
    with transaction.atomic():
        kitchen = Kitchen.objects.create(slug=SLUG)
        people = list(cast(say))
        hand = Hand(person=Person.objects.get(sign_in=CAST[0][0]), now=entries[0].at - HOUR)
        things = moved_things(things_of(folder.setup), moved, say)
        things_bring(kitchen, {}, things, hand, counts_from=hand.now)
        for person in people:
            ends_on = (now + timedelta(days=INSPECTED_DAYS)).date() if person.role == Role.INSPECTOR else None
            trained = next(trained for key, _, _, trained in CAST if key == person.sign_in)
            terms = SeatTerms(role=person.role, ends_on=ends_on, trained_to_drain=trained)
            seat_set(kitchen, Person.objects.get(sign_in=person.sign_in), terms, hand=hand)
        cooks = [Person.objects.get(sign_in=key) for key in ("owner", "cook", "porter")]
        bring_entries(kitchen, entries, cooks, told_from=now - TOLD_FOR)
        bring_today(kitchen, cooks[-1], now, say)
    return kitchen, people


def moved_things(things: Things, moved_by: timedelta, say: Say) -> Things:
    """Return settings moved by whole days, their names and reasons as a reader is told."""
    return {
        thing: {key: renamed(moved_row(values, moved_by), say) for key, values in of_thing.items()}
        for thing, of_thing in things.items()
    }


def renamed(row: Mapping[str, Any], say: Say) -> dict[str, Any]:
    """Return one table with its name and reason as a reader is told them."""
    return {name: say(value) if name in NAMED else value for name, value in row.items()}


def cast(say: Say) -> Iterator[DemoPerson]:
    """Yield the people of the demo, with passwords drawn anew."""
    for key, name, role, _trained in CAST:
        password = secrets.token_hex(6)
        pin = "".join(secrets.SystemRandom().sample("0123456789", 4))
        person_add(sign_in=key, name=say(name), password=password, pin=pin)
        yield DemoPerson(name=say(name), sign_in=key, role=role, password=password, pin=pin)


def days_to(folder: Folder, now: datetime) -> timedelta:
    """Return the whole days by which the last day of a log comes to be today, where the kitchen stands."""
    zone = ZoneInfo(folder.setup.kitchen.timezone)
    last = max(entry.at for entry in folder.log.entries)
    return now.astimezone(zone).date() - last.astimezone(zone).date()


def moved_up_to(folder: Folder, moved_by: timedelta, now: datetime) -> list[Entry]:
    """Return a log's entries moved by whole days, in local time, without those still to come."""
    zone = ZoneInfo(folder.setup.kitchen.timezone)
    moved = (
        replace(entry, at=(entry.at.astimezone(zone).replace(tzinfo=None) + moved_by).replace(tzinfo=zone))
        for entry in folder.log.entries
    )
    return sorted((entry for entry in moved if entry.at <= now), key=lambda entry: entry.at)


def moved_row(row: Mapping[str, Any], moved_by: timedelta) -> dict[str, Any]:
    """Return a row of a kitchen.toml with its dates and its days of the week moved by whole days."""
    moved: dict[str, Any] = {name: date.fromisoformat(row[name]) + moved_by for name in DATES if name in row}
    if "days" in row:
        falls = sorted((day + moved_by.days) % len(DAYS) for day in weekdays(row["days"]))
        moved["days"] = [DAYS[day] for day in falls]
    return {**row, **moved}


def bring_entries(
    kitchen: Kitchen, entries: list[Entry], people: list[Person], *, told_from: datetime
) -> None:
    """Write a log's entries, as if each had been told when it happened, by one of these people.

    From a time on the verdicts are written too that followed from what was measured or noticed.
    """
    for number, entry in enumerate(entries):
        told = told_of(replace(entry, person=None), "", entry.at)
        hand = Hand(person=people[number % len(people)], now=entry.at)
        told_at_once = KINDS[told.kind].always_told or isinstance(entry, AtMeter)
        if told_at_once and entry.at >= told_from:
            record(kitchen, told, hand)
        else:
            entry_add(kitchen, told, hand)


def bring_today(kitchen: Kitchen, porter: Person, now: datetime, say: Say) -> None:
    """Write what a log does not hold: a top-up noted twice and undone, and a call for the chef."""
    last = kitchen.entries.filter(kind="top_up").latest("at")
    twice = Told(id=uuid7(last.at), kind="top_up", happened_at=last.at, payload=last.payload)
    undone = Told(
        id=uuid7(last.at),
        kind="undone",
        happened_at=last.at,
        payload={},
        private={"reason": say(NOTED_TWICE).encode()},
        replaces=twice.id,
    )
    call = Told(
        id=uuid7(now),
        kind="call",
        happened_at=now,
        payload={"fryer": CALLED_TO},
        private={"note": say(FOAMED).encode()},
    )
    for told in (twice, undone, call):
        entry_add(kitchen, told, Hand(person=porter, now=now))
