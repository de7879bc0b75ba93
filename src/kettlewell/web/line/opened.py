"""What waits at fryers beside their verdicts, and where it is answered."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from django.urls import reverse

from kettlewell.book.account import Vessel, in_fryer
from kettlewell.bridge.recalls import still_recalled
from kettlewell.records.access import Act
from kettlewell.records.models import Entry
from kettlewell.records.selectors import open_calls, open_changes, open_complaints
from kettlewell.telling import N_
from kettlewell.web.common import Visit
from kettlewell.web.entry.lines import since
from kettlewell.web.entry.links import Link
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.sentences import SHOWN

RECALLED = N_("This oil was recalled: fry nothing in it")
KEPT_RECALLED = N_("The oil that is kept was recalled")
CALLED = N_("Chef called {at}")
COMPLAINED = N_("A guest complained, {at}: smell the oil and look at it")
COMPLAINED_OF = N_("A guest complained ({of}), {at}: smell the oil and look at it")


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """What waits at fryers: what nobody said was done, answered, or looked at; and where recalled oil is."""

    changes: Mapping[str, Entry]
    calls: Mapping[str, Entry]
    complaints: Mapping[str, Entry]
    recalled: Collection[Vessel]


def opened_in(visit: Visit, fryers: Collection[str] = ()) -> Opened:
    """Return what waits at the fryers of a kitchen, or at some, of each the oldest call."""
    kitchen = visit.kitchen
    return Opened(
        changes=open_changes(kitchen, fryers),
        calls={call.fryer: call for call in reversed(open_calls(kitchen))},
        complaints=open_complaints(kitchen),
        recalled=still_recalled(kitchen, visit.now),
    )


def notices_at(fryer: str, visit: Visit, opened: Opened) -> Iterator[Link]:
    """Yield what stands at a fryer beside its verdict, each with where it is answered or looked at."""
    url = reverse("recalls", args=(visit.kitchen.slug,))
    for vessel in opened.recalled:
        if vessel.key == fryer:
            said = RECALLED if vessel == in_fryer(fryer) else KEPT_RECALLED
            yield Link(label=visit.reader.say(said), url=url)
    if call := opened.calls.get(fryer):
        label = visit.reader.say(CALLED, at=since(call.at, visit.reader))
        yield Link(label=label, url=where_answered(call, visit))
    if complaint := opened.complaints.get(fryer):
        yield complaint_link(complaint, visit)


def complaint_link(complaint: Entry, visit: Visit) -> Link:
    """Return a complaint in words, and where the oil is smelt and looked at."""
    of, reader, slug = complaint.payload.get("complained_of", ()), visit.reader, visit.kitchen.slug
    told = SHOWN["complained_of"](of, names_of(visit.kitchen), reader)
    label = reader.say(COMPLAINED_OF if of else COMPLAINED, of=told, at=since(complaint.at, reader))
    look = reverse("act", args=(slug, complaint.fryer, "senses"))
    return Link(
        label=label, url=look if visit.may(Act.RECORD) else reverse("entry", args=(slug, complaint.pk))
    )


def where_answered(call: Entry, visit: Visit) -> str:
    """Return where a call is answered, or looked at by who may not write."""
    page = "answer-call" if visit.may(Act.RECORD) else "entry"
    return reverse(page, args=(visit.kitchen.slug, call.pk))
