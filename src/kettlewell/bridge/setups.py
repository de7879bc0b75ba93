"""Settings as rows become a kitchen as the core knows it."""

from collections.abc import Iterator, Mapping
from contextlib import suppress
from datetime import datetime
from decimal import Decimal, InvalidOperation
from functools import lru_cache
from itertools import dropwhile
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from kettlewell.book import History, history_from
from kettlewell.book import Kitchen as KitchenValue
from kettlewell.book import history_of as value_history
from kettlewell.book.likely import most_usual_load_kg
from kettlewell.book.plain import decimal_text
from kettlewell.book.settings import TABLES
from kettlewell.bridge.known import UNTOLD, earlier, spans_of
from kettlewell.core.belief.week import AtOnceError
from kettlewell.folder import NUMBERS, Earlier, KitchenError, Setup, setup_from
from kettlewell.records.models import Kitchen
from kettlewell.records.settings import Things, folded, settings_by_time, settings_mark, settings_of

KEYED = tuple(name for name, thing in TABLES.items() if thing.keyed)
UNKEYED = tuple(name for name, thing in TABLES.items() if not thing.keyed)


def history_of(kitchen: Kitchen, *, at_seq: int | None = None) -> History:
    """Return the kitchen's settings from a time on each, as of an entry, or now.

    Raises KitchenError where what counts now makes no kitchen.
    """
    return _history(kitchen.pk, *settings_mark(kitchen, at_seq=at_seq))


@lru_cache(maxsize=64)
def _history(pk: UUID, seq: int, last_hash: str) -> History:
    now = setup_of(Kitchen(pk=pk, settings_seq=seq, settings_hash=last_hash)).kitchen
    # the oil was in the fryers before it was said when they fry: the first whole kitchen is from ever
    changes = list(dropwhile(lambda change: not change[1].services, _changes(pk, seq)))
    return history_from(changes) if changes else value_history(now)


def _changes(pk: UUID, seq: int) -> Iterator[tuple[datetime, KitchenValue]]:
    return ((at, setup.kitchen) for at, setup in _setups(pk, seq))


def earlier_of(kitchen: Kitchen, *, at_seq: int) -> tuple[Earlier, ...]:
    """Return what the kitchen was set up as before each change of its settings that counts in an answer."""
    changes = history_of(kitchen, at_seq=at_seq).changes()
    setups = list(_setups(kitchen.pk, settings_mark(kitchen, at_seq=at_seq)[0]))
    found = []
    for until, before, _after in changes:
        setup = next(setup for at, setup in reversed(setups) if at < until and setup.kitchen == before)
        found.append(Earlier(until=until, setup=setup))
    return tuple(found)


def _setups(pk: UUID, seq: int) -> Iterator[tuple[datetime, Setup]]:
    things: Things = {}
    for at, payloads in settings_by_time(pk, upto_seq=seq):
        things = folded(payloads, things)
        # what does not go together yet counts with what is set after it
        with suppress(KitchenError):
            yield at, setup_from(tables(readable(things)))


def setup_of(kitchen: Kitchen, *, at_seq: int | None = None) -> Setup:
    """Return the kitchen's settings as of an entry, or now."""
    return _setup(kitchen.pk, *settings_mark(kitchen, at_seq=at_seq))


@lru_cache(maxsize=64)
def _setup(pk: UUID, seq: int, last_hash: str) -> Setup:
    row = Kitchen(pk=pk, settings_seq=seq, settings_hash=last_hash)
    return setup_from(tables(readable(settings_of(row))))


def check_setup(things: Things) -> None:
    """Raise ValidationError where settings together make no kitchen.

    The forms have judged every value by itself; what is left is told in their words, not the file's.
    """
    try:
        setup_from(tables(things))
    except KitchenError as error:
        both = error.__cause__
        if isinstance(both, AtOnceError):
            at_once = _("“%(first)s” and “%(second)s” are both at fryer %(fryer)s at the same time.")
            named = {"first": both.first, "second": both.second, "fryer": both.fryer}
            raise ValidationError(at_once, code="at_once", params=named) from None
        raise ValidationError(
            _("This does not go together with the other settings. Look at them again.")
        ) from None


def tables(things: Things) -> dict[str, Any]:
    """Return settings as the tables that a kitchen.toml would hold."""
    found = _numbers("kitchen", things.get("kitchen", {}).get("", {}))
    for name in KEYED:
        found[name] = [{"key": key, **_numbers(name, values)} for key, values in things.get(name, {}).items()]
    for name in UNKEYED:
        found[name] = [_numbers(name, values) for values in things.get(name, {}).values()]
    return found


def _numbers(thing: str, values: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: _number(value) if name in NUMBERS[thing] else value
        for name, value in values.items()
        if value is not None and value != "" and name != UNTOLD
    }


def _number(value: object) -> object:
    try:
        return Decimal(str(value))
    except InvalidOperation:
        return value  # the check of the table says what is wrong with it


def readable(things: Things) -> Things:
    """Return settings within the bounds of now: a day book may hold some from before there were any.

    What was taken unsaid of a meter or a bottle when it was written down is taken still.
    """
    found = {
        name: {key: {**earlier(name, values), **within(name, values)} for key, values in of_thing.items()}
        for name, of_thing in things.items()
    }
    fryers = {key: frying_what_it_can(values) for key, values in found.get("fryers", {}).items()}
    return {**found, **({"fryers": fryers} if fryers else {})}


def within(thing: str, values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the values of a thing, each number brought to the nearest that may be set now."""
    spans = spans_of(thing) if thing in NUMBERS else {}
    told = {name: Decimal(values[name]) for name in spans.keys() & values.keys() if values[name]}
    return dict(values) | {
        name: decimal_text(spans[name].low if number < spans[name].low else spans[name].high)
        for name, number in told.items()
        if not spans[name].low <= number <= spans[name].high
    }


def frying_what_it_can(fryer: Mapping[str, Any]) -> dict[str, Any]:
    """Return the settings of a fryer, its usual load no more than the bath can fry in a service."""
    most_kg = most_usual_load_kg(float(fryer["oil_mass_kg"]))
    if float(fryer.get("usual_load_kg") or 0) <= most_kg:
        return dict(fryer)
    return {**fryer, "usual_load_kg": decimal_text(most_kg)}
