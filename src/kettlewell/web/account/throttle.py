"""What axes counts failures by: whose they are, what was guessed, and from which place."""

from collections.abc import Mapping
from ipaddress import IPv6Address, ip_address
from typing import Any

from axes.handlers.proxy import AxesProxyHandler
from django.contrib.auth.signals import user_login_failed
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from kettlewell.records.access_log import Event
from kettlewell.records.guesses import guess_key
from kettlewell.records.roster import signing_in_as
from kettlewell.web.account.known import browser_known_to
from kettlewell.web.account.logged import tell_of
from kettlewell.web.account.tablets import tablet_of

TOO_MANY = 429
SIGNING = {"sign-in": "password", "code": "password", "sign": "pin", "set-up": "code"}
NOBODY = {"username": ""}  # a code that goes with no name
INTERFACE_BITS = 64


def page_of(request: HttpRequest) -> str:
    """Return the name of the page that asks for a secret."""
    match = getattr(request, "resolver_match", None)
    return (match and match.url_name) or "sign-in"


def counted_name(request: HttpRequest, credentials: Mapping[str, Any] | None) -> str | None:
    """Return the key under which failures are counted, None where nobody is named."""
    name = (credentials or {}).get("username")
    if name is None:
        return None
    page = page_of(request)
    return guess_key(name, SIGNING.get(page, "own"), place_of_guess(request, page, name))


def place_of_guess(request: HttpRequest, page: str, name: str) -> str:
    """Return where someone guesses: a tablet, a session, a browser known to this name; a stranger nowhere."""
    if page not in SIGNING:
        return "signed-in"
    if page == "sign" and (tablet := tablet_of(request)):
        return str(tablet.pk)
    return browser_known_to(request, name)


def counted_address(request: HttpRequest) -> str | None:
    """Return the address that failures are counted by: of IPv6 the network, which one visitor has whole."""
    try:
        address = ip_address(request.META.get("REMOTE_ADDR", ""))
    except ValueError:
        return None
    if isinstance(address, IPv6Address) and address.ipv4_mapped is None:
        address = IPv6Address(int(address) >> INTERFACE_BITS << INTERFACE_BITS)
    return str(address)


def may_guess(request: HttpRequest) -> bool:
    """Tell whether a code of nobody's may be tried now; where it may not, the answer is to wait."""
    allowed: bool = AxesProxyHandler.is_allowed(request, NOBODY)
    if not allowed:
        request.axes_locked_out = True  # type: ignore[attr-defined]  # axes' middleware asks for it
    return allowed


def guessed_wrong(request: HttpRequest) -> None:
    """Tell that a code of nobody's was wrong; it is counted and logged as a wrong password is."""
    user_login_failed.send(sender=__name__, request=request, credentials=NOBODY)


def locked_out(
    request: HttpRequest, response: HttpResponse | None, credentials: Mapping[str, Any] | None
) -> HttpResponse:
    """Return the page for someone who has guessed too often."""
    del response
    tell_of(request, Event.LOCKED_OUT, signing_in_as((credentials or {}).get("username") or ""))
    page = page_of(request)
    return render(request, "web/account/locked_out.html", {"page": page}, status=TOO_MANY)
