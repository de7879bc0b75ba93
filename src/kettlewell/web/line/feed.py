"""What is due in a kitchen, as a calendar that other programs read (iCalendar, RFC 5545)."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import translation
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe
from icalendar import Calendar, Event

from kettlewell import __version__, clock
from kettlewell.bridge.meters import meters_checked
from kettlewell.bridge.standing import standing
from kettlewell.core.decision import VerdictKey
from kettlewell.records.access import Act
from kettlewell.records.feeds import feed_behind, feed_make, feed_of, feed_revoke
from kettlewell.records.models import Kitchen
from kettlewell.records.settings import kitchen_name, zone_of
from kettlewell.telling import Reader, reader
from kettlewell.telling.meters import when_next
from kettlewell.telling.verdicts import next_act
from kettlewell.web.common import Visit, in_kitchen, or_404
from kettlewell.web.entry.codes import noted
from kettlewell.web.line.strips import due_at

LASTS = timedelta(minutes=15)
ASK_AGAIN = timedelta(hours=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Appointment:
    """Something to be done at a time; ``key`` stays the same while it moves."""

    key: str
    at: datetime
    title: str
    said: str = ""


@require_safe
def feed(_request: HttpRequest, secret: str) -> HttpResponse:
    """Answer with the calendar of the kitchen whose secret address this is."""
    found = or_404(feed_behind(secret))
    words = reader(zone_of(found.kitchen).key, clock.now(), locale=found.language)
    with translation.override(found.language):
        content = calendar(found.kitchen, words)
    return HttpResponse(content, content_type="text/calendar; charset=utf-8")


@in_kitchen(Act.SET_UP)
def feed_address(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show since when there is an address, and make one, which is shown this once, or take it away."""
    address = ""
    if "revoke" in request.POST:
        feed_revoke(visit.kitchen)
        return redirect("calendar", visit.kitchen.slug)
    if request.method == "POST":
        secret = feed_make(visit.kitchen, get_language() or "en", hand=visit.hand)
        address = request.build_absolute_uri(reverse("feed", args=(secret,)))
    there = feed_of(visit.kitchen)
    made = visit.reader.date(there.made_at) if there else ""
    context = {"address": address, "subscribe": f"webcal:{address.partition(':')[2]}", "made": made}
    return render(request, "web/line/calendar.html", context)


def calendar(kitchen: Kitchen, words: Reader) -> bytes:
    """Return what is due as iCalendar: the same appointments again move, they do not double."""
    found = Calendar()
    found.add("prodid", f"-//Kettlewell//{__version__}//")
    found.add("version", "2.0")
    found.add("name", kitchen_name(kitchen))
    found.add("refresh-interval", ASK_AGAIN, parameters={"value": "DURATION"})
    for appointment in appointments(kitchen, words):
        found.add_component(event(appointment, kitchen, words))
    return bytes(found.to_ical())


def event(appointment: Appointment, kitchen: Kitchen, words: Reader) -> Event:
    """Return an appointment as an event, with the check code of the day book it was worked out from."""
    made = Event()
    made.add("uid", f"{appointment.key}@{kitchen.pk}")
    made.add("dtstamp", words.now)
    made.add("sequence", kitchen.head_seq)
    made.add("dtstart", appointment.at)
    made.add("dtend", appointment.at + LASTS)
    made.add("summary", appointment.title)
    made.add("description", "\n".join(filter(None, [appointment.said, noted(kitchen)])))
    return made


def appointments(kitchen: Kitchen, words: Reader) -> Iterator[Appointment]:
    """Yield what is to be done at fryers and meters; what is overdue is due now."""
    stands = standing(kitchen, words.now)
    for told in stands.assessments:
        if not told.in_use:
            continue
        act = f"{told.name}: {next_act(told, words)}"
        yield Appointment(key=f"fryer-{told.fryer}", at=max(due_at(told), words.now), title=act)
        change_at = told.life.change_at
        if told.verdict.key is VerdictKey.FRY_ON and change_at is not None:
            title = _("%(fryer)s: oil change expected") % {"fryer": told.name}
            said = _("As things stand. A reading may move it.")
            yield Appointment(key=f"change-{told.fryer}", at=change_at, title=title, said=said)
    for report in meters_checked(kitchen, words.now).reports:
        if report.in_use and report.next_check.at is not None:
            title = _("%(meter)s: check it in reference oil") % {"meter": report.meter.name}
            at = max(report.next_check.at, words.now)
            yield Appointment(
                key=f"meter-{report.meter.key}", at=at, title=title, said=when_next(report, words)
            )
