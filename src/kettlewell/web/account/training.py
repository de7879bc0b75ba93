"""Who was trained in what, and when."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from kettlewell.records.access import Act
from kettlewell.records.ids import uuid7
from kettlewell.records.models import Entry
from kettlewell.records.selectors import trainings_of
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.asking import at_work, form_of
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.sentences import SHOWN
from kettlewell.web.entry.writing import say_written, written


@dataclass(frozen=True, slots=True, kw_only=True)
class Trained:
    """One training: its entry, who was trained in what, and on which day."""

    entry: Entry
    who: str
    topics: str
    day: str


@require_safe
@in_kitchen(Act.READ)
def trainings(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show who was trained in what, person by person, the newest first."""
    rows = sorted(trained_of(trainings_of(visit.kitchen), visit), key=lambda row: row.who)
    return render(request, "web/account/trainings.html", {"trainings": rows})


@in_kitchen(Act.SET_UP)
def training(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Ask who was trained in what, and write it down."""
    sent = request.POST if request.method == "POST" else None
    asked = request.GET.get("person", "")
    initial = {"trained": asked} if asked in at_work(visit) else {}
    form = form_of("training", visit, "", sent=sent, initial=initial)
    if sent is not None and (recorded := written(request, visit, "training", form)):
        say_written(request, visit, recorded.entry)
        return redirect("trainings", visit.kitchen.slug)
    return render(request, "web/account/training.html", {"form": form, "entry_id": uuid7(visit.now)})


def trained_of(entries: Iterable[Entry], visit: Visit) -> list[Trained]:
    """Return trainings as they are shown."""
    names, reader = names_of(visit.kitchen), visit.reader
    return [
        Trained(
            entry=entry,
            who=SHOWN["trained"](entry.payload["trained"], names, reader),
            topics=SHOWN["trained_in"](entry.payload["trained_in"], names, reader),
            day=reader.written_day(entry.at.astimezone(reader.zone).date()),
        )
        for entry in entries
    ]
