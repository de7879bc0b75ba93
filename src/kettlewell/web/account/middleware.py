"""What holds for every page: headers Django has no setting for, and short sessions on a shared tablet."""

import re
from collections.abc import Callable, Mapping

from django.contrib.auth import SESSION_KEY, logout
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed

from kettlewell import clock
from kettlewell.records.access import not_here
from kettlewell.records.book_file import is_kept
from kettlewell.records.roster import tablet_with
from kettlewell.telling import unparted
from kettlewell.web.account.errors import book_gone
from kettlewell.web.account.tablets import BY_PIN, TABLET

Answer = Callable[[HttpRequest], HttpResponse]
BEGAN, HOUR = "began", "hour"
LOOKS_AGAIN = "line"  # the part of a page that does
LONGEST_S = 30 * 24 * 3600
METHODS = ("GET", "HEAD", "POST")
BETWEEN_TAGS = re.compile(r">[^<>]+<")
PERMISSIONS = "camera=(), geolocation=(), microphone=(), payment=(), usb=()"


def headers(get_response: Answer) -> Answer:
    """Answer what pages are asked by alone; let them use no sensor of the phone, and keep none of them.

    Who takes the tablet next is to find no page there, and no other site is to load one.
    """

    def answer(request: HttpRequest) -> HttpResponse:
        known = request.method in METHODS
        response = get_response(request) if known else HttpResponseNotAllowed(METHODS)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS)
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        if response.get("Content-Type", "").startswith("text/html"):
            response.headers.setdefault("Cache-Control", "private, no-store")
        return response

    return answer


def kept_book(get_response: Answer) -> Answer:
    """Take nothing, and say that nothing was taken, once the day book's file is gone or replaced."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request) if is_kept() else None
        return response if response is not None and is_kept() else book_gone()

    return answer


def numbers_with_units(get_response: Answer) -> Answer:
    """Part no number from its unit at the end of a line: in what a page says, not in what it sends back."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if response.get("Content-Type", "").startswith("text/html") and not response.streaming:
            page = response.content.decode(response.charset)
            response.content = BETWEEN_TAGS.sub(lambda said: unparted(said[0]), page)
        return response

    return answer


def session_go_on(request: HttpRequest) -> None:
    """Begin the idle time anew, stored once an hour; sign out at the end of the longest session."""
    now_s = int(clock.now().timestamp())
    if now_s - request.session.setdefault(BEGAN, now_s) > LONGEST_S:
        logout(request)
    elif request.session.get(HOUR) != now_s // 3600:
        request.session[HOUR] = now_s // 3600


class SharedTablet:
    """A session runs on while it is used. One on a shared tablet ends with the tablet.

    One that began with a PIN stays in the tablet's kitchen: four digits open no other.
    """

    def __init__(self, get_response: Answer) -> None:
        """Stand before all views."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Begin the idle time anew, or sign out where the tablet was retired."""
        if key := request.session.get(TABLET):
            if tablet_with(key):
                # a page that looks again by itself is not somebody at work
                request.session.modified = request.headers.get("HX-Trigger") != LOOKS_AGAIN
            else:
                logout(request)
        if SESSION_KEY in request.session:
            session_go_on(request)
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, _view: object, _args: object, kwargs: Mapping[str, object]
    ) -> None:
        """Raise Http404 for another kitchen than the tablet's."""
        if not request.session.get(BY_PIN) or "slug" not in kwargs:
            return
        device = tablet_with(request.session[TABLET])
        if device is None or device.kitchen.slug != kwargs["slug"]:
            raise not_here(str(kwargs["slug"]))
