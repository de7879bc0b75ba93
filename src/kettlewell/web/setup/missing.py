"""What a kitchen that was just set up still lacks, and where to say it."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from kettlewell.bridge.founded import fryers_unspoken_of
from kettlewell.bridge.known import UNTOLD
from kettlewell.records.roster import people_of
from kettlewell.records.settings import Things
from kettlewell.web.common import Visit
from kettlewell.web.setup.facts import name_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """Something that is still missing: why it matters, what to do about it and where."""

    why: str
    act: str
    url: str


def still_missing(things: Things, visit: Visit) -> list[Missing]:
    """Return what is missing, what the verdicts need most first."""
    return [*oil_missing(things, visit), *meter_missing(things, visit), *more_missing(things, visit)]


def oil_missing(things: Things, visit: Visit) -> Iterator[Missing]:
    """Yield fryers whose oil's age or draining nobody has told, and foods of unknown allergens."""
    for key in fryers_unspoken_of(visit.kitchen):
        name = name_of("fryers", key, things["fryers"][key])
        query = urlencode({"kitchen": visit.kitchen.slug, "step": "age"})
        yield Missing(
            why=_("Nobody has said how old the oil in %(fryer)s is.") % {"fryer": name},
            act=_("Say when it was changed"),
            url=f"{reverse('set-up')}?{query}",
        )
    for key, values in things["fryers"].items():
        if "draining" not in values:
            yield Missing(
                why=_("Nobody has said how %(fryer)s is drained: by hand is assumed.")
                % {"fryer": name_of("fryers", key, values)},
                act=_("Say how it is drained"),
                url=reverse("thing", args=(visit.kitchen.slug, "fryers", key)),
            )
    for key, values in things.get("products", {}).items():
        if values.get("allergens") is None:
            name = name_of("products", key, values)
            yield Missing(
                why=_("Nobody has said which allergens %(food)s holds: no other fryer is offered for it.")
                % {"food": name},
                act=_("Say its allergens"),
                url=reverse("thing", args=(visit.kitchen.slug, "products", key)),
            )


def meter_missing(things: Things, visit: Visit) -> Iterator[Missing]:
    """Yield a meter, or what it is checked with."""
    if not things.get("meters"):
        yield Missing(
            why=_("There is no meter: the verdicts rest on the day book and on your senses."),
            act=_("Add a meter"),
            url=reverse("thing-new", args=(visit.kitchen.slug, "meters")),
        )
    for key, values in things.get("meters", {}).items():
        if values.get(UNTOLD):
            yield Missing(
                why=_("Figures of %(meter)s are wide ones of ours: it counts for less than it could.")
                % {"meter": name_of("meters", key, values)},
                act=_("Look into its instructions"),
                url=reverse("thing", args=(visit.kitchen.slug, "meters", key)),
            )
    if things.get("meters") and not things.get("reference_lots"):
        yield Missing(
            why=_("There is no reference oil: nobody can check whether the meter reads right."),
            act=_("Add a bottle of reference oil"),
            url=reverse("thing-new", args=(visit.kitchen.slug, "reference_lots")),
        )


def more_missing(things: Things, visit: Visit) -> Iterator[Missing]:
    """Yield what a kitchen has more than one of, as long as there is one."""
    slug = visit.kitchen.slug
    if len(things["fryers"]) == 1:
        (key,) = things["fryers"]
        yield Missing(
            why=_("Only one fryer is set up."), act=_("Add another like it"), url=another_url(visit, key)
        )
    if len(things.get("products", {})) == 1:
        yield Missing(
            why=_("Only one food is set up."),
            act=_("Add a food"),
            url=reverse("thing-new", args=(slug, "products")),
        )
    if len(people_of(visit.kitchen)) == 1:
        yield Missing(
            why=_("You are the only one here: each person signs with a name of their own."),
            act=_("Add people"),
            url=reverse("people", args=(slug,)),
        )


def another_url(visit: Visit, key: str) -> str:
    """Return where a fryer like another one is added."""
    address = reverse("thing-new", args=(visit.kitchen.slug, "fryers"))
    return f"{address}?{urlencode({'like': key})}"
