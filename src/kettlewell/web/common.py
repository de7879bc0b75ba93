"""What every screen of a kitchen needs: who stands where, at what time, and reads which language."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar
from urllib.parse import urlsplit, urlunsplit

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import translation
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

from kettlewell import clock
from kettlewell.records.access import Act, Place, place_of
from kettlewell.records.checks import LARGEST_CLOCK_ERROR
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Device, Kitchen
from kettlewell.records.phones import server_slow
from kettlewell.records.roster import tablet_with
from kettlewell.records.settings import zone_of
from kettlewell.telling import Reader, reader

P = ParamSpec("P")
T = TypeVar("T")
DEVICE_COOKIE = f"{settings.COOKIE_PREFIX}tablet"
KNOWN_COOKIE = f"{settings.COOKIE_PREFIX}known"
UNSENT = "unsent"


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """Someone who is in a kitchen, now, and may do what the screen is for.

    ``now`` is the time by the phones where they show that of the server's clock, ``server_now``, wrong
    by ``server_slow``; unless they lie so far apart that nothing can be filed.
    """

    place: Place
    now: datetime
    server_now: datetime
    server_slow: timedelta
    reader: Reader
    device: Device | None

    @property
    def kitchen(self) -> Kitchen:
        """The kitchen's row."""
        return self.place.kitchen

    @property
    def hand(self) -> Hand:
        """Whose hand writes what is written on this visit."""
        return Hand(person=self.place.person, now=self.now, device=self.device, server_now=self.server_now)

    def may(self, act: Act) -> bool:
        """Tell whether the person may do this here."""
        return self.place.may(act)


Screen = Callable[Concatenate[HttpRequest, Visit, P], HttpResponse]


def in_kitchen(act: Act) -> Callable[[Screen[P]], Callable[..., HttpResponse]]:
    """Let a view in only for someone who may do ``act`` there; its address holds the kitchen's ``slug``."""

    def guarded(view: Screen[P]) -> Callable[..., HttpResponse]:
        @wraps(view)
        def guard(request: HttpRequest, slug: str, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if not request.user.is_authenticated:
                return signed_out(request, slug)
            visit = visit_of(request, slug, act)
            request.visit = visit  # type: ignore[attr-defined]  # for the frame around every page
            if request.method == "GET" and UNSENT in request.GET:
                messages.warning(
                    request, _("What you sent last was not kept: you were signed out. Send it again.")
                )
            return view(request, visit, *args, **kwargs)

        return guard

    return guarded


def signed_out(request: HttpRequest, slug: str) -> HttpResponse:
    """Lead to the sign-in, and from there to the page that was asked for or that something was sent from."""
    if "HX-Request" in request.headers:
        page = page_before(request, slug, request.headers.get("HX-Current-URL", ""))
        return HttpResponse(headers={"HX-Redirect": redirect_to_login(page).url})
    if request.method in ("GET", "HEAD"):
        return redirect_to_login(request.get_full_path())
    page = page_before(request, slug, request.headers.get("Referer", ""))
    return redirect_to_login(f"{page}{'&' if '?' in page else '?'}{UNSENT}")


def page_before(request: HttpRequest, slug: str, address: str) -> str:
    """Return the page of this server at an address; that of the line where it is none."""
    here = {request.get_host()}
    if not url_has_allowed_host_and_scheme(address, here, require_https=request.is_secure()):
        return reverse("line", args=[slug])
    parts = urlsplit(address)
    return urlunsplit(("", "", parts.path, parts.query, ""))


def visit_of(request: HttpRequest, slug: str, act: Act) -> Visit:
    """Return who visits which kitchen; raises Http404 for strangers, PermissionDenied for the others."""
    server_now = clock.now()
    place = place_of(request.user, slug, act, server_now)
    slow = server_slow(place.kitchen, server_now)
    now = server_now + slow if abs(slow) <= LARGEST_CLOCK_ERROR else server_now
    return Visit(
        place=place,
        now=now,
        server_now=server_now,
        server_slow=slow,
        reader=reader_of(zone_of(place.kitchen).key, now),
        device=device_of(request, place.kitchen),
    )


def reader_of(zone: str, now: datetime) -> Reader:
    """Return who reads: the language of this request, the kitchen's clocks."""
    return reader(zone, now, locale=translation.get_language() or "en-gb")


def device_of(request: HttpRequest, kitchen: Kitchen) -> Device | None:
    """Return the shared tablet this is, if it is one of this kitchen."""
    signed = request.get_signed_cookie(DEVICE_COOKIE, default="", salt=DEVICE_COOKIE)
    device = tablet_with(signed) if signed else None
    return device if device and device.kitchen_id == kitchen.pk else None


def phone_of(request: HttpRequest, visit: Visit) -> str:
    """Return what the phone is known by: the kitchen's tablet, a browser signed in from, or its session."""
    if visit.device:
        return str(visit.device.pk)
    return remembered(request)[0] or request.session.session_key or ""


def remembered(request: HttpRequest) -> list[str]:
    """Return a browser's number and the digests it remembers; of a new one, an empty number alone."""
    return (request.get_signed_cookie(KNOWN_COOKIE, default="", salt=KNOWN_COOKIE) or "").split(".")


def or_404(found: T | None) -> T:
    """Return what was found; raises Http404 where nothing was."""
    if found is None:
        raise Http404
    return found
