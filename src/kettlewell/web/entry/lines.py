"""The day book as it is read: lines under days, corrections bound to what they correct."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import groupby
from uuid import UUID

from babel.dates import format_date

from kettlewell.book.kinds import KINDS
from kettlewell.records.checks import AHEAD_AT_MOST
from kettlewell.records.models import Entry
from kettlewell.records.selectors import answers_to, brought_in_with, is_late, notes_of
from kettlewell.telling import N_, Reader
from kettlewell.web.common import Visit
from kettlewell.web.entry.names import Names
from kettlewell.web.entry.sentences import doubts, sentence

# later than this an entry is marked as written down late (our own choice)
LATE = timedelta(minutes=30)
# a verdict that is still to be told is told before (our own choice)
COMPUTED_WITHIN = timedelta(minutes=1)
CLOCK_WRONG_S = 60
BRITISH = "en_GB"
NOT_COME = N_("This time has not come: the clock of the server is wrong, or was.")
SERVER_SAID = N_("The time is that of the phones; the clock of the server said {at}.")
FAST = N_("The clock of the phone was {minutes} minutes fast; this is taken off.")
SLOW = N_("The clock of the phone was {minutes} minutes slow; this is added.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """A verdict that was told in answer to an entry, in a sentence."""

    entry: Entry
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BookLine:
    """One entry as the day book shows it. ``entry`` has who, device, and both ends of a correction.

    ``untold``: a verdict should have been told on it, and none was. ``signed`` is who wrote it in a file,
    ``imported`` the entry that says it came from one.
    """

    entry: Entry
    clock: str
    said: str
    doubts: Sequence[str]
    note: str
    reason: str
    signed: str
    late: str
    ahead: str
    untold: bool
    clock_error: str
    answers: Sequence[Reply]
    imported: Entry | None

    @property
    def undone(self) -> bool:
        """Whether a later entry says that it did not happen."""
        later = replaced_by(self.entry)
        return later is not None and later.kind == "undone"

    @property
    def corrected(self) -> Entry | None:
        """The entry that replaces this one."""
        return replaced_by(self.entry)


def replaced_by(entry: Entry) -> Entry | None:
    """Return the correction of an entry, if there is one."""
    return getattr(entry, "replaced_by", None)


def book_lines(entries: Iterable[Entry], names: Names, visit: Visit) -> list[BookLine]:
    """Return entries as lines, the newest first."""
    entries = list(entries)
    notes, told, brought = notes_of(entries), answers_to(entries), brought_in_with(entries)
    lines = [
        book_line(entry, notes, told.get(entry.pk, ()), names, visit=visit, imported=brought.get(entry.pk))
        for entry in entries
    ]
    return sorted(lines, key=lambda line: (line.entry.at, line.entry.seq), reverse=True)


def book_line(
    entry: Entry,
    notes: Mapping[tuple[UUID, str], str],
    told: Collection[Entry],
    names: Names,
    *,
    visit: Visit,
    imported: Entry | None,
) -> BookLine:
    """Return one entry as a line."""
    reader = visit.reader
    return BookLine(
        entry=entry,
        clock=clock(entry.at, reader),
        said=sentence(entry.kind, entry.payload, names, reader),
        doubts=doubts(entry.kind, entry.payload, reader),
        note=notes.get((entry.pk, "note"), ""),
        reason=notes.get((entry.pk, "reason"), ""),
        signed=notes.get((entry.pk, "name"), "") if entry.kind != "setting" else "",
        late=late(entry, reader),
        ahead=ahead(entry, reader),
        untold=not (told or imported) and lacks_verdict(entry, visit.server_now),
        clock_error=clock_error(entry.clock_error_s, reader),
        answers=[
            Reply(entry=verdict, said=sentence("verdict", verdict.payload, names, reader)) for verdict in told
        ],
        imported=imported,
    )


def days_of(lines: Iterable[BookLine], reader: Reader) -> list[tuple[str, list[BookLine]]]:
    """Return lines under the days of the kitchen's calendar."""
    days = groupby(lines, lambda line: line.entry.at.astimezone(reader.zone).date())
    # our English is British, whatever the browser calls it
    locale = BRITISH if reader.locale.language == "en" else reader.locale
    return [(format_date(day, "full", locale=locale), list(of_day)) for day, of_day in days]


def clock(at: datetime, reader: Reader) -> str:
    """Return the time of day in the kitchen."""
    return f"{at.astimezone(reader.zone):%H:%M}"


def since(at: datetime, reader: Reader) -> str:
    """Return the time of today, else the day."""
    return clock(at, reader) if at.astimezone(reader.zone).date() == reader.today else reader.day(at)


def late(entry: Entry, reader: Reader) -> str:
    """Return when an entry was written down, if that was long after it happened."""
    if entry.received_at - entry.at < LATE:
        return ""
    return reader.say(N_("written down {at}"), at=entry.received_at)


def ahead(entry: Entry, reader: Reader) -> str:
    """Return what is to be said of a time that has not come, or had not by the server's clock."""
    if entry.at > reader.now + AHEAD_AT_MOST:
        return reader.say(NOT_COME)
    if entry.at > entry.received_at + AHEAD_AT_MOST:
        return reader.say(SERVER_SAID, at=entry.received_at)
    return ""


def lacks_verdict(entry: Entry, server_now: datetime) -> bool:
    """Tell whether a verdict is told on each entry like this one, and should have been by now."""
    waited = server_now - entry.received_at > COMPUTED_WITHIN
    return waited and not is_late(entry) and KINDS[entry.kind].always_told and replaced_by(entry) is None


def clock_error(error_s: Decimal | None, reader: Reader) -> str:
    """Return what is to be said of a phone's clock that was wrong by more than a minute."""
    if error_s is None or abs(error_s) <= CLOCK_WRONG_S:
        return ""
    return reader.say(FAST if error_s > 0 else SLOW, minutes=round(abs(error_s) / 60))
