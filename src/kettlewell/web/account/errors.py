"""What is answered where somebody is refused or something fails, and the line in the log for each."""

from django.core.exceptions import DisallowedHost
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.views import defaults

from kettlewell.records.access_log import Event
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


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponseBase:
    """Return the page for what cannot be answered: too long, broken, or under a name that is not ours."""
    user = getattr(request, "user", None)  # the host is looked at before anybody is asked for
    if isinstance(exception, DisallowedHost):
        tell_of(request, Event.REFUSED, user, why="host", host=request.META.get("HTTP_HOST"))
    else:
        tell_of(request, Event.REFUSED, user, why=type(exception).__name__)
    return defaults.bad_request(request, exception)


def server_error(request: HttpRequest) -> HttpResponseBase:
    """Return the page for an error of ours; the database is not asked who met it, for it may be the cause."""
    visit = getattr(request, "visit", None)
    tell_of(request, Event.SERVER_ERROR, visit and visit.place.person)
    return defaults.server_error(request)
