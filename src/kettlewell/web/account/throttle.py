"""What axes counts failures by: passwords by name and address, PINs by the person alone."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

TOO_MANY = 429


def by_pin(request: HttpRequest) -> bool:
    """Tell whether someone is signing by PIN."""
    match = getattr(request, "resolver_match", None)
    return match is not None and match.url_name == "sign"


def counted_name(request: HttpRequest, credentials: Mapping[str, Any] | None) -> str | None:
    """Return the name under which failures are counted; wrong PINs do not lock the password."""
    name = (credentials or {}).get("username")
    return f"PIN of {name}" if name is not None and by_pin(request) else name


def counted_by(request: HttpRequest, credentials: Mapping[str, Any] | None = None) -> list[str | list[str]]:
    """Return what counts together.

    A PIN has few digits, so nobody gets more guesses by changing the address; a password
    counts by address too, so that a stranger elsewhere cannot lock anyone out.
    """
    del credentials
    return ["username"] if by_pin(request) else [["username", "ip_address"]]


def locked_out(
    request: HttpRequest, response: HttpResponse | None, credentials: Mapping[str, Any] | None
) -> HttpResponse:
    """Return the page for someone who has guessed too often."""
    del response, credentials
    return render(request, "web/account/locked_out.html", {"by_pin": by_pin(request)}, status=TOO_MANY)
