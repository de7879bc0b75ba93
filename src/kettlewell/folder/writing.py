"""Writes a kitchen and its day book as the files that are read back the same."""

import csv
import io
import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, fields
from datetime import date, datetime, time
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

from kettlewell.book import Entry, Limit, Service
from kettlewell.book.fields import Field, Type
from kettlewell.book.kinds import OF_VALUE, EntryKind
from kettlewell.book.letters import FORMULA
from kettlewell.book.plain import decimal_text, time_text
from kettlewell.book.settings import DAYS, KITCHEN, TABLES, Thing
from kettlewell.book.setup import Setup
from kettlewell.folder.kitchen import KITCHEN_NAME
from kettlewell.folder.log import LOG_NAME
from kettlewell.folder.values import Earlier
from kettlewell.folder.words import COLUMNS, SENSES

FREE = ("lot", "who", "note")  # what people write in their own words
NO_NOTES: Mapping[str, str] = MappingProxyType({})
SPOILED = {spoiled: word for word, spoiled in SENSES.items()}


def write_folder(
    path: Path,
    setup: Setup,
    entries: Iterable[Entry],
    *,
    earlier: Sequence[Earlier] = (),
    notes: Mapping[str, str] = NO_NOTES,
) -> None:
    """Write kitchen.toml, what it said earlier, and log.csv into a folder that is there.

    ``notes`` are kept by the ``ref`` of their entry.
    """
    (path / KITCHEN_NAME).write_text(kitchen_text(setup), encoding="utf-8")
    for name, each in zip(earlier_names(earlier), earlier, strict=True):
        (path / name).write_text(kitchen_text(each.setup, until=each.until), encoding="utf-8")
    (path / LOG_NAME).write_text(log_text(entries, notes), encoding="utf-8", newline="")


def earlier_names(earlier: Iterable[Earlier]) -> Iterator[str]:
    """Yield the name of each file of an earlier kitchen: by the day until which it counted."""
    days = Counter[date]()
    for each in earlier:
        day = each.until.astimezone(ZoneInfo(each.setup.kitchen.timezone)).date()
        days[day] += 1
        yield f"kitchen-until-{day}{f'-{days[day]}' if days[day] > 1 else ''}.toml"


def log_text(entries: Iterable[Entry], notes: Mapping[str, str] = NO_NOTES) -> str:
    """Return entries as a log.csv; where they were written down before is not told."""
    lines = io.StringIO()
    rows = csv.DictWriter(lines, COLUMNS, restval="", lineterminator="\n")
    rows.writeheader()
    alike = Counter[tuple[str, ...]]()
    for entry in dict.fromkeys(entries):
        row = row_of(entry)
        row["note"] = ", ".join(
            said for said in (row["note"], " ".join(notes.get(entry.ref, "").split())) if said
        )
        alike[cells := tuple(row.values())] += 1
        if alike[cells] > 1:  # a row that repeats another would count once
            row["note"] = f"{row['note']} ({alike[cells]})".strip()
        rows.writerow({name: no_formula(said) if name in FREE else said for name, said in row.items()})
    return lines.getvalue()


def no_formula(text: str) -> str:
    """Return a text such as no spreadsheet takes for a formula; the reader takes the apostrophe away."""
    return f"'{text}" if text.lstrip("'").startswith(FORMULA) else text


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
    return {"note": "", **row, **{column: " ".join(cells) for column, cells in told.items()}}


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


def kitchen_text(setup: Setup, *, until: datetime | None = None) -> str:
    """Return settings as a kitchen.toml, or as what it said until a time."""
    said = tables_of(setup)
    top = {name: value for name, value in said.items() if name not in TABLES}
    parts = ["\n".join(lines_of({"until": until, **top}))]
    for name in TABLES:
        parts += ["\n".join([f"[[{name}]]", *lines_of(values)]) for values in said[name]]
    return "\n\n".join(parts) + "\n"


def tables_of(setup: Setup) -> dict[str, Any]:
    """Return settings as the tables of a kitchen.toml; what is as the program has it anyway is not said."""
    top = {**values_of(KITCHEN, setup.kitchen), "jug_l": setup.jug_l, **asdict(setup.keeping)}
    tables = {
        name: [without_none(values_of(thing, each)) for each in getattr(setup.kitchen, name)]
        for name, thing in TABLES.items()
    }
    return without_none(top) | tables


def without_none(values: Mapping[str, object]) -> dict[str, Any]:
    """Return values without those that say nothing."""
    return {name: value for name, value in values.items() if value is not None}


def values_of(thing: Thing, value: Any) -> dict[str, object]:  # noqa: ANN401 - as different as things are
    """Return what a thing of the kitchen is set to, by the names of its settings; None is not said."""
    if isinstance(value, Service):
        days = [DAYS[weekday] for weekday in value.weekdays]
        hours = {"from": value.begins, "to": value.ends}
        return {"name": value.name, "days": days, **hours, "fryers": value.fryers or None}
    renamed = {"reason": "remark"} if isinstance(value, Limit) else {}
    usual = {each.name: each.default for each in fields(value)}
    told = {}
    for setting in thing.settings:
        name = renamed.get(setting.name, setting.name)
        said = getattr(value, name, None)
        told[setting.name] = None if said == usual.get(name) and not setting.required else said
    return told


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
        case datetime():
            return f'"{time_text(value)}"'
        case date():
            return f'"{value.isoformat()}"'
        case time():
            return f'"{value:%H:%M}"'
        case list() | tuple():
            return f"[{', '.join(toml(each) for each in value)}]"
    return decimal_text(value)  # type: ignore[arg-type]  # what is left are numbers and prices
