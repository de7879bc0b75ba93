"""Recalled lots of oil: what is told of them, and where each is or was."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from kettlewell.book.account import Where
from kettlewell.book.lots import Held
from kettlewell.bridge.recalls import Recalled, recalls
from kettlewell.records.access import Act
from kettlewell.records.selectors import lots_named
from kettlewell.telling import N_, Reader
from kettlewell.telling.cautions import DRAIN_BY_HAND, DRAIN_BY_PUMP
from kettlewell.web.book.wide import is_written, shown, wide_form
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.lines import BookLine, book_lines
from kettlewell.web.entry.names import Names, names_of

WHERE = {
    (Where.FRYER, False): N_("{fryer}: {since} to {until}"),
    (Where.FRYER, True): N_("{fryer}: since {since}, still in the fryer"),
    (Where.KEPT, False): N_("{fryer}, kept apart: {since} to {until}"),
    (Where.KEPT, True): N_("{fryer}: since {since}, still kept apart"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallShown:
    """A recall in words: where the oil was, where some was that may be of it, whether it is there still."""

    line: BookLine
    held: Sequence[str]
    perhaps: Sequence[str]
    still: bool


@require_safe
@in_kitchen(Act.READ)
def recalled(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show every recall, with the fryers that held its oil and the days."""
    found, names = recalls(visit.kitchen, visit.now), names_of(visit.kitchen)
    lines = {line.entry.pk: line for line in book_lines([each.entry for each in found], names, visit)}
    rows = [recall_shown(each, lines[each.entry.pk], names, visit.reader) for each in found]
    cautions = [visit.reader.say(text) for text in (DRAIN_BY_HAND, DRAIN_BY_PUMP)]
    context = {"recalls": rows, "cautions": cautions if any(row.still for row in rows) else []}
    return render(request, "web/book/recalls.html", context)


@in_kitchen(Act.RECORD)
def recall(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Ask which lot was recalled, and lead to where it is."""
    form = wide_form(request, visit, "recall")
    if is_written(request, visit, "recall", form):
        return redirect("recalls", visit.kitchen.slug)
    return shown(request, visit, "recall", form, lots=lots_named(visit.kitchen))


def recall_shown(found: Recalled, line: BookLine, names: Names, reader: Reader) -> RecallShown:
    """Return what the page says of a recall."""
    return RecallShown(
        line=line,
        held=[where_words(stretch, names, reader) for stretch in found.held],
        perhaps=[where_words(stretch, names, reader) for stretch in found.perhaps],
        still=found.still,
    )


def where_words(stretch: Held, names: Names, reader: Reader) -> str:
    """Return where oil was, and on which days."""
    return reader.say(
        WHERE[stretch.vessel.place, stretch.until is None],
        fryer=names.of("fryers", stretch.vessel.key),
        since=reader.calendar_day(stretch.since),
        until="" if stretch.until is None else reader.calendar_day(stretch.until),
    )
