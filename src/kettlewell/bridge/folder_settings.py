"""The settings that a kitchen's folder tells, as the day book keeps them."""

from collections.abc import Iterator, Mapping
from datetime import datetime, time
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.text import slugify

from kettlewell.book.settings import TABLES, THINGS
from kettlewell.book.setup import Setup
from kettlewell.book.words import ToldError
from kettlewell.bridge.known import UNTOLD, earlier
from kettlewell.bridge.setting_rules import KEY_LENGTH
from kettlewell.bridge.settings import RefusedChangeError, SettingChange, settings_change
from kettlewell.bridge.setups import setup_of
from kettlewell.folder import Folder
from kettlewell.folder.writing import tables_of
from kettlewell.records.kinds import plain
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Kitchen
from kettlewell.records.settings import Things
from kettlewell.telling import N_

REFUSED = N_("kitchen.toml: {where}: {why}")
OTHERWISE = N_(
    "kitchen.toml says otherwise than the kitchen here does: {things}. "
    "Change the one that is wrong; nothing was written."
)
WHAT_IS_UNTOLD = {"meters": "figures", "reference_lots": "temperature"}


def settings_bring(kitchen: Kitchen, folder: Folder, hand: Hand, *, begins: datetime) -> None:
    """Write the settings of a folder, the first from a time on; raises ToldError for what is refused."""
    before: Things = {}
    setups = [*(each.setup for each in folder.earlier), folder.setup]
    for since, setup in zip([begins, *(each.until for each in folder.earlier)], setups, strict=True):
        after = things_of(setup)
        things_bring(kitchen, before, after, hand, counts_from=since)
        before = after


def things_bring(
    kitchen: Kitchen, before: Things, after: Things, hand: Hand, *, counts_from: datetime
) -> None:
    """Write what is other in settings than it was, from a time on; raises ToldError for what is refused."""
    changes = list(changes_between(before, after))
    try:
        settings_change(kitchen, changes, hand, counts_from=counts_from)
    except RefusedChangeError as error:
        change = changes[error.number]
        raise ToldError(REFUSED, where=f"[[{change.thing}]] {change.key}", why=why_of(error)) from None
    except ValidationError as error:
        raise ToldError(REFUSED, where="until", why=why_of(error)) from None


def why_of(error: ValidationError) -> str:
    """Return what is wrong, each with its field."""
    if not hasattr(error, "error_dict"):
        return " ".join(error.messages)
    return " ".join(f"{field}: {' '.join(why)}" for field, why in error.message_dict.items())


def changes_between(before: Things, after: Things) -> Iterator[SettingChange]:
    """Yield what makes of settings others: what is named comes before what names it, and goes after it."""
    for thing in THINGS:
        old = before.get(thing, {})
        for key, values in after.get(thing, {}).items():
            if old.get(key) != values:
                yield SettingChange(thing=thing, key=key, values=values, new=key not in old)
    for thing in reversed(list(THINGS)):
        for key in before.get(thing, {}):
            if key not in after.get(thing, {}):
                yield SettingChange(thing=thing, key=key, values=None)


def check_agrees(kitchen: Kitchen, setup: Setup) -> None:
    """Raise ToldError where a kitchen.toml says otherwise than the settings of a kitchen do."""
    ours, theirs = things_of(setup_of(kitchen)), things_of(setup)
    otherwise = [
        f"[[{thing}]] {key} ({', '.join(other_in(ours.get(thing, {}).get(key, {}), values))})"
        for thing, of_thing in theirs.items()
        for key, values in of_thing.items()
        if ours.get(thing, {}).get(key) != values
    ]
    if otherwise:
        raise ToldError(OTHERWISE, things="; ".join(otherwise))


def other_in(ours: Mapping[str, Any], theirs: Mapping[str, Any]) -> list[str]:
    """Return the names of values that are not the same."""
    return sorted(name for name in {*ours, *theirs} if ours.get(name) != theirs.get(name))


def things_of(setup: Setup) -> Things:
    """Return what a kitchen is set up as by thing and key, as the day book keeps it."""
    tables = tables_of(setup)
    top = {name: value for name, value in tables.items() if name not in TABLES}
    things: Things = {"kitchen": {"": written("kitchen", top)}}
    for thing in TABLES:
        of_thing = things.setdefault(thing, {})
        for row in tables[thing]:
            key = row.pop("key", None) or free_key(str(row.get("name") or row["quantity"]), of_thing)
            of_thing[key] = written(thing, row)
    return things


def written(thing: str, row: Mapping[str, Any]) -> dict[str, Any]:
    """Return a table of a kitchen.toml as the day book keeps it; what is unsaid is known to be so."""
    values = {
        name: f"{value:%H:%M}" if isinstance(value, time) else plain(value) for name, value in row.items()
    }
    unsaid = earlier(thing, values).keys() - values.keys()
    return values | ({UNTOLD: WHAT_IS_UNTOLD[thing]} if unsaid else {})


def free_key(name: str, taken: Mapping[str, Any]) -> str:
    """Return a key made from a name, that no other thing of the sort has."""
    stem = slugify(name)[: KEY_LENGTH - 4] or "own"
    tried = (stem, *(f"{stem}-{number}" for number in range(2, len(taken) + 3)))
    return next(key for key in tried if key not in taken)
