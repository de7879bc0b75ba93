"""Wrong passwords, PINs and codes, counted by django-axes under keys that hold no name.

A key is a digest of the sign-in name, what was guessed, and the place it was guessed at; a stranger's
place is empty. Why so: SECURITY.md.
"""

from typing import Any

from axes.attempts import get_cool_off_threshold
from axes.handlers.database import AxesDatabaseHandler
from axes.helpers import get_client_username
from axes.models import AccessAttempt
from django.db import transaction
from django.db.models import Sum
from django.http import HttpRequest
from django.utils.crypto import salted_hmac

BY_NAME = 5
BY_ADDRESS = 20
DIGEST_LENGTH = 32


def name_digest(sign_in: str) -> str:
    """Return what stands for a sign-in name in keys and cookies: nothing, without the server's secret."""
    return salted_hmac("kettlewell.records.guesses", sign_in).hexdigest()[:DIGEST_LENGTH]


def guess_key(sign_in: str, what: str, place: str) -> str:
    """Return under which key wrong guesses are counted."""
    return f"{name_digest(sign_in)}:{what}:{place}"


def guesses_forget(sign_in: str) -> None:
    """Forget the wrong guesses at a name, wherever they came from."""
    AccessAttempt.objects.filter(username__startswith=f"{name_digest(sign_in)}:").delete()


class GuessHandler(AxesDatabaseHandler):  # type: ignore[misc]  # axes has no types
    """Counts a stranger's guesses by the address too, whatever the names."""

    def get_failures(self, request: HttpRequest, credentials: dict[str, Any] | None = None) -> int:
        """Return how many guesses count, so that BY_NAME are too many."""
        at_name = int(super().get_failures(request, credentials))
        if not str(get_client_username(request, credentials)).endswith(":"):
            return at_name
        from_address = AccessAttempt.objects.filter(
            ip_address=request.axes_ip_address,  # type: ignore[attr-defined]  # axes sets it
            username__endswith=":",
            attempt_time__gte=get_cool_off_threshold(request),
        ).aggregate(guesses=Sum("failures_since_start"))["guesses"]
        return max(at_name, (from_address or 0) - (BY_ADDRESS - BY_NAME))

    def user_login_failed(
        self, sender: str, credentials: dict[str, Any], request: HttpRequest | None = None, **more: object
    ) -> None:
        """Count a wrong guess, and keep nothing that was typed: axes would keep all fields of the form."""
        with transaction.atomic():
            super().user_login_failed(sender, credentials, request, **more)
            attempts = AccessAttempt.objects.filter(username=get_client_username(request, credentials))
            attempts.update(get_data="", post_data="")

    def reset_user_attempts(self, request: HttpRequest, credentials: dict[str, Any] | None = None) -> int:
        """Forget what was guessed at this name from this place; nothing else that came from the address."""
        name, _what, place = str(get_client_username(request, credentials)).split(":")
        there = AccessAttempt.objects.filter(username__startswith=f"{name}:", username__endswith=f":{place}")
        return int(there.delete()[0])
