"""What follows a service, of all fryers on one page: top-ups, loads, skimming and filtering, row by row."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from kettlewell.book import find
from kettlewell.bridge.standing import Standing, standing
from kettlewell.bridge.verdicts import RefusedPartError, record_together
from kettlewell.records.access import Act
from kettlewell.records.ledger import Told
from kettlewell.telling.verdicts import named
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.lines import BookLine, book_lines, clock
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.sent import entry_id, told_of
from kettlewell.web.line.strips import NOT_IN_USE, Strip, strips_by_fryer
from kettlewell.web.line.today import still_to_do
from kettlewell.web.reading.cautions import ONE_TAP
from kettlewell.web.reading.views import setup_with
from kettlewell.web.round.about import About, about_of, choices, entries_after, is_done
from kettlewell.web.round.parts import Part, parts_of

DUE_FOR = timedelta(hours=6)  # after a service, our own choice


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The parts of a row that was sent and could not be written down; ``refused`` says why as a whole."""

    parts: Sequence[Part]
    refused: str

    @property
    def ends_with_load(self) -> bool:
        """Whether a load is asked for, beside which it is saved: not where the kitchen fries nothing yet."""
        return self.parts[-1].kind == "load"

    @property
    def is_wrong(self) -> bool:
        """Whether something is to be put right."""
        return bool(self.refused) or any(part.errors for part in self.parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class ActsRow:
    """A fryer after a service: what was written of it, and what may be told."""

    fryer: str
    number: int
    name: str
    strip: Strip | None
    worked: bool
    done: bool
    lines: Sequence[BookLine]
    asks: Kept

    @property
    def in_use(self) -> bool:
        """Whether anything is to be done at it."""
        return self.strip is None or self.strip.key != NOT_IN_USE


@require_safe
@in_kitchen(Act.RECORD)
def due(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Lead to what is due: after a service that just ended what came of it, else the readings."""
    about = about_of(visit, request.GET)
    service = about.service
    if service is None or service.next_begins or visit.now - service.ends > DUE_FOR:
        return redirect("round-readings", visit.kitchen.slug)
    done = {entry.fryer for entry in entries_after(visit, service) if is_done(entry, service)}
    return redirect("round-readings" if service.fryers <= done else "round-service", visit.kitchen.slug)


@require_safe
@in_kitchen(Act.RECORD)
def after(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show what may be told of every fryer after the service that ended last, or of the one that runs."""
    return page_of(request, visit, about_of(visit, request.GET), {})


@in_kitchen(Act.RECORD)
def acts_row(request: HttpRequest, visit: Visit, fryer: str) -> HttpResponse:
    """Write down what was done at one fryer, all or nothing, and answer with its row."""
    setup, about = setup_with(visit, fryer), about_of(visit, request.POST)
    bath = find(setup.kitchen.fryers, fryer)
    page, number = reverse("round-service", args=(visit.kitchen.slug,)), setup.kitchen.fryers.index(bath)
    at_row = f"{page}?{about.query()}#row{number}"
    if request.method != "POST":
        return redirect(at_row)
    parts = parts_of(visit, setup, bath, about.measures, worked=about.worked(fryer), sent=request.POST)
    sent = Kept(refused=write_parts(request, visit, about, parts), parts=parts)
    kept = {fryer: sent} if sent.is_wrong else {}
    if request.headers.get("HX-Request"):
        context = context_of(visit, about, kept, fryers=[fryer])
        return render(request, "web/round/_done.html", context)
    if kept:
        return page_of(request, visit, about, kept)
    return redirect(at_row)


def write_parts(request: HttpRequest, visit: Visit, about: About, parts: Sequence[Part]) -> str:
    """Write down what a row tells; return why it cannot be, "" where it was or its forms say why."""
    told = [part for part in parts if part.told]
    if about.lost:
        return _("This page is too old. Open it anew.")
    if not told:
        return _("Nothing is said here yet: tick it, or say how much.")
    if any(part.errors for part in told):
        return ""
    try:
        record_together(visit.kitchen, [told_by(request, visit, about, part) for part in told], visit.hand)
    except RefusedPartError as refused:
        told[refused.part].form.refuse(refused.error)
    except ValidationError as error:
        return " ".join(error.messages)
    return ""


def told_by(request: HttpRequest, visit: Visit, about: About, part: Part) -> Told:
    """Return what a part of a row tells. Raises ValidationError for an id or a time that is none."""
    payload = part.form.payload()
    at = about.at(visit.now)
    if at is None and part.kind == "load":
        at = about.before_a_fill(visit, payload["fryer"])
    told = told_of(request, visit, kind=part.kind, payload=payload, at=at)
    return replace(told, id=entry_id(request, visit.now, part.entry_name), sure=part.form.is_sure)


def page_of(request: HttpRequest, visit: Visit, about: About, kept: Mapping[str, Kept]) -> HttpResponse:
    """Show the page; ``kept`` are rows, by fryer, that were sent and could not be written down."""
    reader, service = visit.reader, about.service
    context = {
        **context_of(visit, about, kept),
        "clock": clock(service.ends, reader) if service else "",
        "day": reader.day(service.ends) if service else "",
        "runs": service is not None and service.runs(visit.now),
        "at_end": about.at(visit.now) is not None,
        "choices": list(choices(visit, about)),
        "caution": reader.say(ONE_TAP),
    }
    return render(request, "web/round/service.html", context)


def context_of(
    visit: Visit, about: About, kept: Mapping[str, Kept], fryers: Collection[str] | None = None
) -> dict[str, Any]:
    """Return what is shown of all fryers, or the rows of some."""
    stands, entries = standing(visit.kitchen, visit.now), entries_after(visit, about.service)
    lines = book_lines(entries, names_of(visit.kitchen), visit)
    baths = stands.setup.kitchen.fryers
    done = {entry.fryer for entry in entries if is_done(entry, about.service)}
    at_work = [bath for bath in baths if about.worked(bath.key)]
    return {
        "standing": stands,
        "problem": visit.reader.tell(stands.problem) if stands.problem else "",
        "about": about,
        "rows": list(rows_of(visit, stands, about, kept, lines=lines, done=done, fryers=fryers)),
        "idle": len(at_work) < len(baths),
        "left": [named(bath) for bath in still_to_do(at_work, stands.assessments, done)],
    }


def rows_of(  # noqa: PLR0913 - what is known of all rows
    visit: Visit,
    stands: Standing,
    about: About,
    kept: Mapping[str, Kept],
    *,
    lines: Sequence[BookLine],
    done: Collection[str],
    fryers: Collection[str] | None,
) -> Iterator[ActsRow]:
    """Yield the rows of some fryers (all), in the kitchen's order."""
    setup = stands.setup
    strips = strips_by_fryer(visit, stands, fryers or [bath.key for bath in setup.kitchen.fryers])
    for number, bath in enumerate(setup.kitchen.fryers):
        if fryers is not None and bath.key not in fryers:
            continue
        worked, is_done_already = about.worked(bath.key), bath.key in done
        starts = worked and not is_done_already
        yield ActsRow(
            fryer=bath.key,
            number=number,
            name=named(bath),
            strip=strips.get(bath.key),
            worked=worked,
            done=is_done_already,
            lines=[line for line in reversed(lines) if line.entry.fryer == bath.key],
            asks=kept.get(bath.key)
            or Kept(parts=parts_of(visit, setup, bath, about.measures, worked=starts, sent=None), refused=""),
        )
