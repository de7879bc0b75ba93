"""What stands around every page: the kitchen, who is signed in, and the screens they may open."""

from typing import Any

from babel.numbers import get_decimal_symbol
from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _

from kettlewell.records.access import Act
from kettlewell.records.checks import is_book_ahead
from kettlewell.records.models import Person
from kettlewell.records.roster import seats_held
from kettlewell.records.settings import kitchen_name
from kettlewell.telling.clocks import server_clock
from kettlewell.web.account.tablets import BY_PIN, TABLET
from kettlewell.web.common import Visit

SCREEN_OF = {
    "line": ("line", "fryer", "fills", "what-if"),
    "round": (
        *("round-readings", "round-reading", "round-service", "round-acts"),
        *("reading", "reading-at", "acts", "act", "told", "settle", "look-over", "answer-call"),
    ),
    "meters": ("meters", "meter-check", "meter-found", "look-back", "relied", "compare"),
    "book": (
        *("book", "entry", "correct", "undo", "review", "recalls", "recall"),
        *("old-oil", "collected", "inspection"),
    ),
    "kitchen": ("kitchen", "thing-new", "thing", "people", "person-new", "person", "trainings", "training"),
}


def frame(request: HttpRequest) -> dict[str, Any]:
    """Return the context of every page. Where nobody is in a kitchen, what belongs to one is left out."""
    user = getattr(request, "user", None)
    visit: Visit | None = getattr(request, "visit", None)
    context: dict[str, Any] = {
        "person": user if isinstance(user, Person) else None,
        "sign_out_url": reverse("sign-out"),
        "languages": settings.LANGUAGES,
        "here": request.get_full_path() if request.method in ("GET", "HEAD") else "",
        "decimal_sign": get_decimal_symbol(
            visit.reader.locale if visit else translation.to_locale(translation.get_language() or "en-gb")
        ),
    }
    if context["person"]:
        context["on_tablet"] = TABLET in request.session
    if visit is not None:
        context |= {
            "kitchen": {"name": kitchen_name(visit.kitchen), "slug": visit.kitchen.slug},
            "may": {act.value: visit.may(act) for act in Act},
            "screens": screens(request, visit),
            "person_links": person_links(request, visit),
            "book_is_ahead": is_book_ahead(visit.kitchen, visit.now, visit.server_now),
            "server_clock": server_clock(visit.server_slow, visit.reader),
        }
    return context


def screens(request: HttpRequest, visit: Visit) -> list[dict[str, object]]:
    """Return the screens of this kitchen the person may open, and which of them this is."""
    match = request.resolver_match
    here = match.url_name if match else None
    labelled = (
        ("line", _("Line"), Act.READ),
        ("round", _("Round"), Act.RECORD),
        ("meters", _("Meters"), Act.READ),
        ("book", _("Day book"), Act.READ),
        ("kitchen", _("Kitchen"), Act.READ),
    )
    return [
        {
            "key": key,
            "label": label,
            "url": reverse(key, args=[visit.kitchen.slug]),
            "current": here in SCREEN_OF[key],
        }
        for key, label, act in labelled
        if visit.may(act)
    ]


def person_links(request: HttpRequest, visit: Visit) -> list[dict[str, str]]:
    """Return where else the person may go: the people of this kitchen, other kitchens."""
    if request.session.get(BY_PIN):
        return []
    links = []
    if visit.may(Act.PEOPLE):
        links.append({"url": reverse("people", args=[visit.kitchen.slug]), "label": _("People and tablets")})
    if seats_held(visit.place.person) > 1:
        links.append({"url": reverse("kitchens"), "label": _("Other kitchens")})
    return links
