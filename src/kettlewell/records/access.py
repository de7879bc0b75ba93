"""Who may see and do what: the only module that decides it."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID

from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.http import Http404

from kettlewell.book.kinds import KINDS, MayWrite
from kettlewell.records.models import Kitchen, Person, Role, Seat
from kettlewell.records.settings import day_in


class Act(StrEnum):
    """What someone wants to do in a kitchen."""

    READ = "read"
    RECORD = "record"
    SET_UP = "set_up"
    PEOPLE = "people"


MAY = {
    Role.OWNER: frozenset(Act),
    Role.AREA_MANAGER: frozenset(Act),
    Role.COOK: frozenset({Act.READ, Act.RECORD}),
    Role.INSPECTOR: frozenset({Act.READ}),
}


def act_of(kind: str) -> Act:
    """Return what someone must be allowed to write, correct or undo an entry of a kind."""
    return Act.SET_UP if KINDS[kind].writer is MayWrite.DECIDERS else Act.RECORD


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A kitchen as one person stands in it."""

    kitchen: Kitchen
    seat: Seat

    @property
    def person(self) -> Person:
        """Who it is."""
        return self.seat.person

    def may(self, act: Act) -> bool:
        """Tell whether the person may do this here."""
        return act in MAY[Role(self.seat.role)]


class StrangerError(Http404):
    """A kitchen that is there, but not for somebody who asks for it."""


def place_of(person: Person | AnonymousUser, slug: str, act: Act, now: datetime) -> Place:
    """Return the kitchen for someone who may do this in it.

    To a stranger, or once a seat has ended, the kitchen is not there (Http404, StrangerError where there
    is one); to one of its people who may not do it, it is refused (PermissionDenied).
    """
    seat = next((seat for seat in seats_of(person, now) if seat.kitchen.slug == slug), None)
    if seat is None:
        raise not_here(slug)
    place = Place(kitchen=seat.kitchen, seat=seat)
    if not place.may(act):
        raise PermissionDenied
    return place


def not_here(slug: str) -> Http404:
    """Return what to raise where a kitchen is not there for somebody; the page says the same of either."""
    return StrangerError() if Kitchen.objects.filter(slug=slug).exists() else Http404()


def seats_of(person: Person | AnonymousUser, now: datetime) -> list[Seat]:
    """Return the seats someone has now, by the kitchen's address; a last day is the kitchen's own."""
    if not isinstance(person, Person) or not person.is_active:
        return []
    seats = Seat.objects.filter(person=person).select_related("kitchen", "person").order_by("kitchen__slug")
    return [seat for seat in seats if lasts(seat, now)]


def deciders(kitchen: Kitchen, now: datetime) -> set[UUID | None]:
    """Return the ids of those who set a kitchen up now."""
    seats = Seat.objects.filter(kitchen=kitchen).select_related("kitchen")
    return {seat.person_id for seat in seats if Act.SET_UP in MAY[Role(seat.role)] and lasts(seat, now)}


def lasts(seat: Seat, now: datetime) -> bool:
    """Tell whether a seat has not ended; its last day is the kitchen's own."""
    return seat.ends_on is None or seat.ends_on >= day_in(seat.kitchen, now)
