"""The JSON Schema of kitchen.toml, made from the settings as the book tells them.

``python -m kettlewell.folder.schemas`` writes it anew into the file beside this module.
"""

import json
from pathlib import Path
from typing import Any

from kettlewell.book.settings import DAYS, KITCHEN, TABLES, Setting, SettingType, Thing
from kettlewell.folder.kitchen import QUANTITIES

FILE = Path(__file__).parent / "kitchen.schema.json"
TEXT = {"type": "string", "pattern": "\\S"}
ONE_DAY = "|".join(DAYS)
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
        **_object(KITCHEN, needed=["oils", "fryers"], more={n: _table(n, t) for n, t in TABLES.items()}),
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
    if setting.type is SettingType.NUMBER:
        lowest = "exclusiveMinimum" if setting.above else "minimum"
        told = {"type": "number", lowest: setting.low, "maximum": setting.high}
    return {**told, **({"description": setting.meaning} if setting.meaning else {})}


def text() -> str:
    """Return the schema as it stands in its file."""
    return json.dumps(kitchen_schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    FILE.write_text(text(), encoding="utf-8")
