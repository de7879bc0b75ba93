"""What was done after a verdict to change, looked over by someone else."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from kettlewell.records.access import Act
from kettlewell.records.ids import uuid7
from kettlewell.records.selectors import entry_in, read_after, reviews_of
from kettlewell.web.common import Visit, in_kitchen, or_404
from kettlewell.web.entry.asking import form_of
from kettlewell.web.entry.lines import book_lines, days_of
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.writing import say_written, written


@in_kitchen(Act.SET_UP)
def look_over(request: HttpRequest, visit: Visit, entry: UUID) -> HttpResponse:
    """Show what was done after a verdict and read since; write down that it was looked over."""
    settled, slug = or_404(entry_in(visit.kitchen, entry, kind="settled")), visit.kitchen.slug
    if reviews_of(settled).exists():
        return redirect("entry", slug, settled.pk)
    sent = request.POST if request.method == "POST" else None
    form = form_of("reviewed", visit, settled.fryer, sent=sent, initial={"settled": settled.pk})
    if sent is not None and (recorded := written(request, visit, "reviewed", form)):
        say_written(request, visit, recorded.entry)
        return redirect("line", slug)
    names, read = names_of(visit.kitchen), read_after(settled)
    line = book_lines([settled], names, visit)[0]
    context = {
        "line": line,
        "day": days_of([line], visit.reader)[0][0],
        "read": book_lines([read], names, visit)[0] if read else None,
        "form": form,
        "entry_id": uuid7(visit.now),
    }
    return render(request, "web/reading/look_over.html", context)
