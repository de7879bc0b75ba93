"""A kitchen's folder goes into the day book, and comes out of it."""

import secrets
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction

from kettlewell.book import Entry as BookEntry
from kettlewell.book import SensoryNote, in_order
from kettlewell.book.entries import bare
from kettlewell.book.kinds import COUNTING, KINDS, OF_VALUE
from kettlewell.book.payloads import payload_of, value_of
from kettlewell.book.words import ToldError
from kettlewell.bridge import replays
from kettlewell.bridge.door import check_itself, impossible
from kettlewell.bridge.entries import core_entries
from kettlewell.bridge.folder_settings import check_agrees, settings_bring
from kettlewell.bridge.founding import kitchen_begun
from kettlewell.bridge.setups import earlier_of, setup_of
from kettlewell.bridge.verdicts import tell_of
from kettlewell.folder import Folder, Log, Problem, squeezed
from kettlewell.records.checks import check_named, fryers_of
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, entry_add
from kettlewell.records.models import Entry, Kitchen, Person
from kettlewell.records.people import first_owner_add, signed_as
from kettlewell.records.roster import is_anybody_there
from kettlewell.records.selectors import notes_of, of_the_baths, with_people
from kettlewell.records.settings import kitchen_name
from kettlewell.telling import N_, Message

OWNER = "owner"
PASSWORD_BYTES = 6
HOUR = timedelta(hours=1)
OTHERS = N_(
    "There is no kitchen called {name!r} here, but {others}. Give it the name it has here, or found it as "
    "a further one with --owner and the name that its owner signs in with."
)
TWO = N_("Two kitchens here are called {name!r}. Give one of them another name.")
NOBODY = N_("--owner: nobody signs in as {name}.")
REFUSED_OWNER = N_("--owner: {why}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Founder:
    """Who owns a kitchen that was founded; the ``password`` of a person who is new, drawn once, else ""."""

    person: Person
    password: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """What became of a folder: how many rows are new in the day book, and how many it ``knew``.

    ``founder`` is None where the kitchen was there. ``problems`` are the rows that are in no day book,
    ``verdicts`` what was told in the end, by fryer.
    """

    kitchen: Kitchen
    founder: Founder | None
    written: int
    known: int
    problems: Sequence[Problem]
    verdicts: Mapping[str, Entry]


def folder_bring(folder: Folder, now: datetime, *, owner: str = "") -> Brought:
    """Write what a folder says into the day book of the kitchen of its name; found it where there is none.

    Settings and rows are written together, or nothing is. A row that cannot be true is a problem, and the
    others stand. What the day book knows already is not written again. No verdict is issued on a row; one
    is told on each fryer in the end, for now. Raises ToldError for a kitchen that nobody can own, and for
    settings that are refused or say otherwise than the kitchen's.
    """
    with transaction.atomic():
        kitchen, founder = place_for(folder, owner, now)
        Kitchen.objects.select_for_update().get(pk=kitchen.pk)  # the folder may come in twice at once
        news = unwritten(kitchen, folder.log.entries)
        rows, problems = rows_written(kitchen, news, folder.log.notes, now)
    verdicts: Mapping[str, Entry] = {}
    if rows:
        replays.in_front(kitchen, rows[0].at, now)
        verdicts = tell_of(kitchen, dict(told_about(kitchen, rows)), Hand(person=None, now=now))
    return Brought(
        kitchen=kitchen,
        founder=founder,
        written=len(rows),
        known=len(in_order(folder.log.entries)) - len(news),
        problems=sorted((*folder.log.problems, *problems), key=lambda problem: problem.line),
        verdicts=verdicts,
    )


def place_for(folder: Folder, owner: str, now: datetime) -> tuple[Kitchen, Founder | None]:
    """Return the kitchen that has the name of a folder's, and who founded it if that was now."""
    name, kitchens = folder.setup.kitchen.name, list(Kitchen.objects.order_by("slug"))
    called = [kitchen for kitchen in kitchens if squeezed(kitchen_name(kitchen)) == squeezed(name)]
    if len(called) > 1:
        raise ToldError(TWO, name=name)
    if called:
        check_agrees(called[0], folder.setup)
        return called[0], None
    if kitchens and not owner:
        raise ToldError(OTHERS, name=name, others=", ".join(map(kitchen_name, kitchens)))
    founder = founder_of(owner)
    hand = Hand(person=founder.person, now=now)
    kitchen = kitchen_begun(name, founder.person, hand)
    ats = [entry.at for entry in folder.log.entries] + [each.until for each in folder.earlier]
    settings_bring(kitchen, folder, hand, begins=min([now, *ats]) - HOUR)
    return kitchen, founder


def founder_of(owner: str) -> Founder:
    """Return who founds a kitchen: on a server that is empty somebody new. Raises ToldError."""
    if is_anybody_there():
        person = Person.objects.filter(sign_in=signed_as(owner), is_active=True).first()
        if person is None:
            raise ToldError(NOBODY, name=owner)
        return Founder(person=person)
    password = secrets.token_hex(PASSWORD_BYTES)
    try:
        person = first_owner_add(sign_in=owner or OWNER, name=owner or OWNER, password=password)
    except ValidationError as error:
        raise ToldError(REFUSED_OWNER, why=" ".join(error.messages)) from None
    return Founder(person=person, password=password)


def unwritten(kitchen: Kitchen, entries: Sequence[BookEntry]) -> list[BookEntry]:
    """Return entries that a day book does not have, in order.

    Known by what they say: as many that say the same at one time as it has, corrected ones and undone
    ones too, are the ones that it has.
    """
    if not entries:
        return []
    first = min(entry.at for entry in entries)
    there = Entry.objects.filter(kitchen=kitchen, kind__in=COUNTING, at__gte=first)
    known = Counter(bare(entry) for entry in core_entries(there))
    news = []
    for entry in in_order(entries):
        kind, payload = payload_of(entry)
        said = bare(value_of(kind, payload, at=entry.at, ref=""))
        known[said] -= 1
        if known[said] < 0:
            news.append(entry)
    return news


def rows_written(
    kitchen: Kitchen, entries: Sequence[BookEntry], notes: Mapping[str, str], now: datetime
) -> tuple[list[Entry], list[Problem]]:
    """Write down the entries of a folder that can be true; return them, and why the others cannot."""
    hand, problems = Hand(person=None, now=now), list[Problem]()
    named = []
    for entry in entries:
        try:
            check_named(kitchen, payload_of(entry)[1])
            named.append(entry)
        except ValidationError as error:
            problems.append(problem_of(entry, error))
    refused = impossible(kitchen, named)
    problems += [problem_of(entry, refused[entry.ref]) for entry in named if entry.ref in refused]
    rows = []
    for entry in named:
        if entry.ref in refused:
            continue
        try:
            with transaction.atomic():
                row, _new = entry_add(kitchen, told_of(entry, notes.get(entry.ref, ""), now), hand)
                check_itself(kitchen, row, hand)
            rows.append(row)
        except ValidationError as error:
            problems.append(problem_of(entry, error))
    if rows:
        payload = {"first": str(rows[0].seq), "last": str(rows[-1].seq)}
        entry_add(kitchen, Told(id=uuid7(now), kind="imported", happened_at=now, payload=payload), hand)
    return rows, problems


def told_of(entry: BookEntry, note: str, now: datetime) -> Told:
    """Return an entry of a folder as it is told to the day book, with who wrote it and the note beside it."""
    kind, payload = payload_of(entry)
    if isinstance(entry, SensoryNote):  # its signs are part of what it says
        note = ", ".join(said for said in note.split(", ") if said not in payload.get("signs", ()))
    private = {"name": entry.person or "", "note": note}
    return Told(
        id=uuid7(now),
        kind=kind,
        happened_at=entry.at,
        payload=payload,
        private={name: said.encode() for name, said in private.items() if said},
        sure=True,
    )


def problem_of(entry: BookEntry, error: ValidationError) -> Problem:
    """Return why a row of the log is not in the day book, by its column."""
    columns = {field.name: field.column for field in KINDS[OF_VALUE[type(entry)].key].fields}
    columns |= {"happened_at": "when", "fryer": "fryer"}
    wrong = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
    name, why = next(iter(wrong.items()))
    line = int(entry.ref.rpartition(":")[2])
    text = Message(text="{why}", values={"why": " ".join(why)})
    return Problem(line=line, field=columns.get(name) or "row", why=text)


def told_about(kitchen: Kitchen, rows: Sequence[Entry]) -> Iterator[tuple[str, Entry]]:
    """Yield fryers of which entries speak, each with the last one that is its own, else of all fryers."""
    of_all = [row for row in rows if not fryers_of(row)]
    for fryer in setup_of(kitchen).kitchen.fryers if of_all else ():
        yield fryer.key, of_all[-1]
    for row in rows:
        for key in fryers_of(row):
            yield key, row


def folder_of(kitchen: Kitchen) -> Folder:
    """Return a day book as a folder: the settings with their history, and what stands of baths and meters."""
    upto_seq = kitchen.head_seq
    rows = list(with_people(of_the_baths(kitchen, upto_seq=upto_seq)))
    said = notes_of(rows)
    entries, notes = [], {}
    for row in rows:
        who = str(row.person) if row.person else said.get((row.pk, "name"))
        entry = value_of(row.kind, row.payload, at=row.at, ref=f"#{row.seq}")
        entries.append(replace(entry, person=who))
        if note := said.get((row.pk, "note")):
            notes[entry.ref] = note
    return Folder(
        setup=setup_of(kitchen, at_seq=upto_seq),
        log=Log(entries=tuple(entries), problems=(), notes=notes),
        earlier=earlier_of(kitchen, at_seq=upto_seq),
    )
