"""What is open or due in a kitchen today."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice

from django.urls import reverse

from kettlewell.book.account import Where
from kettlewell.bridge.meters import meters_checked
from kettlewell.bridge.reviews import open_reviews
from kettlewell.bridge.standing import Standing
from kettlewell.bridge.verdicts import late_entries
from kettlewell.core.outlook.values import Assessment, FlagKind
from kettlewell.records.access import Act
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.selectors import numbered, open_calls
from kettlewell.telling import N_, Reader
from kettlewell.telling.cooling import at_once
from kettlewell.telling.flags import flag_message
from kettlewell.telling.meters import when_next
from kettlewell.telling.verdicts import next_act
from kettlewell.web.common import Visit
from kettlewell.web.entry.lines import clock, since
from kettlewell.web.entry.names import Names, names_of
from kettlewell.web.entry.sentences import sentence
from kettlewell.web.line.meters import meterless, off
from kettlewell.web.line.opened import Opened, where_answered
from kettlewell.web.line.strips import due_at

CALLED = N_("Chef called: {fryer} {at}")
OFF = N_("Found off: {meter}")
NO_METER = N_("No meter in use")
CHECK_DUE = N_("Check due: {meter}")
RECALLED = N_("Recalled oil: {fryers}")
KEPT = N_("{fryer}, kept")
LATE = N_("Late entries: {fryers}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """Something to be done today, and where."""

    at: datetime
    clock: str
    name: str
    url: str
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """Something that cannot wait, and where it is done."""

    said: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What the program asks about the book, and the entry it asks about."""

    name: str
    said: str
    entry: Entry | None


def due_today(standing: Standing, visit: Visit) -> list[Due]:
    """Return the next acts at fryers and meters that fall on today, the first first."""
    found = [*fryers_due(standing, visit), *meters_due(visit)]
    soon = [due for due in found if due.at.astimezone(visit.reader.zone).date() <= visit.reader.today]
    return sorted(soon, key=lambda due: due.at)


def fryers_due(standing: Standing, visit: Visit) -> Iterator[Due]:
    """Yield the next act at each fryer."""
    for assessment in standing.assessments:
        if assessment.in_use:
            at, told_of = due_at(assessment), assessment.at  # the next full minute, not now
            yield Due(
                at=at,
                clock=clock(at if at > told_of else visit.now, visit.reader),
                name=assessment.name,
                url=reverse("fryer", args=(visit.kitchen.slug, assessment.fryer)),
                said=f"{next_act(assessment, visit.reader)} {at_once(assessment, visit.reader)}".rstrip(),
            )


def meters_due(visit: Visit) -> Iterator[Due]:
    """Yield the next check of each meter, where it can be checked."""
    for report in meters_checked(visit.kitchen, visit.now).reports:
        at = report.next_check.at
        if report.in_use and at is not None:
            yield Due(
                at=at,
                clock=clock(max(at, visit.now), visit.reader),
                name=report.meter.name,
                url=reverse("meters", args=(visit.kitchen.slug,)),
                said=when_next(report, visit.reader),
            )


def waits(standing: Standing, visit: Visit, questions: Sequence[Question], opened: Opened) -> Iterator[Wait]:
    """Yield what cannot wait and stands at no fryer alone: calls, meters, what the program asks."""
    reader, at_meters = visit.reader, reverse("meters", args=(visit.kitchen.slug,))
    if still := recalled(visit, opened):
        url = reverse("recalls", args=(visit.kitchen.slug,))
        yield Wait(said=reader.say(RECALLED, fryers=", ".join(still)), url=url)
    yield from calls(standing, visit)
    if standing.problem:
        return
    if meterless(visit):
        yield Wait(said=reader.say(NO_METER), url=at_meters)
    for meter in off(visit):
        yield Wait(said=reader.say(OFF, meter=meter.name), url=at_meters)
    for due in meters_due(visit):
        if due.at <= visit.now:
            yield Wait(said=reader.say(CHECK_DUE, meter=due.name), url=due.url)
    late = late_entries(visit.kitchen) if visit.may(Act.RECORD) else {}
    if names := [told.name for told in standing.assessments if told.in_use and told.fryer in late]:
        url = reverse("late", args=(visit.kitchen.slug,))
        yield Wait(said=reader.say(LATE, fryers=", ".join(names)), url=url)
    if questions:
        asked = reader.count(len(questions), "{number} question", "{number} questions")
        yield Wait(said=asked, url="#questions")


def recalled(visit: Visit, opened: Opened) -> list[str]:
    """Return where recalled oil is."""
    names, reader = names_of(visit.kitchen), visit.reader
    return [
        reader.say(KEPT, fryer=name) if vessel.place is Where.KEPT else name
        for vessel in opened.recalled
        for name in (names.of("fryers", vessel.key),)
    ]


def calls(standing: Standing, visit: Visit) -> Iterator[Wait]:
    """Yield the open calls, the oldest first."""
    names = {fryer.key: fryer.name for fryer in standing.setup.kitchen.fryers}
    for call in open_calls(visit.kitchen):
        fryer, at = names.get(call.fryer, call.fryer), since(call.at, visit.reader)
        yield Wait(said=visit.reader.say(CALLED, fryer=fryer, at=at), url=where_answered(call, visit))


def questions_of(kitchen: Kitchen, assessments: Iterable[Assessment], reader: Reader) -> list[Question]:
    """Return the questions about the book, fryer by fryer."""
    used = [assessment for assessment in assessments if assessment.in_use]
    refs = {flag.ref for assessment in used for flag in assessment.flags}
    # a reference such as "#12" names an entry by its number
    numbers = [int(ref[1:]) for ref in refs if ref.startswith("#")]
    entries = {f"#{number}": entry for number, entry in numbered(kitchen, numbers).items()}
    found = [question for assessment in used for question in _questions_at(entries, assessment, reader)]
    return [*_questions_of_all(used, reader), *found]


def to_look_over(visit: Visit, names: Names, fryer: str = "") -> list[Question]:
    """Return, fryer by fryer, what is to be looked over, for those who may: the oldest stands there."""
    if not visit.may(Act.SET_UP):
        return []
    opened: dict[str, list[Entry]] = {}
    for entry in open_reviews(visit.kitchen, visit.now):
        if fryer in ("", entry.fryer):
            opened.setdefault(entry.fryer, []).append(entry)
    return [looked_over_of(key, found, visit.reader, names) for key, found in opened.items()]


def looked_over_of(fryer: str, found: Sequence[Entry], reader: Reader, names: Names) -> Question:
    """Return what is to be looked over at one fryer."""
    oldest = found[0]
    asked = reader.count(
        len(found),
        "To be signed off by someone else:",
        "{number} to be signed off by someone else, the oldest:",
    )
    said = sentence(oldest.kind, oldest.payload, names, reader)
    return Question(name=names.of("fryers", fryer), said=f"{asked} {said}", entry=oldest)


def _questions_of_all(assessments: Iterable[Assessment], reader: Reader) -> Iterator[Question]:
    """Yield once what is asked of all fryers alike."""
    silent = (flag for told in assessments for flag in told.flags if flag.kind is FlagKind.SILENT)
    for flag in islice(silent, 1):
        yield Question(name=reader.say(N_("The kitchen")), said=reader.tell(flag_message(flag)), entry=None)


def _questions_at(entries: Mapping[str, Entry], assessment: Assessment, reader: Reader) -> Iterator[Question]:
    for flag in (flag for flag in assessment.flags if flag.kind is not FlagKind.SILENT):
        yield Question(
            name=assessment.name, said=reader.tell(flag_message(flag)), entry=entries.get(flag.ref)
        )
