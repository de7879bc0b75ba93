"""Signing in by a PIN on a shared tablet, or by a code after the password; and who may renew what."""

from datetime import datetime
from functools import partial
from uuid import UUID

from django.contrib.auth import SESSION_KEY
from django.contrib.auth.backends import BaseBackend
from django.contrib.auth.hashers import check_password, make_password
from django.contrib.sessions.models import Session
from django.http import HttpRequest

from kettlewell import clock
from kettlewell.records.access import MAY, Act, seats_of
from kettlewell.records.models import Device, Person, Role, Seat
from kettlewell.records.second_factor import code_use


class PinBackend(BaseBackend):
    """Knows a person by PIN, on a tablet of a kitchen in which the person has a seat.

    Throttling is by axes, which counts wrong PINs as it counts wrong passwords. The PIN comes as
    ``secret_pin``, because Django blots out credentials with "secret" in their name before it
    tells others of a failure.
    """

    def authenticate(  # type: ignore[override]  # Django passes a backend by that lacks what it names
        self,
        request: HttpRequest | None,
        username: str | None = None,
        *,
        secret_pin: str | None = None,
        device: Device | None = None,
    ) -> Person | None:
        """Return the person whose sign-in name and PIN these are, None where they are nobody's."""
        del request
        if username is None or secret_pin is None or device is None or device.retired_at is not None:
            return None
        person = Person.objects.filter(sign_in=username).exclude(pin="").first()
        if person is None or not works_in(device.kitchen_id, person, clock.now()):
            make_password(secret_pin)  # as slow as a check, so that nobody learns who has a PIN
            return None
        return person if check_password(secret_pin, person.pin, setter=partial(pin_keep, person)) else None

    def get_user(self, user_id: UUID | str) -> Person | None:
        """Return the person of a session, None once the account is closed."""
        return Person.objects.filter(pk=user_id, is_active=True).first()


class CodeBackend(PinBackend):
    """Knows a person whose password was right by the code that is asked after it.

    The code comes as ``secret_code``, for the reason that a PIN comes as ``secret_pin``.
    """

    def authenticate(  # type: ignore[override]  # Django passes a backend by that lacks what it names
        self, request: HttpRequest | None, username: str, *, secret_code: str
    ) -> Person | None:
        """Return the person whose sign-in name and code these are, None where they are nobody's."""
        del request
        person = Person.objects.filter(sign_in=username, is_active=True).first()
        return person if person is not None and code_use(person, secret_code, clock.now()) else None


def pin_keep(person: Person, pin: str) -> None:
    """Keep a PIN that is known to be right, hashed anew as hashes are made today."""
    person.pin = make_password(pin)
    person.save(update_fields=["pin"])


def sessions_end(person: Person, *, but: str | None = None) -> None:
    """End every session of a person, but the one with a certain key."""
    others = Session.objects.exclude(pk=but) if but else Session.objects.all()
    own = [one.pk for one in others if one.get_decoded().get(SESSION_KEY) == str(person.pk)]
    Session.objects.filter(pk__in=own).delete()


def works_in(kitchen: UUID, person: Person, now: datetime) -> bool:
    """Tell whether someone has a seat in a kitchen now."""
    return any(seat.kitchen_id == kitchen for seat in seats_of(person, now))


def may_renew(actor: Person, person: Person, now: datetime) -> bool:
    """Tell whether someone may set another's name, password and PIN.

    Only who looks after the people of every kitchen the other has a seat in: an owner of one
    kitchen could else sign in to another as somebody who works in both.
    """
    own = {seat.kitchen_id for seat in seats_of(actor, now) if Act.PEOPLE in MAY[Role(seat.role)]}
    return set(Seat.objects.filter(person=person).values_list("kitchen_id", flat=True)) <= own
