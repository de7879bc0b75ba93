"""Reading who is there: people, their seats in kitchens, and the tablets they share."""

from collections.abc import Collection, Iterable
from datetime import datetime
from uuid import UUID

from kettlewell.records.models import Device, Kitchen, Person, Seat
from kettlewell.records.signing import works_in


def is_anybody_there() -> bool:
    """Tell whether this server has a person yet."""
    return Person.objects.exists()


def people_of(kitchen: Kitchen) -> list[Seat]:
    """Return everyone with a seat, by name."""
    return list(
        Seat.objects.filter(kitchen=kitchen).select_related("person", "kitchen").order_by("person__name")
    )


def seat_in(kitchen: Kitchen, person: UUID) -> Seat | None:
    """Return someone's seat in a kitchen; None where there is none."""
    return Seat.objects.filter(kitchen=kitchen, person=person).select_related("person").first()


def seats_held(person: Person) -> int:
    """Return in how many kitchens someone has a seat, those whose last day is past too."""
    return Seat.objects.filter(person=person).count()


def names_of_people(people: Iterable[str]) -> dict[str, str]:
    """Return the names of people by id."""
    return {str(person.pk): str(person) for person in Person.objects.filter(pk__in=list(people))}


def is_taken(sign_in: str) -> bool:
    """Tell whether somebody signs in with this name, as it is kept."""
    return Person.objects.filter(sign_in=sign_in).exists()


def account(person: str) -> Person | None:
    """Return the person of an id; None once the account is closed."""
    return Person.objects.filter(pk=person, is_active=True).first()


def signing_in_as(sign_in: str) -> Person | None:
    """Return who signs in with this name, as it is kept; None where nobody does."""
    return Person.objects.filter(sign_in=sign_in).first()


def known_in(kitchens: Collection[UUID], sign_in: str) -> Person | None:
    """Return who signs in so and has a seat in one of these kitchens; None where there is nobody."""
    return Person.objects.filter(sign_in=sign_in, is_active=True, seats__kitchen__in=kitchens).first()


def signing_on(device: Device, now: datetime) -> list[Person]:
    """Return everyone with a PIN and a seat in a tablet's kitchen now, by name."""
    seated = Person.objects.filter(seats__kitchen=device.kitchen_id).exclude(pin="").order_by("name")
    return [person for person in seated if works_in(device.kitchen_id, person, now)]


def tablet_with(key: str) -> Device | None:
    """Return a tablet in use by its id, with its kitchen; None where there is none."""
    return Device.objects.filter(pk=key, retired_at=None).select_related("kitchen").first()


def tablets_of(kitchen: Kitchen) -> list[Device]:
    """Return the tablets of a kitchen that are in use, by name."""
    return list(Device.objects.filter(kitchen=kitchen, retired_at=None).order_by("name"))
