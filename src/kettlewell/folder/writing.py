"""Writes a kitchen and its day book as the files that are read back the same."""

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from datetime import date, datetime, time
from pathlib import Path

from kettlewell.book import Entry, Limit, Service
from kettlewell.book.fields import Field, Type
from kettlewell.book.kinds import OF_VALUE, EntryKind
from kettlewell.book.plain import decimal_text, time_text
from kettlewell.book.settings import DAYS, KITCHEN, TABLES, Thing
from kettlewell.book.setup import Setup
from kettlewell.folder.words import COLUMNS, SENSES

SPOILED = {spoiled: word for word, spoiled in SENSES.items()}


def write_folder(path: Path, setup: Setup, entries: Iterable[Entry]) -> None:
    """Write kitchen.toml and log.csv into a folder that is there."""
    (path / "kitchen.toml").write_text(kitchen_text(setup), encoding="utf-8")
    (path / "log.csv").write_text(log_text(entries), encoding="utf-8", newline="")


def log_text(entries: Iterable[Entry]) -> str:
    """Return entries as a log.csv; where they were written down before is not told."""
    lines = io.StringIO()
    rows = csv.DictWriter(lines, COLUMNS, restval="", lineterminator="\n")
    rows.writeheader()
    rows.writerows(map(row_of, entries))
    return lines.getvalue()


def row_of(entry: Entry) -> dict[str, str]:
    """Return an entry as the cells of its row, by column."""
    kind = OF_VALUE[type(entry)]
    row = {"when": time_text(entry.at), "what": word_of(kind, entry), "who": entry.person or ""}
    told: dict[str, list[str]] = {}
    for attribute, field in {kind.attribute(field): field for field in kind.fields if field.column}.items():
        value = getattr(entry, attribute, None) if attribute else None
        if value not in (None, ""):
            told.setdefault(field.column, []).append(cell(field, value))
            if field.name == "mass_kg":
                row["unit"] = "kg"
    return {**row, **{column: " ".join(cells) for column, cells in told.items()}}


def word_of(kind: EntryKind, entry: Entry) -> str:
    """Return the word of log.csv for an entry: of those that fit, the one that tells most."""
    attributes = {field.name: kind.attribute(field) for field in kind.fields}
    fitting = [
        word
        for word, constants in kind.log.items()
        if all(getattr(entry, attributes[name]) == value for name, value in constants.items())
    ]
    return max(fitting, key=lambda word: len(kind.log[word]))


def cell(field: Field, value: object) -> str:
    """Return a value of a field as it is typed."""
    match value:
        case bool():
            return SPOILED[value] if field.type is Type.YES else "yes" if value else "no"
        case float() | int():
            return decimal_text(value)
        case tuple():
            return " ".join(decimal_text(each) for each in value)
        case datetime():
            return time_text(value)
    return str(value)


def kitchen_text(setup: Setup) -> str:
    """Return settings as a kitchen.toml."""
    kitchen = setup.kitchen
    top = {setting.name: getattr(kitchen, setting.name, None) for setting in KITCHEN.settings}
    parts = ["\n".join(lines_of({**top, "jug_l": setup.jug_l, **asdict(setup.keeping)}))]
    for name, thing in TABLES.items():
        tables = (values_of(thing, each) for each in getattr(kitchen, name))
        parts += ["\n".join([f"[[{name}]]", *lines_of(values)]) for values in tables]
    return "\n\n".join(parts) + "\n"


def values_of(thing: Thing, value: object) -> dict[str, object]:
    """Return what a thing of the kitchen is set to, by the names of its settings."""
    if isinstance(value, Service):
        days = [DAYS[weekday] for weekday in value.weekdays]
        hours = {"from": value.begins, "to": value.ends}
        return {"name": value.name, "days": days, **hours, "fryers": value.fryers or None}
    renamed = {"reason": "remark"} if isinstance(value, Limit) else {}
    told = {
        setting.name: getattr(value, renamed.get(setting.name, setting.name)) for setting in thing.settings
    }
    # no allergens is something said
    return {name: None if said in ("", ()) and name != "allergens" else said for name, said in told.items()}


def lines_of(values: Mapping[str, object]) -> Iterator[str]:
    """Yield settings as lines of TOML; what is not set is left out."""
    for name, value in values.items():
        if value is not None:
            yield f"{name} = {toml(value)}"


def toml(value: object) -> str:
    """Return a value as TOML writes it."""
    match value:
        case str():
            return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")
        case date():
            return f'"{value.isoformat()}"'
        case time():
            return f'"{value:%H:%M}"'
        case list() | tuple():
            return f"[{', '.join(toml(each) for each in value)}]"
    return decimal_text(value)  # type: ignore[arg-type]  # what is left are numbers and prices
