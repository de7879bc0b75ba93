"""What was written down days late, and the one verdict that it ends with."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from kettlewell.bridge.standing import standing
from kettlewell.bridge.verdicts import late_entries, tell_now
from kettlewell.records.access import Act
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.sentences import sentence


@in_kitchen(Act.RECORD)
def late(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Ask whether more of earlier days is to be written; if not, tell what stands now."""
    slug = visit.kitchen.slug
    if request.method == "POST":
        verdicts = tell_now(visit.kitchen, visit.hand)
        if len(verdicts) == 1:
            return redirect("told", slug, next(iter(verdicts.values())).pk)
        return redirect("line", slug)
    entries = late_entries(visit.kitchen)
    stands = standing(visit.kitchen, visit.now, of=list(entries))
    of_kitchen, reader = names_of(visit.kitchen), visit.reader
    rows = [
        (told.fryer, told.name, reader.day(entry.at), sentence(entry.kind, entry.payload, of_kitchen, reader))
        for told in stands.assessments
        if told.in_use and (entry := entries[told.fryer])
    ]
    if not rows:
        return redirect("line", slug)
    return render(request, "web/reading/late.html", {"rows": rows})
