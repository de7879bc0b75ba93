"""Whether people are called as the day books say: their rows lie beside every chain."""

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

from django.db import models
from django.db.models.functions import Cast

from kettlewell.records.models import Entry, Person, Private, Seat
from kettlewell.records.verify import UNREADABLE, in_parts, shown


@dataclass(slots=True)
class Told:
    """What the day books call a person: the last name of each kitchen that still has one, by its id."""

    names: dict[str, str] = field(default_factory=dict)
    is_erased: bool = False

    def may_be(self, name: str, seated: Collection[str]) -> bool:
        """Tell whether a person with seats in some kitchens may be called so.

        Each of these says it last; where none is left any did, or it is nothing and was erased.
        """
        told = {self.names[kitchen] for kitchen in seated if kitchen in self.names}
        if told:
            return told == {name}
        return name in self.names.values() or (name == "" and self.is_erased and not seated)


def misnamed() -> Iterator[tuple[str, bool]]:
    """Yield the ids of people not called as the day books say, and whether there is a row of them at all."""
    people = {str(person.pk): person.name for person in in_parts(Person.objects.order_by("pk"))}
    told, seated = names_told(), kitchens_of_people()
    for key in sorted(told.keys() | writers()):
        if key not in people:
            yield key, False
        elif key in told and not told[key].may_be(people[key], seated.get(key, ())):
            yield key, True


def names_told() -> dict[str, Told]:
    """Return what the day books call people, by id."""
    contents = names_kept()
    told: dict[str, Told] = defaultdict(Told)
    for entry in in_parts(Entry.objects.filter(kind="setting").order_by("seq", "id")):
        match entry.payload, entry.private:
            case {"thing": "people", "key": str(key)}, {"name": _}:
                name = contents.get(str(entry.pk))
                told[key].is_erased |= name is None
                if name is not None:
                    told[key].names[str(entry.kitchen_id)] = name
    return dict(told)


def names_kept() -> dict[str, str | None]:
    """Return the names that are kept beside settings, by the entry; None where one was erased."""
    key = Cast("entry_id", models.TextField())
    rows = Private.objects.filter(entry__kind="setting", field="name").order_by("pk")
    found = in_parts(rows.values_list(key, "content"))
    return {shown(entry): None if content is None else text_of(content) for entry, content in found}


def text_of(content: object) -> str:
    """Return a name as it is kept; "" for what the chain does not know either."""
    try:
        return bytes(memoryview(content)).decode()  # type: ignore[arg-type]  # what it is not is an error
    except UNREADABLE:
        return ""


def kitchens_of_people() -> dict[str, list[str]]:
    """Return the ids of the kitchens in which people have seats, by the person's."""
    keys = (Cast(name, models.TextField()) for name in ("person_id", "kitchen_id"))
    found: dict[str, list[str]] = defaultdict(list)
    for person, kitchen in Seat.objects.order_by().values_list(*keys):
        found[shown(person)].append(shown(kitchen))
    return found


def writers() -> set[str]:
    """Return the ids of the people who wrote entries."""
    key = Cast("person_id", models.TextField())
    cited = Entry.objects.exclude(person=None).order_by()
    return {shown(person) for person in cited.values_list(key, flat=True).distinct()}
