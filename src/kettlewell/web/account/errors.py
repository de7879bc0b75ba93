"""What is answered where somebody is refused or something fails, and the line in the log for each."""

import sys

from django.core.exceptions import DisallowedHost
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext as _
from django.views import defaults

from kettlewell.records.access import StrangerError
from kettlewell.records.access_log import Event
from kettlewell.records.book_file import is_of_storage
from kettlewell.web.account.logged import tell_of


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Return the page for a form that was not ours, or was open too long."""
    del reason
    tell_of(request, Event.REFUSED, request.user, why="csrf")
    return render(request, "403_csrf.html", status=403)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponseBase:
    """Return the page for somebody who may not do what was asked."""
    tell_of(request, Event.REFUSED, request.user, why="permission")
    return defaults.permission_denied(request, exception)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Return the page for what is not there; who asks for a kitchen of others is told no more than that."""
    if isinstance(exception, StrangerError):
        tell_of(request, Event.REFUSED, request.user, why="kitchen")
    return render(request, "404.html", status=404)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Return the page for what cannot be answered: too long, broken, or under a name that is not ours.

    The form that was sent is not looked at: it may be what cannot be read. So in a server error.
    """
    user = getattr(request, "user", None)  # the host is looked at before anybody is asked for
    if isinstance(exception, DisallowedHost):
        tell_of(request, Event.REFUSED, user, why="host", host=request.META.get("HTTP_HOST"))
        return unknown_host(request)
    tell_of(request, Event.REFUSED, user, why=type(exception).__name__)
    return HttpResponse(render_to_string("400.html"), status=400)


def unknown_host(request: HttpRequest) -> HttpResponse:
    """Return the page for an address under which the server does not answer; it says what to do.

    It does not say the address, which whoever leads others here has chosen.
    """
    with translation.override(translation.get_language_from_request(request)):
        page = render_to_string("400_host.html")
    return HttpResponse(page, status=400)


def server_error(request: HttpRequest) -> HttpResponse:
    """Return the page for an error: of the program, or of the disk or database beneath it.

    The database is not asked who met it, for it may be the cause.
    """
    visit = getattr(request, "visit", None)
    tell_of(request, Event.SERVER_ERROR, visit and visit.place.person)
    if is_of_storage(sys.exception()):
        return unavailable(_("The server cannot write: its disk may be full, or its database busy or away."))
    return HttpResponse(render_to_string("500.html"), status=500)


def book_gone() -> HttpResponse:
    """Return the page of a server whose day book was taken from under it."""
    return unavailable(_("The day book's file is gone or was replaced while the server ran."))


def unavailable(why: str) -> HttpResponse:
    """Return the page that says why nothing can be stored; it asks nothing of the database."""
    return HttpResponse(render_to_string("503.html", {"why": why}), status=503)
