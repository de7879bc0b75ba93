"""What a period of the day book holds, fetched at once and told entry by entry."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cached_property
from uuid import UUID

from kettlewell.records.models import Entry
from kettlewell.records.selectors import answers_of, answers_to, notes_of, written_between
from kettlewell.telling import Reader
from kettlewell.web.common import Visit
from kettlewell.web.entry.lines import replaced_by
from kettlewell.web.entry.names import Names, names_of
from kettlewell.web.entry.sentences import sentence


@dataclass(frozen=True, kw_only=True)
class Gathered:
    """The entries of some days, both included, with who reads them."""

    visit: Visit
    since: date
    until: date

    @property
    def reader(self) -> Reader:
        """Who reads."""
        return self.visit.reader

    @cached_property
    def names(self) -> Names:
        """What things and people are called."""
        return names_of(self.visit.kitchen)

    @property
    def begins(self) -> datetime:
        """When the first of these days begins."""
        return datetime.combine(self.since, time(), self.reader.zone)

    @property
    def ends(self) -> datetime:
        """When the last of these days ends."""
        return datetime.combine(self.until + timedelta(days=1), time(), self.reader.zone)

    @cached_property
    def entries(self) -> Sequence[Entry]:
        """All entries of these days, those replaced too, in the order things happened."""
        return list(written_between(self.visit.kitchen, self.begins, self.ends))

    @cached_property
    def notes(self) -> Mapping[tuple[UUID, str], str]:
        """Notes and reasons by entry and field."""
        return notes_of(self.entries)

    @cached_property
    def verdicts(self) -> Mapping[UUID | None, Sequence[Entry]]:
        """The verdicts told in answer to each entry."""
        return answers_to(self.entries)

    def standing(self, kinds: Collection[str]) -> list[Entry]:
        """Return what stands of some kinds: not what was corrected or undone."""
        return [entry for entry in self.entries if entry.kind in kinds and replaced_by(entry) is None]

    def answers(self, kind: str) -> Mapping[UUID | None, Entry]:
        """Return what stands of the answers of a kind by the entry that each answers, later ones too."""
        return answers_of(self.visit.kitchen, kind)

    def said(self, entry: Entry) -> str:
        """Return what an entry says, with its note."""
        told = sentence(entry.kind, entry.payload, self.names, self.reader)
        return " ".join(filter(None, [told, self.note(entry)]))

    def note(self, entry: Entry) -> str:
        """Return the note of an entry as it was typed, in quotation marks."""
        note = self.notes.get((entry.pk, "note"), "")
        return f"“{note}”" if note else ""

    def when(self, entry: Entry) -> str:
        """Return the day and time of an entry."""
        return self.reader.date(entry.at)

    def day(self, entry: Entry) -> str:
        """Return the day of an entry."""
        return self.reader.written_day(entry.at.astimezone(self.reader.zone).date())

    def by(self, entry: Entry) -> str:
        """Return who wrote an entry."""
        return str(entry.person) if entry.person else self.notes.get((entry.pk, "name"), "")

    def fryers(self, entries: Collection[Entry]) -> Iterator[tuple[str, list[Entry]]]:
        """Yield the entries of each fryer that has any, fryers in the order of their keys."""
        for key in sorted({entry.fryer for entry in entries if entry.fryer}):
            yield self.names.of("fryers", key), [entry for entry in entries if entry.fryer == key]
