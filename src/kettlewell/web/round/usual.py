"""What somebody used last, and is offered again: the meter, and the measures of oil and food."""

from collections.abc import Sequence
from decimal import Decimal

from kettlewell.book.plain import decimal_text
from kettlewell.records.models import Entry
from kettlewell.records.selectors import written_lately
from kettlewell.web.common import Visit

MARK = "mark"
MANY_PORTIONS, MUCH = 20, 10  # our own choice
LATELY = 100  # entries; of no one's beyond them is anything remembered


def written_before(visit: Visit, kind: str) -> Sequence[Entry]:
    """Return the last entries of a kind that stand, one's own first, each the newest first."""
    found = written_lately(visit.kitchen, [kind], LATELY)
    return sorted(found, key=lambda entry: entry.person_id != visit.place.person.pk)


def meter_used_last(visit: Visit, meters: Sequence[str]) -> str:
    """Return the meter of the last reading, if it is one of these; "" where it is none."""
    read_with = (entry.payload.get("meter", "") for entry in written_before(visit, "reading"))
    last = next(read_with, "")
    return last if last in meters else ""


def oil_measure(visit: Visit) -> str:
    """Return in what unit oil was topped up last."""
    return next((entry.payload["unit"] for entry in written_before(visit, "top_up")), MARK)


def food_measures(visit: Visit) -> dict[str, str]:
    """Return by product in what unit a load of it was told last."""
    told: dict[str, str] = {}
    for entry in written_before(visit, "load"):
        if unit := entry.payload.get("unit"):
            told.setdefault(entry.payload["product"], unit)
    return told


def step_of(unit: str, usual: float) -> Decimal:
    """Return by how much a tap changes an amount: the finer, the smaller it usually is."""
    if unit == "portion" and usual >= MANY_PORTIONS:
        return Decimal(10)
    return Decimal("0.5") if unit in ("kg", "l") and usual < MUCH else Decimal(1)


def in_steps(amount: float, step: Decimal) -> Decimal:
    """Return an amount in whole steps, one at least."""
    return Decimal(decimal_text(max(round(Decimal(amount) / step), 1) * step))
