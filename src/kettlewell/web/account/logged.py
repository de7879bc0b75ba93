"""What the log of access is told by the screens: who came, who was turned away, from which address."""

from collections.abc import Mapping
from typing import Any

from django.contrib.auth.signals import user_logged_in, user_logged_out, user_login_failed
from django.dispatch import receiver
from django.http import HttpRequest

from kettlewell.records.access_log import Event, tell
from kettlewell.records.models import Person
from kettlewell.records.roster import signing_in_as


def tell_of(request: HttpRequest, event: Event, person: object, **more: object) -> None:
    """Write a line on what somebody asked for; a visitor without an account is nobody."""
    match = request.resolver_match
    who = person.pk if isinstance(person, Person) else None
    tell(
        event,
        who,
        address=request.META.get("REMOTE_ADDR", ""),
        page=match.url_name if match else None,
        **more,
    )


@receiver(user_logged_in)
def signed_in(request: HttpRequest, user: Person, **_more: object) -> None:
    """Tell who signed in."""
    tell_of(request, Event.SIGNED_IN, user)


@receiver(user_logged_out)
def signed_out(request: HttpRequest, user: Person | None, **_more: object) -> None:
    """Tell who signed out, or was signed out."""
    if user is not None:
        tell_of(request, Event.SIGNED_OUT, user)


@receiver(user_login_failed)
def failed(request: HttpRequest | None, credentials: Mapping[str, Any], **_more: object) -> None:
    """Tell that a password, PIN or code was wrong, and of whose account: never what was typed."""
    if request is not None:
        tell_of(request, Event.SIGN_IN_FAILED, signing_in_as(credentials.get("username") or ""))
