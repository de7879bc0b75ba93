"""What a page after a service is about: which service, when things happened, in what they are measured."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlencode

from django.http import QueryDict
from django.utils.translation import gettext as _

from kettlewell.bridge.services import Served, ended_last, runs_now, services_begun
from kettlewell.records import kinds
from kettlewell.records.models import Entry
from kettlewell.records.selectors import is_filled_since, written_since
from kettlewell.web.common import Visit
from kettlewell.web.entry.lines import clock
from kettlewell.web.round.parts import Measures
from kettlewell.web.round.usual import food_measures, oil_measure

ASKED = ("of", "at", "oil", "food")
RUNNING, ENDED = "running", "ended"
TOLD = ("top_up", "care", "load")


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """The ``service``, or none; the one that runs and the one that ended last; what the address says.

    ``lost``: the service that a row was about is too long ago.
    """

    service: Served | None
    running: Served | None
    ended: Served | None
    measures: Measures
    asked: Mapping[str, str]
    lost: bool

    def worked(self, fryer: str) -> bool:
        """Tell whether a fryer worked in the service, by the kitchen's hours."""
        return self.service is None or fryer in self.service.fryers

    def at(self, now: datetime) -> datetime | None:
        """Return when things happened: None says now, which is never after the next service began."""
        service = self.service
        if service is None or service.runs(now):
            return None
        return service.ends if service.next_begins or self.asked.get("at") == ENDED else None

    def before_a_fill(self, visit: Visit, fryer: str) -> datetime | None:
        """Return when the service ended if a fryer was filled since: food was fried in the oil before."""
        service = self.service
        if service is None or service.runs(visit.now):
            return None
        return service.ends if is_filled_since(visit.kitchen, fryer, service.ends) else None

    def query(self, **other: str) -> str:
        """Return what the address says, with something else said."""
        return urlencode({name: value for name, value in {**self.asked, **other}.items() if value})


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One thing that can be chosen for all rows, and the address that chooses it."""

    words: str
    query: str
    chosen: bool


def about_of(visit: Visit, asked: QueryDict) -> About:
    """Return what a page is about, by its address; or a row, by what was sent."""
    begun = services_begun(visit.kitchen, visit.now)
    running, ended = runs_now(begun, visit.now), ended_last(begun, visit.now)
    service = running if asked.get("of") == RUNNING else ended
    key = asked.get("service", "")
    if key:
        service = next((each for each in begun if each.key == key), None)
    said = {name: str(asked[name]) for name in ASKED if name in asked}
    return About(
        service=service,
        running=running,
        ended=ended,
        measures=Measures(
            oil=said.get("oil") or oil_measure(visit),
            food=food_measures(visit),
            all_food=said.get("food", ""),
        ),
        asked=said,
        lost=bool(key) and service is None,
    )


def choices(visit: Visit, about: About) -> Iterator[tuple[str, list[Choice]]]:
    """Yield what can be chosen for all rows, under its name."""
    service, now = about.service, visit.now
    if about.running and about.ended:
        of = RUNNING if about.asked.get("of") == RUNNING else ""
        services = ((about.ended, ""), (about.running, RUNNING))
        yield (
            _("Service"),
            [
                Choice(words=each.name, query=about.query(of=which, at=""), chosen=of == which)
                for each, which in services
            ],
        )
    if service and not service.runs(now) and not service.next_begins:
        ended = _("when it ended, %(clock)s") % {"clock": clock(service.ends, visit.reader)}
        at_end = about.at(now) is not None
        yield (
            _("Time"),
            [
                Choice(words=_("now"), query=about.query(at=""), chosen=not at_end),
                Choice(words=ended, query=about.query(at=ENDED), chosen=at_end),
            ],
        )
    for name, words, units, chosen in (
        ("oil", _("Top-ups by"), kinds.OIL_UNITS, about.measures.oil),
        ("food", _("Food by"), kinds.FOOD_UNITS, about.measures.all_food),
    ):
        yield (
            words,
            [
                Choice(words=str(label), query=about.query(**{name: unit}), chosen=unit == chosen)
                for unit, label in units
            ],
        )


def entries_after(visit: Visit, service: Served | None) -> Sequence[Entry]:
    """Return what was written of a service, and after it until the next; without one what was today."""
    if service is None:
        return list(written_since(visit.kitchen, TOLD, visit.reader.midnight))
    found = written_since(visit.kitchen, TOLD, service.begins)
    return [entry for entry in found if service.next_begins is None or entry.at < service.next_begins]


def is_done(entry: Entry, service: Served | None) -> bool:
    """Tell whether an entry says what came of a service: what was fried, or what was done after it."""
    return entry.kind == "load" or service is None or entry.at >= service.ends
