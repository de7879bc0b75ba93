"""What is shown where a form is not ours or too old, and where the server itself fails."""

import sys

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from kettlewell.records.book_file import is_of_storage


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Return the page for a form that was not ours, or was open too long."""
    del reason
    return render(request, "403_csrf.html", status=403)


def server_error(request: HttpRequest) -> HttpResponse:
    """Return the page for an error: of the program, or of the disk or database beneath it."""
    del request
    if is_of_storage(sys.exception()):
        return unavailable(_("The server cannot write: its disk may be full, or its database busy or away."))
    return HttpResponse(render_to_string("500.html"), status=500)


def book_gone() -> HttpResponse:
    """Return the page of a server whose day book was taken from under it."""
    return unavailable(_("The day book's file is gone or was replaced while the server ran."))


def unavailable(why: str) -> HttpResponse:
    """Return the page that says why nothing can be stored; it asks nothing of the database."""
    return HttpResponse(render_to_string("503.html", {"why": why}), status=503)
