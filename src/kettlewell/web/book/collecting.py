"""Old oil: what stands in the yard, who took it, and the receipt."""

from collections.abc import Iterator
from dataclasses import dataclass
from uuid import UUID

from babel.numbers import format_currency
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from kettlewell.bridge.old_oil import OldOil, handed_kg, old_oil
from kettlewell.records.access import Act
from kettlewell.records.models import Entry
from kettlewell.records.photos import type_of
from kettlewell.records.selectors import entry_in, has_photo, photo_of, standing_of
from kettlewell.telling import N_, Reader
from kettlewell.web.book.wide import is_written, shown, wide_form
from kettlewell.web.common import Visit, in_kitchen, or_404
from kettlewell.web.entry.uploads import files_of

EDIBLE_OIL = "20 01 25"  # Decision 2000/532/EC, edible oil and fat
AS_LAST = ("carrier", "receiver", "waste_code", "currency")
NOTHING = N_("No old oil stands in the yard, by the day book.")
THERE = N_("About {kg} kg of old oil stand in the yard, by the day book.")
AT_MOST = N_("At most about {kg} kg of old oil stand in the yard, by the day book.")
MORE = N_("About {kg} kg more were handed over than drained, by the day book.")
WEIGHED = N_("{kg} kg")
RECKONED = N_("about {kg} kg (containers: {number}, of {litres} l)")
UNKNOWN = N_("not known")


@dataclass(frozen=True, slots=True, kw_only=True)
class HandOver:
    """One hand-over as the page shows it."""

    entry: Entry
    day: str
    amount: str
    paid: str
    receipt: bool


@require_safe
@in_kitchen(Act.READ)
def yard(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show how much old oil there is, and every hand-over."""
    found, reader = old_oil(visit.kitchen, visit.now), visit.reader
    context = {
        "there": there(found, reader),
        "why": list(why(found, reader)),
        "handed": [hand_over(entry, reader) for entry in found.handed],
    }
    return render(request, "web/book/old_oil.html", context)


@in_kitchen(Act.RECORD)
def collected(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Ask who took how much old oil, and take the receipt; who took it last is offered."""
    last = standing_of(visit.kitchen, "collected").first()
    told = {name: said for name in AS_LAST if last and (said := last.payload.get(name))}
    form = wide_form(request, visit, "collected", **{"waste_code": EDIBLE_OIL, **told})
    form.files = files_of(request)
    if is_written(request, visit, "collected", form):
        return redirect("old-oil", visit.kitchen.slug)
    return shown(request, visit, "collected", form)


@require_safe
@in_kitchen(Act.READ)
def receipt(_request: HttpRequest, visit: Visit, entry: UUID) -> HttpResponse:
    """Hand out the receipt of a hand-over as a file, never as a page."""
    found = or_404(entry_in(visit.kitchen, entry, kind="collected"))
    photo = or_404(photo_of(found))
    kind = or_404(type_of(photo))
    name = f"receipt-{found.seq}.{kind.rpartition('/')[2]}"
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "private, no-store"}
    return HttpResponse(photo, content_type=kind, headers=headers)


def there(found: OldOil, reader: Reader) -> str:
    """Return how much old oil there is."""
    kg = round(found.there_kg)
    text = MORE if kg < 0 else NOTHING if kg == 0 else AT_MOST if found.unknown else THERE
    return reader.say(text, kg=reader.number(abs(kg)))


def why(found: OldOil, reader: Reader) -> Iterator[str]:
    """Yield from what that is reckoned, and what is not known."""
    yield reader.count(
        found.drainings,
        "Drained: about {kg} kg in {number} draining. Each counts what the bath held by the day book; "
        "nobody weighed it.",
        "Drained: about {kg} kg in {number} drainings. Each counts what the bath held by the day book; "
        "nobody weighed it.",
        kg=reader.number(round(found.drained_kg)),
    )
    if found.unknown:
        yield reader.count(
            found.unknown,
            "Of {number} hand-over nobody knows how much it was.",
            "Of {number} hand-overs nobody knows how much it was.",
        )


def hand_over(entry: Entry, reader: Reader) -> HandOver:
    """Return a hand-over as it is shown."""
    said, kg = entry.payload, handed_kg(entry)
    text = UNKNOWN if kg is None else WEIGHED if "mass_kg" in said else RECKONED
    return HandOver(
        entry=entry,
        day=reader.written_day(entry.at.astimezone(reader.zone).date()),
        amount=reader.say(
            text,
            kg="" if kg is None else reader.number(kg),
            number=said.get("containers", ""),
            litres=reader.number(float(said.get("container_l", 0))),
        ),
        paid=paid(entry, reader),
        receipt=has_photo(entry),
    )


def paid(entry: Entry, reader: Reader) -> str:
    """Return what was paid, in its currency."""
    said = entry.payload
    if "paid" not in said:
        return ""
    return str(format_currency(said["paid"], said["currency"], locale=reader.locale))
