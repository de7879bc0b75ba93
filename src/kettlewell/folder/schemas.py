"""The JSON Schemas of kitchen.toml and of a row of log.csv, made from what the book tells.

Of a row the words, the columns, and the rules of what is read by its fields alone are made; the
rules of what people type in many ways stand in the file. ``python -m kettlewell.folder.schemas``
writes both anew into the files beside this module.
"""

import json
from pathlib import Path
from typing import Any

from kettlewell.book.fields import Field, Type
from kettlewell.book.kinds import KINDS, EntryKind
from kettlewell.book.settings import DAYS, KITCHEN, TABLES, Setting, SettingType, Thing
from kettlewell.folder.cells import NUMBER
from kettlewell.folder.kitchen import QUANTITIES
from kettlewell.folder.plainly import PLAIN_BUILDERS
from kettlewell.folder.words import COLUMNS, OF_NO_FRYER, WHATS

FILE = Path(__file__).parent / "kitchen.schema.json"
ROW_FILE = Path(__file__).parent / "log-row.schema.json"
MADE = "made from the book"
PLAIN = PLAIN_BUILDERS.keys()
TEXT = {"type": "string", "pattern": "\\S"}
ONE_DAY = "|".join(DAYS)
UNTIL = {"until": {**TEXT, "description": "only of what the kitchen was earlier: when that ended"}}
BY_TYPE: dict[SettingType, dict[str, Any]] = {
    SettingType.PRICE: {"type": "number", "minimum": 0},
    SettingType.TEXT: TEXT,
    SettingType.TEXTS: {"type": "array", "items": TEXT},
    SettingType.ZONE: TEXT,
    SettingType.JURISDICTION: {"type": "string", "pattern": "^[A-Z]{2}$"},
    SettingType.QUANTITY: {"enum": list(QUANTITIES)},
    SettingType.UNIT: {"enum": list(dict.fromkeys(limit.unit for limit in QUANTITIES.values()))},
    SettingType.DAY: {"$ref": "#/$defs/day"},
    SettingType.CLOCK: {"$ref": "#/$defs/clock"},
    SettingType.WEEKDAYS: {
        "anyOf": [
            {"type": "string", "pattern": f"^({ONE_DAY})(-({ONE_DAY}))?$"},
            {"type": "array", "minItems": 1, "items": {"enum": list(DAYS)}},
        ]
    },
}


def kitchen_schema() -> dict[str, Any]:
    """Return what a kitchen.toml may hold, as JSON Schema."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "kitchen.toml",
        "description": (
            "One kitchen: its fryers, oils, products, meters, reference oils, services and limits "
            "of its own. Units are in the names: _c °C, _kg kilograms, _l litres, _pct % "
            "(polar compounds: % m/m)."
        ),
        **_object(
            KITCHEN, needed=["oils", "fryers"], more=UNTIL | {n: _table(n, t) for n, t in TABLES.items()}
        ),
        "$defs": {
            "day": {"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"},
            "clock": {"type": "string", "pattern": "^([01]?[0-9]|2[0-3]):[0-5][0-9]$"},
        },
    }


def _table(name: str, thing: Thing) -> dict[str, Any]:
    least = {"minItems": 1} if name in ("oils", "fryers") else {}
    items = {"title": thing.title, **_object(thing, needed=[], more={})}
    return {"type": "array", "items": items, **least, "maxItems": thing.most}


def _object(thing: Thing, *, needed: list[str], more: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "additionalProperties": False,
        "required": [*(setting.name for setting in thing.settings if setting.required), *needed],
        "properties": {setting.name: _value(setting) for setting in thing.settings} | more,
    }


def _value(setting: Setting) -> dict[str, Any]:
    told = BY_TYPE.get(setting.type, {"enum": list(setting.words)})
    if setting.type is SettingType.WORDS:
        told = {"type": "array", "items": told}
    if setting.type is SettingType.NUMBER:
        lowest = "exclusiveMinimum" if setting.above else "minimum"
        told = {"type": "number", lowest: setting.low, "maximum": setting.high}
    return {**told, **({"description": setting.meaning} if setting.meaning else {})}


def row_schema() -> dict[str, Any]:
    """Return what a row of log.csv may hold, as JSON Schema."""
    schema: dict[str, Any] = json.loads(ROW_FILE.read_text(encoding="utf-8"))
    told = schema["properties"] | {"what": {"enum": list(WHATS)}}
    typed = [rule for rule in schema["allOf"] if rule.get("$comment") != MADE]
    of_a_fryer = {
        "$comment": MADE,
        "if": {"properties": {"what": {"enum": list(OF_NO_FRYER)}}},
        "else": {"properties": {"fryer": {"minLength": 1}}, "required": ["fryer"]},
    }
    plain = [_plain_rule(kind, list(words)) for kind in KINDS.values() if (words := PLAIN & kind.log.keys())]
    return {
        **schema,
        "properties": {column: told.get(column, {"type": "string"}) for column in COLUMNS},
        "allOf": [*typed, *plain, of_a_fryer],
    }


def _plain_rule(kind: EntryKind, words: list[str]) -> dict[str, Any]:
    columns: dict[str, list[Field]] = {}
    for field in kind.fields:
        if field.required and field.column:
            columns.setdefault(field.column, []).append(field)
    return {
        "$comment": MADE,
        "if": {"properties": {"what": {"enum": words}}},
        "then": {
            "properties": {column: _plain_cell(fields) for column, fields in columns.items()},
            "required": list(columns),
        },
    }


def _plain_cell(fields: list[Field]) -> dict[str, Any]:
    if fields[0].type is Type.NUMBER:
        more = f"([ /;]+{NUMBER}){{{len(fields) - 1}}}" if len(fields) > 1 else ""
        return {"pattern": f"^{NUMBER}{more}$"}
    if fields[0].type is Type.MOMENT:
        return {"$ref": "#/properties/when"}
    return {"minLength": 1}


def text(schema: dict[str, Any]) -> str:
    """Return a schema as it stands in its file."""
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    FILE.write_text(text(kitchen_schema()), encoding="utf-8")
    ROW_FILE.write_text(text(row_schema()), encoding="utf-8")
