"""What if: an answer under other circumstances, of which nothing is stored."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from django.core.exceptions import ValidationError

from kettlewell.book import Entry, HotHours, Load, TopUp, find
from kettlewell.book import Kitchen as KitchenValue
from kettlewell.book.likely import unlikely
from kettlewell.bridge.door import slip_error
from kettlewell.bridge.setups import history_of
from kettlewell.bridge.standing import basis_of, minute_after, standing
from kettlewell.core import assess
from kettlewell.core.outlook.values import Assessment
from kettlewell.records.models import Kitchen

TEMPERATURES = ("set_temp_c", "standby_temp_c")


@dataclass(frozen=True, slots=True, kw_only=True)
class Supposition:
    """Other circumstances of one fryer's coming services; None leaves as usual."""

    set_temp_c: float | None = None
    standby_temp_c: float | None = None
    load_kg: float | None = None
    hot_h: float | None = None
    top_up_kg: float | None = None


def what_if(kitchen: Kitchen, fryer: str, supposition: Supposition, now: datetime) -> Assessment:
    """Return the assessment of a fryer were its coming services different.

    Raises LookupError where the kitchen has no such fryer, or no answer yet; ValidationError, by field,
    for an amount that would be asked about where it is written down.
    """
    stands = standing(kitchen, now)
    base = next((told for told in stands.assessments if told.fryer == fryer), None)
    if base is None:
        raise LookupError(fryer)
    check_supposed(stands.setup.kitchen, base, supposition)
    at, history = minute_after(now), history_of(kitchen, at_seq=stands.head_seq)
    basis = basis_of(kitchen, history, at, upto_seq=stands.head_seq, recomputing=stands.recomputing)
    value = with_temperatures(history.now, fryer, supposition)
    planned = list(plan(base, value, supposition))
    supposed_history = history.then(value, at)
    [supposed] = assess(
        supposed_history, basis.entries, now=at, planned=planned, since=basis.since, of=[fryer]
    )
    return supposed


def check_supposed(value: KitchenValue, base: Assessment, supposition: Supposition) -> None:
    """Raise ValidationError, by field, for a load or top-up that hardly ever is."""
    field = {Load: "load_kg", TopUp: "top_up_kg"}
    slips = {
        field[type(entry)]: found
        for entry in plan(base, value, supposition)
        if (found := unlikely(entry, value))
    }
    if slips:
        raise ValidationError({name: slip_error(found) for name, found in slips.items()})


def with_temperatures(value: KitchenValue, fryer: str, supposition: Supposition) -> KitchenValue:
    """Return the kitchen with the temperatures supposed of one fryer."""
    supposed = {name: temp_c for name in TEMPERATURES if (temp_c := getattr(supposition, name)) is not None}
    fryers = (replace(bath, **supposed) if bath.key == fryer else bath for bath in value.fryers)
    return replace(value, fryers=tuple(fryers))


def plan(base: Assessment, value: KitchenValue, supposition: Supposition) -> Iterator[Entry]:
    """Yield what would be said of each coming service."""
    foods = find(value.fryers, base.fryer).fries
    for service in base.forecast:
        at = max(service.begins_at, base.at)
        if supposition.load_kg is not None and foods:
            yield Load(at=at, fryer=base.fryer, product=foods[0], mass_kg=supposition.load_kg)
        if supposition.hot_h is not None:
            yield HotHours(at=at, fryer=base.fryer, hot_h=supposition.hot_h)
        if supposition.top_up_kg is not None:
            yield TopUp(at=at, fryer=base.fryer, mass_kg=supposition.top_up_kg)
