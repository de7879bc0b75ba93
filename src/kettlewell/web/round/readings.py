"""The readings of all fryers on one page, saved one by one with the answer beside them."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from kettlewell.bridge.meters import meters_at_hand
from kettlewell.bridge.standing import Standing, standing
from kettlewell.records.access import Act
from kettlewell.records.ids import uuid7
from kettlewell.records.models import Entry
from kettlewell.telling.verdicts import named
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.asking import form_of
from kettlewell.web.entry.forms import OnScreen
from kettlewell.web.entry.lines import BookLine, book_lines
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.sentences import typed
from kettlewell.web.entry.writing import go_on, written
from kettlewell.web.line.meters import at_fryers, meterless
from kettlewell.web.line.strips import NOT_IN_USE, Strip, strips_by_fryer
from kettlewell.web.line.today import readings_today, still_to_do
from kettlewell.web.reading.views import setup_with
from kettlewell.web.round.usual import meter_used_last


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRow:
    """A fryer in the round of readings: how it stands, what was read of it today, and the form to read it."""

    fryer: str
    number: int
    name: str
    strip: Strip | None
    read: BookLine | None
    figures: Mapping[str, Any]
    form: OnScreen
    entry_id: UUID

    @property
    def in_use(self) -> bool:
        """Whether it is to be read."""
        return self.strip is None or self.strip.key != NOT_IN_USE

    @property
    def asks_below(self) -> bool:
        """Whether something is to be put right that lies folded."""
        return bool(self.form.errors.keys() - {"oil_temp_c", "tpc_pct", "__all__"})


@require_safe
@in_kitchen(Act.RECORD)
def readings(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show every fryer in the kitchen's order, to be read one after the other."""
    return page_of(request, visit, {})


@in_kitchen(Act.RECORD)
def reading_row(request: HttpRequest, visit: Visit, fryer: str) -> HttpResponse:
    """Write down the reading of one fryer, and answer with its row, to the script with that alone."""
    setup = setup_with(visit, fryer)
    number = [bath.key for bath in setup.kitchen.fryers].index(fryer)
    at_row = f"{reverse('round-readings', args=(visit.kitchen.slug,))}#row{number}"
    if request.method != "POST":
        return redirect(at_row)
    form = form_at(visit, fryer, number, usual(visit), request.POST)
    recorded = written(request, visit, "reading", form)
    if recorded and recorded.late:
        return led_on(request, go_on(visit, recorded).url)
    kept = {} if recorded else {fryer: form}
    if request.headers.get("HX-Request"):
        context = context_of(visit, kept, fryers=[fryer])
        return render(request, "web/round/_read.html", context | {"row": context["rows"][0]})
    if recorded:
        return redirect(at_row)
    return page_of(request, visit, kept)


def led_on(request: HttpRequest, address: str) -> HttpResponse:
    """Lead to another page, the script too."""
    if request.headers.get("HX-Request"):
        return HttpResponse(headers={"HX-Redirect": address})
    return redirect(address)


def page_of(request: HttpRequest, visit: Visit, kept: Mapping[str, OnScreen]) -> HttpResponse:
    """Show the page; ``kept`` are forms, by fryer, that were sent and could not be written down."""
    return render(request, "web/round/readings.html", context_of(visit, kept))


def context_of(
    visit: Visit, kept: Mapping[str, OnScreen], fryers: Collection[str] | None = None
) -> dict[str, Any]:
    """Return what is shown of all fryers, or the rows of some."""
    stands, read = standing(visit.kitchen, visit.now), readings_today(visit)
    baths = stands.setup.kitchen.fryers
    left = still_to_do(baths, stands.assessments, read)
    return {
        "standing": stands,
        "problem": visit.reader.tell(stands.problem) if stands.problem else "",
        "rows": list(rows_of(visit, stands, read, kept, fryers or [bath.key for bath in baths])),
        "left": [named(bath) for bath in left],
        "meters": at_fryers(visit),
        "meterless": meterless(visit),
    }


def rows_of(
    visit: Visit,
    stands: Standing,
    read: Mapping[str, Entry],
    kept: Mapping[str, OnScreen],
    fryers: Collection[str],
) -> Iterator[ReadingRow]:
    """Yield the rows of some fryers, in the kitchen's order."""
    strips = strips_by_fryer(visit, stands, fryers)
    of_rows = [entry for fryer, entry in read.items() if fryer in fryers]
    lines = {line.entry.fryer: line for line in book_lines(of_rows, names_of(visit.kitchen), visit)}
    offered = usual(visit)
    for number, bath in enumerate(stands.setup.kitchen.fryers):
        if bath.key in fryers:
            yield ReadingRow(
                fryer=bath.key,
                number=number,
                name=named(bath),
                strip=strips.get(bath.key),
                read=lines.get(bath.key),
                figures=typed(read[bath.key].payload, visit.reader) if bath.key in read else {},
                form=kept.get(bath.key) or form_at(visit, bath.key, number, offered),
                entry_id=uuid7(visit.now),
            )


def form_at(
    visit: Visit,
    fryer: str,
    number: int,
    offered: Mapping[str, object],
    sent: QueryDict | None = None,
) -> OnScreen:
    """Return the form of a row."""
    return form_of("reading", visit, fryer, sent=sent, initial=offered, auto_id=f"r{number}_%s")


def usual(visit: Visit) -> dict[str, object]:
    """Return what a reading begins with: the meter that was used last, where there are several in use."""
    meters = [at_hand.meter.key for at_hand in meters_at_hand(visit.kitchen) if at_hand.in_use]
    last = meter_used_last(visit, meters) if len(meters) > 1 else ""
    return {"meter": last} if last else {}
