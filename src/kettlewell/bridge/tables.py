"""Bringing a table of any columns into the day book: tried first, then all good rows at once."""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction

from kettlewell.book import AtFryer
from kettlewell.book.likely import unlikely
from kettlewell.book.payloads import value_of
from kettlewell.book.words import Message, ToldError
from kettlewell.bridge import replays
from kettlewell.bridge.door import impossible, mass_of, slip_error
from kettlewell.bridge.setups import setup_of
from kettlewell.bridge.verdicts import tell_of
from kettlewell.folder import Setup
from kettlewell.records.access import MAY, Act, lasts
from kettlewell.records.checks import check_time
from kettlewell.records.ids import uuid7, uuid7_of
from kettlewell.records.ledger import BookMovedError, Hand, Told, entries_add, entries_there, entry_checked
from kettlewell.records.models import Entry, Kitchen, Role, Seat
from kettlewell.records.selectors import files_brought_in, written_in_minutes
from kettlewell.records.settings import settings_of, zone_of
from kettlewell.tables.apply import Told as Row
from kettlewell.tables.apply import applied
from kettlewell.tables.guess import Guess, guess, with_fryers
from kettlewell.tables.place import Place
from kettlewell.tables.reading import read_sheet
from kettlewell.tables.recipe import Recipe, plain_recipe, recipe_of
from kettlewell.tables.sheets import Problem, Sheet

KINDS_BROUGHT_IN = ("reading", "top_up", "change")
MOST_RECIPES = 20  # of the last tables: a kitchen has one or two sorts of them
Said = tuple[str, str, datetime, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """What would come of a table: what is new of it, how much the day book has already, what cannot be.

    ``unlikely`` counts the problems that are none where somebody is sure.
    """

    told: tuple[Told, ...]
    there: int
    problems: tuple[Problem, ...]
    unlikely: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """What came of a table; ``entry`` says so in the day book, ``verdicts`` for now by fryer end it."""

    trial: Trial
    entry: Entry | None
    verdicts: Mapping[str, Entry]


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A table as it was read, in a kitchen, and how it is guessed that it is to be read."""

    sheet: Sheet
    place: Place
    guess: Guess


def table_opened(
    kitchen: Kitchen, content: bytes, *, name: str = "", recipe: Mapping[str, Any] | None = None
) -> Opened:
    """Return a sheet of a file, and how it is read: as somebody said, as before, or as is guessed.

    Raises TableError for a file that no table can be read from.
    """
    place, sheet = place_in(kitchen), read_sheet(content, sheet=name)
    if recipe is None:
        return Opened(sheet=sheet, place=place, guess=guess(sheet, place, recipes_kept(kitchen)))
    told = with_fryers(recipe_of(recipe), sheet, place, doubtful=frozenset())
    return Opened(sheet=sheet, place=place, guess=told)


def place_in(kitchen: Kitchen) -> Place:
    """Return what a table's words may point at in a kitchen."""
    things = settings_of(kitchen)
    names = {
        thing: {key: str(values.get("name") or key) for key, values in things.get(thing, {}).items()}
        for thing in ("fryers", "meters")
    }
    return Place(fryers=names["fryers"], meters=names["meters"], zone=zone_of(kitchen))


def recipes_kept(kitchen: Kitchen) -> Iterator[Recipe]:
    """Yield how the last tables of a kitchen were read, the newest first."""
    for entry in files_brought_in(kitchen).filter(payload__has_key="recipe")[:MOST_RECIPES]:
        yield recipe_of(entry.payload["recipe"])


def table_tried(
    kitchen: Kitchen, recipe: Recipe, sheet: Sheet, now: datetime, *, sure: bool = False
) -> Trial:
    """Return what would come of a table, and write nothing.

    ``sure`` says that what looks like a slip of the pen is right. Raises TableError for a recipe that
    says nothing of any row.
    """
    found = applied(recipe, sheet, place_in(kitchen))
    problems = list(found.problems)
    rows, there = unsaid(kitchen, found.told)
    setup = setup_of(kitchen)
    candidates: list[tuple[Row, Told]] = []
    slips = 0
    for row in rows:
        try:
            told = told_of(kitchen, row, setup, now)
            if not sure:
                check_slip(told, setup)
            candidates.append((row, told))
        except (ValidationError, ToldError) as error:
            problems.append(problem(row, error))
            slips += getattr(error, "code", "") == "unlikely"
    refused = impossible(kitchen, [value(told, place) for place, (_, told) in enumerate(candidates)])
    for place, (row, _told) in enumerate(candidates):
        if why := refused.get(str(place)):
            problems.append(problem(row, why))
    return Trial(
        told=tuple(told for place, (_, told) in enumerate(candidates) if str(place) not in refused),
        there=there,
        problems=tuple(sorted(problems, key=lambda each: each.line)),
        unlikely=slips,
    )


def table_bring_in(
    kitchen: Kitchen, recipe: Recipe, sheet: Sheet, hand: Hand, *, digest: str, sure: bool = False
) -> Brought:
    """Write all good rows of a table at once, and that they came from it; then tell what stands now.

    ``digest`` is the SHA-256 of the file. What the day book has already is passed by. Raises as
    ``table_tried`` does, and PermissionDenied for who may not set up the kitchen.
    """
    check_may(kitchen, hand)
    while True:
        kitchen.refresh_from_db()
        trial, seq = table_tried(kitchen, recipe, sheet, hand.now, sure=sure), kitchen.head_seq
        if not trial.told:
            return Brought(trial=trial, entry=None, verdicts={})
        told = (*trial.told, so_said(seq, len(trial.told), recipe, digest, hand.now))
        checked = [entry_checked(each) for each in told]  # before anybody has to wait for this to end
        with suppress(BookMovedError), transaction.atomic():
            *entries, last = entries_add(kitchen, checked, hand, after_seq=seq)
            replays.told_late(kitchen, min(each.at for each in entries), hand.now)
            break
    newest = {each.fryer: each for each in sorted(entries, key=lambda each: (each.at, each.seq))}
    return Brought(trial=trial, entry=last, verdicts=tell_of(kitchen, newest, hand))


def check_may(kitchen: Kitchen, hand: Hand) -> None:
    """Raise PermissionDenied for somebody who may not set up a kitchen; the program itself may."""
    if hand.person is None:
        return
    seat = Seat.objects.filter(kitchen=kitchen, person=hand.person).first()
    if seat is None or not lasts(seat, hand.now) or Act.SET_UP not in MAY[Role(seat.role)]:
        raise PermissionDenied


def so_said(seq: int, number: int, recipe: Recipe, digest: str, now: datetime) -> Told:
    """Return that so many entries after a number came from a table, and how it was read.

    The next table like it asks nothing.
    """
    payload: dict[str, Any] = {
        "first": str(seq + 1),
        "last": str(seq + number),
        "digest": digest,
        "recipe": plain_recipe(recipe),
    }
    return Told(id=uuid7(now), kind="imported", happened_at=now, payload=payload)


def digest_of(content: bytes) -> str:
    """Return the SHA-256 of a file."""
    return hashlib.sha256(content).hexdigest()


def unsaid(kitchen: Kitchen, rows: Sequence[Row]) -> tuple[list[Row], int]:
    """Return the rows that say something new, each once, and how many do not.

    What was corrected or undone since does not come back either.
    """
    if not rows:
        return [], 0
    times = [row.at for row in rows]
    written = written_in_minutes(kitchen, KINDS_BROUGHT_IN, min(times), max(times) + timedelta(minutes=1))
    seen = {said(kind, at.replace(second=0, microsecond=0), payload) for kind, at, payload in written}
    ids = {said(row.kind, row.at, row.payload): id_of(kitchen, row) for row in rows}
    taken = entries_there(list(ids.values()))
    seen |= {key for key, told in ids.items() if told in taken}
    new: list[Row] = []
    for row in rows:
        if (key := said(row.kind, row.at, row.payload)) not in seen:
            seen.add(key)
            new.append(row)
    return new, len(rows) - len(new)


def said(kind: str, at: datetime, payload: Mapping[str, Any]) -> Said:
    """Return by what a row is known again: what it is, where, when, and its figure."""
    figure = payload.get("tpc_pct") or "".join(str(payload.get(name, "")) for name in ("amount", "unit"))
    return kind, str(payload["fryer"]), at, figure


def id_of(kitchen: Kitchen, row: Row) -> UUID:
    """Return the id of a row's entry: the same whenever the same is said, so that twice is once."""
    kind, fryer, at, figure = said(row.kind, row.at, row.payload)
    return uuid7_of(at, "\n".join((str(kitchen.pk), kind, fryer, figure)))


def told_of(kitchen: Kitchen, row: Row, setup: Setup, now: datetime) -> Told:
    """Return a row as it is told to the day book; raises ValidationError for what cannot be."""
    check_time(row.at, None, now)
    payload: dict[str, Any] = dict(row.payload)
    if row.kind == "top_up" and (mass_kg := mass_of(setup, row.kind, payload)) is not None:
        payload["mass_kg"] = mass_kg
    private = {"note": row.note.encode()} if row.note else {}
    return Told(id=id_of(kitchen, row), kind=row.kind, happened_at=row.at, payload=payload, private=private)


def check_slip(told: Told, setup: Setup) -> None:
    """Raise ValidationError, with the code ``unlikely``, for what looks like a slip of the pen."""
    if found := unlikely(value(told, 0), setup.kitchen):
        raise slip_error(found)


def value(told: Told, place: int) -> AtFryer:
    """Return the value of what is told, named by its place among others."""
    made = value_of(told.kind, told.payload, at=told.happened_at, ref=str(place))
    assert isinstance(made, AtFryer)  # noqa: S101 - tells mypy: all that is brought in is
    return made


def problem(row: Row, error: ValidationError | ToldError) -> Problem:
    """Return why something of a row cannot be, in the reader's language where the server says it."""
    if isinstance(error, ToldError):
        why = error.message
    else:
        why = Message(text="{said}", values={"said": " ".join(error.messages)})
    return Problem(line=row.line, column=row.column, why=why)
