"""People in their seats: given one, given another, and who may renew a name and a password."""

from dataclasses import dataclass
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from kettlewell.records.access import MAY, Act, seats_of
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Kitchen, Person, Role, Seat
from kettlewell.records.people import SeatTerms, access_tell, person_add, person_renew, seat_set, signed_as
from kettlewell.records.roster import is_taken, known_in, seat_in
from kettlewell.records.second_factor import factor_add, factor_drop
from kettlewell.records.settings import day_in
from kettlewell.records.signing import may_renew, sessions_end


@dataclass(frozen=True, slots=True, kw_only=True)
class Newcomer:
    """Who is to have a seat: a new account, or one that somebody has from another kitchen."""

    sign_in: str
    name: str = ""
    password: str = ""
    pin: str = ""
    has_account: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Renewal:
    """A person's name, a new password, a new PIN; each empty where it stays."""

    name: str = ""
    password: str = ""
    pin: str = ""

    @property
    def what(self) -> str:
        """Which secrets are new, as the log of access names them; empty where none is."""
        return ",".join(secret for secret in ("password", "pin") if getattr(self, secret))


def person_admit(kitchen: Kitchen, newcomer: Newcomer, terms: SeatTerms, *, hand: Hand) -> Person:
    """Return who has a seat now, with a new account where there was none; raises ValidationError by field."""
    check_newcomer(newcomer)
    check_last_day(kitchen, terms, hand.now)
    with transaction.atomic():
        person = signed_in(kitchen, newcomer, hand)
        seat_set(kitchen, person, terms, hand=hand)
    return person


def check_newcomer(newcomer: Newcomer) -> None:
    """Raise ValidationError for a new account nobody could sign in to, and for renewing an old one."""
    refused = {}
    if newcomer.has_account:
        given = {"password": newcomer.password, "pin": newcomer.pin}
        refused = {
            field: _("This person signs in as before. Leave it empty.") for field in given if given[field]
        }
    elif not newcomer.name:
        refused = {"name": _("Write the name.")}
    elif not newcomer.password and not newcomer.pin:
        refused = {"password": _("Give a password, a PIN, or both.")}
    if refused:
        raise ValidationError(refused)


def check_last_day(kitchen: Kitchen, terms: SeatTerms, now: datetime) -> None:
    """Raise ValidationError for a last day that is past in the kitchen."""
    if terms.ends_on and terms.ends_on < day_in(kitchen, now):
        raise ValidationError({"ends_on": _("This day is past.")})


def signed_in(kitchen: Kitchen, newcomer: Newcomer, hand: Hand) -> Person:
    """Return the account of who gets a seat, a new one where there is none."""
    sign_in = signed_as(newcomer.sign_in)
    if newcomer.has_account:
        return known_to(kitchen, sign_in, hand)
    if is_taken(sign_in):
        raise ValidationError({"sign_in": _("Choose another sign-in name.")})
    return person_add(
        sign_in=sign_in, name=newcomer.name, password=newcomer.password or None, pin=newcomer.pin or None
    )


def known_to(kitchen: Kitchen, sign_in: str, hand: Hand) -> Person:
    """Return who signs in so in another kitchen whose people the one who asks looks after.

    Raises ValidationError by field. An account elsewhere is answered as none at all is.
    """
    seats = seats_of(hand.person, hand.now) if hand.person else []
    person = known_in([seat.kitchen_id for seat in seats if Act.PEOPLE in MAY[Role(seat.role)]], sign_in)
    if person is None:
        raise ValidationError({"sign_in": _("Nobody in your own kitchens signs in with this name.")})
    if seat_in(kitchen, person.pk):
        raise ValidationError({"sign_in": _("This person works here already.")})
    return person


def seat_change(
    kitchen: Kitchen, person: Person, terms: SeatTerms, *, hand: Hand, renewal: Renewal | None = None
) -> Seat:
    """Return the changed seat, all or nothing; raises ValidationError by field.

    A name, a password and a PIN are renewed only by who may.
    """
    check_last_day(kitchen, terms, hand.now)
    with transaction.atomic():
        if renewal is not None:
            if hand.person is None or not may_renew(hand.person, person, hand.now):
                raise ValidationError(
                    _("This person works elsewhere too, so name, password and PIN stay as they are.")
                )
            access_renew(person, renewal, hand=hand)
        return seat_set(kitchen, person, terms, hand=hand)


def access_renew(person: Person, renewal: Renewal, *, hand: Hand) -> None:
    """Give someone another name, password or PIN, all or nothing; raises ValidationError by field.

    What is new is told in the day book of every kitchen with a seat for the person. A new password or
    PIN ends the sessions that began with the old one.
    """
    called = person.name
    with transaction.atomic():
        renewed = person_renew(person, name=renewal.name, password=renewal.password, pin=renewal.pin)
        if renewed or person.name != called:
            access_tell(person, renewed, hand=hand)


def access_recover(person: Person, password: str, *, hand: Hand) -> list[str]:
    """Give someone a new password and ask for no code any more; return what is new.

    For who can do neither on screen. Raises ValidationError by field; told and ended as by access_renew.
    """
    with transaction.atomic():
        renewed = person_renew(person, password=password)
        if factor_drop(person):
            renewed.append("code_off")
        access_tell(person, renewed, hand=hand)
    return renewed


def code_turn_on(person: Person, secret: str, typed: str, *, hand: Hand, session: str | None) -> list[str]:
    """Ask someone for a code after the password from now on; return the recovery codes.

    It is told in the day book as a new password is, and ends every session but the one it is done in.
    Raises WrongCodeError where the code is not of this secret.
    """
    with transaction.atomic():
        codes = factor_add(person, secret, typed, hand.now)
        access_tell(person, ["code_on"], hand=hand)
        sessions_end(person, but=session)
    return codes


def code_turn_off(person: Person, *, hand: Hand, session: str | None) -> None:
    """Ask someone for no code any more, told and ended as by code_turn_on."""
    with transaction.atomic():
        if factor_drop(person):
            access_tell(person, ["code_off"], hand=hand)
            sessions_end(person, but=session)
