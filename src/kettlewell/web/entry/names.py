"""What a kitchen calls its things, also those it no longer has."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from uuid import UUID

from kettlewell.records.models import Kitchen
from kettlewell.records.roster import names_of_people
from kettlewell.records.settings import payloads_upto, settings_mark


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """The last name of every thing by what it is and its key, and of every person by id."""

    things: Mapping[tuple[str, str], str]
    people: Mapping[str, str]

    def of(self, thing: str, key: str) -> str:
        """Return what a thing is called, or its key where it never had a name."""
        if thing == "people":
            return self.people.get(key, key)
        return self.things.get((thing, key), key)

    def fryers(self) -> list[tuple[str, str]]:
        """Return the key and name of every fryer there is or was."""
        return [(key, name) for (thing, key), name in self.things.items() if thing == "fryers"]


def names_of(kitchen: Kitchen) -> Names:
    """Return all names of a kitchen, and those of everyone who ever had a place in it."""
    named, seated = _named(kitchen.pk, *settings_mark(kitchen))
    return Names(things=named, people=names_of_people(seated))


@lru_cache(maxsize=64)
def _named(pk: UUID, seq: int, _hash: str) -> tuple[Mapping[tuple[str, str], str], Sequence[str]]:
    named: dict[tuple[str, str], str] = {}
    seated: list[str] = []
    for payload in payloads_upto(pk, seq):
        name = payload.get("values", {}).get("name")
        thing, key = payload["thing"], payload.get("key", "")
        if thing == "people":
            seated.append(key)
        if isinstance(name, str) and name:
            named[thing, key] = f"{name} ({key})" if thing == "fryers" and key != name else name
    return named, seated
