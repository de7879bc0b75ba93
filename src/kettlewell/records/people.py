"""People, their seats in kitchens, and the tablets they share."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.contrib.auth.hashers import make_password
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import connection, transaction
from django.utils.translation import gettext_lazy as _

from kettlewell.book.letters import is_blank, unseen_in
from kettlewell.records.guesses import guesses_forget
from kettlewell.records.ledger import (
    Hand,
    entry_add,
    private_erase,
    setting_add,
    setting_told,
    write_ahead_log_empty,
)
from kettlewell.records.models import Device, Entry, Kitchen, Person, Role, Seat
from kettlewell.records.second_factor import factor_drop
from kettlewell.records.signing import sessions_end

PIN_DIGITS = (4, 8)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeatTerms:
    """What a seat gives: the role, its last day, and whether its holder is trained to drain."""

    role: Role
    ends_on: date | None = None
    trained_to_drain: bool = False


class LastOwnerError(ValidationError):
    """A kitchen that would be left without an owner."""

    def __init__(self) -> None:
        """Say what to do."""
        message = _("A kitchen needs an owner: make someone else one first.")
        super().__init__({"role": ValidationError(message, code="last_owner")})


class AlreadySetUpError(ValidationError):
    """A first owner where there is somebody already."""

    def __init__(self) -> None:
        """Say what to do."""
        super().__init__(_("Someone has set this up in the meantime: sign in."), code="already_set_up")


def first_owner_add(*, sign_in: str, name: str, password: str) -> Person:
    """Return the first person of this server; raises AlreadySetUpError where there is one.

    Two may try at once: call it in the transaction that founds the kitchen.
    """
    with transaction.atomic():
        if connection.vendor == "postgresql":  # SQLite lets one write at a time
            with connection.cursor() as cursor:
                cursor.execute("LOCK TABLE records_person IN SHARE ROW EXCLUSIVE MODE")
        if Person.objects.exists():
            raise AlreadySetUpError
        return person_add(sign_in=sign_in, name=name, password=password)


def person_add(*, sign_in: str, name: str, password: str | None = None, pin: str | None = None) -> Person:
    """Return a new person; raises ValidationError by field for what cannot be."""
    person = Person(sign_in=signed_as(sign_in), name=called(name))
    if password is None:
        person.set_unusable_password()
    else:
        password_set(person, password)
    if pin:
        pin_set(person, pin)
    person.full_clean(exclude=["password"])
    person.save()
    return person


def person_renew(person: Person, *, name: str = "", password: str = "", pin: str = "") -> list[str]:
    """Return what is new of a person's password and PIN; what is empty stays, the name too."""
    renewed = []
    person.name = called(name) or person.name
    if password:
        password_set(person, password)
        renewed.append("password")
    if pin:
        pin_set(person, pin)
        renewed.append("pin")
    person.save(update_fields=["name", *renewed])
    return renewed


def access_tell(person: Person, renewed: Sequence[str], *, hand: Hand) -> None:
    """Write a person's name, and what is new of its access, in every day book with a seat for it."""
    for seat in Seat.objects.filter(person=person).select_related("kitchen", "person"):
        here = hand.device is not None and hand.device.kitchen_id == seat.kitchen_id
        seat_tell(seat, hand=hand if here else replace(hand, device=None), renewed=renewed)


def signed_as(typed: str) -> str:
    """Return a name to sign in with as it is kept, however it was typed."""
    return typed.strip().casefold()


def called(typed: str) -> str:
    """Return a name as it is kept; raises ValidationError for letters that nobody can see."""
    name = typed.strip()
    if unseen_in(name) or (name and is_blank(name)):
        raise ValidationError({"name": _("This holds letters that cannot be seen: type it again.")})
    return name


def password_set(person: Person, password: str) -> None:
    """Give a person a new password, unsaved; raises ValidationError for one too weak."""
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise ValidationError({"password": error}) from None
    person.set_password(password)


def pin_set(person: Person, pin: str) -> None:
    """Give a person a new PIN, unsaved; raises ValidationError for one that is no 4 to 8 digits."""
    shortest, longest = PIN_DIGITS
    if not (pin.isascii() and pin.isdigit() and shortest <= len(pin) <= longest):
        raise ValidationError({"pin": _("A PIN has 4 to 8 digits.")})
    if len(set(pin)) == 1:
        raise ValidationError({"pin": _("Choose a PIN with different digits.")})
    person.pin = make_password(pin)


def seat_set(kitchen: Kitchen, person: Person, terms: SeatTerms, *, hand: Hand) -> Seat:
    """Give a person a seat, or change it.

    Raises ValidationError where an inspector's has no end, LastOwnerError for the last owner's that would.
    """
    if terms.role == Role.INSPECTOR and terms.ends_on is None:
        raise ValidationError({"ends_on": _("An inspector's access ends on a date: give it.")})
    stays_owner = terms.role == Role.OWNER and terms.ends_on is None
    with transaction.atomic():
        if not stays_owner:
            check_owner_left(kitchen, person)
        seat, _new = Seat.objects.update_or_create(
            kitchen=kitchen,
            person=person,
            defaults={
                "role": terms.role,
                "ends_on": terms.ends_on,
                "trained_to_drain": terms.trained_to_drain,
            },
        )
        seat_tell(seat, hand=hand)
    return seat


def seat_tell(seat: Seat, *, hand: Hand, renewed: Sequence[str] = ()) -> None:
    """Write down what a seat gives now, and what is new of its holder's access."""
    named = {"name": seat.person.name.encode()}
    told = setting_told("people", str(seat.person_id), seat_values(seat), hand=hand, private=named)
    if renewed:
        told = replace(told, payload={**told.payload, "renewed": list(renewed)})
    entry_add(seat.kitchen, told, hand)


def seat_values(seat: Seat) -> dict[str, Any]:
    """Return what a seat gives, as the day book keeps it."""
    return {
        "role": str(seat.role),
        "ends_on": seat.ends_on.isoformat() if seat.ends_on else None,
        "trained_to_drain": seat.trained_to_drain,
    }


def seat_remove(kitchen: Kitchen, person: Person, *, hand: Hand) -> None:
    """Take a person's seat away; raises LastOwnerError for the last owner's."""
    with transaction.atomic():
        seat = Seat.objects.filter(kitchen=kitchen, person=person).first()
        if seat is None:
            return
        check_owner_left(kitchen, person)
        seat.delete()
        setting_add(kitchen, "people", str(person.pk), None, hand=hand)


def check_owner_left(kitchen: Kitchen, person: Person) -> None:
    """Raise LastOwnerError where a person is the last owner of a kitchen whose seat does not end."""
    Kitchen.objects.select_for_update().get(pk=kitchen.pk)  # two owners may be leaving at once
    owners = Seat.objects.filter(kitchen=kitchen, role=Role.OWNER, ends_on=None)
    if owners.filter(person=person).exists() and not owners.exclude(person=person).exists():
        raise LastOwnerError


def person_erase(kitchen: Kitchen, person: Person, *, hand: Hand) -> None:
    """Take a person's seat away and erase the name from this day book.

    The account itself goes once no kitchen has a seat for it.
    """
    with transaction.atomic():
        name_erase(kitchen, person, hand=hand)


def name_erase(kitchen: Kitchen, person: Person, *, hand: Hand) -> int:
    """Erase a name from a day book, and take the seat away; return in how many entries it stood."""
    seat_remove(kitchen, person, hand=hand)
    named = list(Entry.objects.filter(kitchen=kitchen, kind="setting", payload__key=str(person.pk)))
    if named:
        private_erase(kitchen, named, hand)
    if not Seat.objects.filter(person=person).exists():
        account_erase(person)
    return len(named)


def account_erase(person: Person) -> None:
    """Close an account, and leave nothing of its names: none in it, in the sessions, in what was guessed."""
    guesses_forget(person.sign_in)
    factor_drop(person)
    sessions_end(person)
    person.sign_in, person.name, person.pin = f"erased-{person.pk}", "", ""
    person.is_active = False
    person.set_unusable_password()
    person.save()
    transaction.on_commit(write_ahead_log_empty)


def device_add(kitchen: Kitchen, name: str, *, hand: Hand) -> Device:
    """Return a new shared tablet of a kitchen; raises ValidationError by field for what cannot be."""
    device = Device(kitchen=kitchen, name=called(name))
    device.full_clean()
    with transaction.atomic():
        device.save()
        setting_add(kitchen, "tablets", str(device.pk), device_values(device), hand=hand)
    return device


def device_values(device: Device) -> dict[str, Any]:
    """Return what a tablet is, as the day book keeps it."""
    return {"name": device.name}


def device_retire(device: Device, *, hand: Hand) -> None:
    """Retire a tablet: nobody signs on it any more."""
    device.retired_at = hand.now
    with transaction.atomic():
        device.save(update_fields=["retired_at"])
        setting_add(device.kitchen, "tablets", str(device.pk), None, hand=hand)


def language_set(person: Person, language: str) -> None:
    """Remember the language in which someone reads the screens."""
    person.language = language
    person.save(update_fields=["language"])
