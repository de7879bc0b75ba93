"""The acts at a fryer as tiles: some are done with one tap, the others ask for more."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from urllib.parse import urlencode
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kettlewell.book.kinds import KINDS
from kettlewell.records.ids import uuid7
from kettlewell.web.common import Visit

TITLES = {kind.key: gettext_lazy(kind.title) for kind in KINDS.values() if kind.title}


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """An act to choose. With an ``entry_id`` one tap writes it down, with the values of ``told``."""

    label: str
    picture: str
    url: str
    told: Mapping[str, str] = field(default_factory=dict)
    entry_id: UUID | None = None


def groups(visit: Visit, fryer: str, *, in_use: bool, kept: bool) -> list[tuple[str, list[Tile]]]:
    """Return the tiles of a fryer, under what they are about; ``kept``: some of its oil stands apart."""

    def asks(kind: str, label: str, picture: str, **about: str) -> Tile:
        query = f"?{urlencode(about)}" if about else ""
        return Tile(
            label=label, picture=picture, url=reverse("act", args=(visit.kitchen.slug, fryer, kind)) + query
        )

    def writes(kind: str, label: str, picture: str, **told: str) -> Tile:
        url = reverse("act", args=(visit.kitchen.slug, fryer, kind))
        return Tile(label=label, picture=picture, url=url, told=told, entry_id=uuid7(visit.now))

    def oil() -> Iterator[Tile]:
        yield writes("top_up", _("Topped up to the mark"), "mark", unit="mark")
        yield asks("top_up", _("Topped up by jug, pack or weight"), "jug")
        yield asks("change", _("Filled with fresh oil"), "pack")
        yield asks("move", _("Moved to another fryer"), "move")
        yield asks("store", _("Taken out and kept"), "drain")
        if kept:
            yield asks("return", _("Kept oil put back"), "back")

    def care() -> Iterator[Tile]:
        yield writes("care", _("Skimmed"), "skim", care="skim")
        yield writes("care", _("Filtered, own filter"), "filter", care="filter")
        yield asks("care", _("Filtered, shared filter"), "shared-filter", care="shared-filter")
        yield asks("care", _("Filter powder"), "adsorbent", care="adsorbent")
        yield asks("care", _("Boiled out"), "boil-out", care="boil-out")

    def work() -> Iterator[Tile]:
        yield asks("load", _("Food fried"), "food")
        yield asks("hot_hours", _("How long it was hot"), "hours")
        if in_use:
            yield asks("order", _("Take it out of use"), "closed", back="no")
        else:
            yield asks("order", _("Put it back in use"), "closed", back="yes")
        yield asks("closed", str(TITLES["closed"]), "closed")

    def oil_state() -> Iterator[Tile]:
        yield asks("senses", _("Smell it and look at it"), "smell")
        yield asks("complaint", str(TITLES["complaint"]), "taste")
        yield asks("laboratory", _("A laboratory's result"), "laboratory")
        yield asks("call", _("Call the chef"), "chef")

    return [
        (_("Oil in and out"), list(oil())),
        (_("Frying"), list(work())),
        (_("Care"), list(care())),
        (_("How the oil is"), list(oil_state())),
    ]
