"""What is written of the whole kitchen, each on a page of its own."""

from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from kettlewell.records.access import Act
from kettlewell.records.ids import uuid7
from kettlewell.records.models import Entry
from kettlewell.records.selectors import begun_at, standing_of
from kettlewell.records.settings import day_in
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.asking import form_of
from kettlewell.web.entry.forms import OnScreen
from kettlewell.web.entry.lines import BookLine, book_lines, days_of
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.writing import say_written, written


@in_kitchen(Act.SET_UP)
def review(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Ask of which days the records were looked through, and show when they were before."""
    before = list(standing_of(visit.kitchen, "review"))
    today = day_in(visit.kitchen, visit.now)
    form = wide_form(request, visit, "review", first_day=first_unseen(visit, before, today), last_day=today)
    if is_written(request, visit, "review", form):
        return redirect("review", visit.kitchen.slug)
    return shown(request, visit, "review", form, days=written_days(before, visit))


def first_unseen(visit: Visit, before: list[Entry], today: date) -> date:
    """Return the day after the last that was looked through, at the latest today; of a new book its first."""
    lasts = [date.fromisoformat(entry.payload["last_day"]) for entry in before]
    if lasts:
        return min(max(lasts) + timedelta(days=1), today)
    return day_in(visit.kitchen, begun_at(visit.kitchen) or visit.now)


def wide_form(request: HttpRequest, visit: Visit, kind: str, **initial: object) -> OnScreen:
    """Return the form for a kind of entry that is of no fryer, with what was sent."""
    return form_of(kind, visit, "", sent=request.POST if request.method == "POST" else None, initial=initial)


def is_written(request: HttpRequest, visit: Visit, kind: str, form: OnScreen) -> bool:
    """Write down what was sent, if anything was, and tell whether it is; the next page says it."""
    recorded = written(request, visit, kind, form) if request.method == "POST" else None
    if recorded:
        say_written(request, visit, recorded.entry)
    return recorded is not None


def written_days(entries: list[Entry], visit: Visit) -> list[tuple[str, list[BookLine]]]:
    """Return entries as lines under their days."""
    return days_of(book_lines(entries, names_of(visit.kitchen), visit), visit.reader)


def shown(request: HttpRequest, visit: Visit, page: str, form: OnScreen, **more: object) -> HttpResponse:
    """Return a page with its form."""
    return render(request, f"web/book/{page}.html", {"form": form, "entry_id": uuid7(visit.now), **more})
