"""Browsers that people signed in from before: a signed cookie holds a number and digests of names."""

import secrets

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from kettlewell.records.guesses import name_digest
from kettlewell.web.common import KNOWN_COOKIE, remembered

KNOWN_AGE_S = 400 * 24 * 3600  # browsers keep none longer
MOST_NAMES = 20


def browser_known_to(request: HttpRequest, sign_in: str) -> str:
    """Return the number of the browser where someone signed in from it with this name; else nothing."""
    number, *names = remembered(request)
    return number if name_digest(sign_in) in names else ""


def known_keep(request: HttpRequest, response: HttpResponse, sign_in: str) -> None:
    """Let the browser remember that someone signed in from it."""
    number, *names = remembered(request)
    own = name_digest(sign_in)
    kept = [own, *(name for name in names if name != own)][:MOST_NAMES]
    response.set_signed_cookie(
        KNOWN_COOKIE,
        ".".join([number or secrets.token_hex(8), *kept]),
        salt=KNOWN_COOKIE,
        max_age=KNOWN_AGE_S,
        secure=settings.HTTPS,
        httponly=True,
        samesite="Lax",
    )
