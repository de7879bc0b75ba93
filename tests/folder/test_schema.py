"""The JSON Schemas say what the reader does."""

import csv
import json
import tomllib
from importlib.resources import files

import jsonschema
import pytest

from kettlewell.core.limits import jurisdictions
from kettlewell.folder import MARROWBY, KitchenError, read_folder, read_kitchen, schemas
from kettlewell.folder import cells as typed_cells
from kettlewell.folder.words import (
    ANSWERS,
    COLUMNS,
    FOOD_UNITS,
    HOUR_UNITS,
    OF_NO_FRYER,
    OIL_UNITS,
    REQUIRED_COLUMNS,
    SENSES,
    TPC_UNITS,
    WHATS,
)


def schema(name):
    return json.loads(files("kettlewell.folder").joinpath(name).read_text(encoding="utf-8"))


KITCHEN = schema("kitchen.schema.json")
ROW = schema("log-row.schema.json")


def validates(instance, of):
    return jsonschema.Draft202012Validator(of).is_valid(instance)


def units_of(what):
    for rule in ROW["allOf"]:
        said = rule["if"]["properties"]["what"]
        if what in said.get("enum", [said.get("const")]):
            then = rule["then"]
            then = ROW["$defs"][then["$ref"].rsplit("/", 1)[1]] if "$ref" in then else then
            return then["properties"]["unit"]["enum"]
    raise AssertionError(what)


@pytest.mark.parametrize("said", [KITCHEN, ROW])
def test_a_schema_is_itself_valid(said):
    jsonschema.Draft202012Validator.check_schema(said)


def test_the_row_schema_has_the_readers_words():
    row = ROW["properties"]
    assert list(row) == list(COLUMNS)
    needed = [*ROW["required"], *ROW["allOf"][-1]["else"]["required"]]
    assert sorted(needed) == sorted(REQUIRED_COLUMNS)
    assert ROW["allOf"][-1]["if"]["properties"]["what"]["enum"] == list(OF_NO_FRYER)
    assert ROW["$defs"]["percent"]["pattern"].strip("^$") in ROW["$defs"]["percents"]["pattern"]
    assert row["what"]["enum"] == list(WHATS)
    assert row["sound"]["enum"] == ["", *ANSWERS]
    assert units_of("reading") == units_of("lab") == units_of("meter-check") == ["", *TPC_UNITS]
    assert units_of("top-up") == units_of("move") == ["", *OIL_UNITS]
    assert units_of("load") == ["", *FOOD_UNITS]
    assert units_of("hot-hours") == ["", *HOUR_UNITS]
    assert ROW["allOf"][1]["then"]["properties"]["amount"]["enum"] == ["", *SENSES]


def test_the_row_schema_has_the_readers_patterns():
    days = f"({typed_cells.YEAR_FIRST}|{typed_cells.DAY_FIRST})"
    when = f"^{days}{typed_cells.BETWEEN}{typed_cells.CLOCK}$"
    assert ROW["properties"]["when"]["pattern"] == when
    assert ROW["$defs"]["number"]["pattern"] == f"^{typed_cells.NUMBER}$"


def test_the_schemas_are_made_from_the_kinds_and_settings_as_the_book_tells_them():
    """Write it anew with ``python -m kettlewell.folder.schemas`` where this fails."""
    assert schemas.FILE.read_text(encoding="utf-8") == schemas.text(schemas.kitchen_schema())
    assert schemas.ROW_FILE.read_text(encoding="utf-8") == schemas.text(schemas.row_schema())
    pattern = {"$ref": "#/properties/jurisdiction", "properties": KITCHEN["properties"]}
    assert all(validates(code, pattern) for code in jurisdictions())


def test_the_schema_takes_the_demo_and_refuses_the_rows_that_are_bad_on_purpose():
    assert validates(tomllib.loads((MARROWBY / "kitchen.toml").read_text(encoding="utf-8")), KITCHEN)
    problems = {problem.line: problem.field for problem in read_folder(MARROWBY).log.problems}
    assert sorted(problems.values()) == ["amount", "fryer", "unit"]
    with (MARROWBY / "log.csv").open(encoding="utf-8", newline="") as log:
        rows = dict(enumerate(csv.DictReader(log), 2))
    tidy = {line for line, row in rows.items() if validates(row, ROW)}
    assert len(tidy) > 0.9 * len(rows)
    # which fryers there are is not the schema's to know
    assert [problems[line] for line in tidy & set(problems)] == ["fryer"]


GOOD_ROWS = [
    {"what": "reading", "amount": "12,5", "unit": "%", "oil_temp": "170", "sound": "no"},
    {"what": "reading", "amount": "100.0"},
    {"what": "lab", "amount": "23.4", "uncertainty": "0.6"},
    {"what": "smell", "amount": "spoiled"},
    {"what": "smell", "note": "foam"},
    {"what": "top-up", "unit": "mark"},
    {"what": "top-up"},
    {"what": "top-up", "amount": "2", "unit": "jugs"},
    {"what": "load", "amount": "3", "unit": "baskets", "product": "fries"},
    {"what": "hot-hours", "amount": "24"},
    {"what": "hot-hours", "amount": "90", "unit": "min"},
    {"what": "move", "into": "F2", "amount": ".5", "unit": "l"},
    {"what": "shared-filter", "who": "AB"},
    {"what": "skim", "when": "31.12.26 9.05"},
    {"what": "meter-check", "amount": "17,5 18 / 17.5", "unit": "%", "oil_temp": "50", "fryer": ""},
    {"what": "meter-check", "amount": "18", "meter": "hand", "lot": "lot-7"},
    {"what": "adjusted", "amount": "18;18"},
    {"what": "meter-out", "fryer": ""},
    {"what": "meter-back"},
    {"what": "closed", "until": "2026-12-27 10:00"},
    {"what": "closed", "until": "2026-12-27 10:00", "fryer": ""},
    {"what": "comparison", "meter": "hand", "oil": "rapeseed", "amount": "-0.25 0.4 1.03 0.02 -0.9"},
]
BAD_ROWS = [
    {"what": "readings"},
    {"what": "reading"},
    {"what": "reading", "amount": "2O.5"},
    {"what": "reading", "amount": "nan"},
    {"what": "reading", "amount": "-1"},
    {"what": "reading", "amount": "100.5"},
    {"what": "reading", "amount": "12", "unit": "kg"},
    {"what": "reading", "amount": "12", "oil_temp": "301"},
    {"what": "reading", "amount": "12", "sound": "maybe"},
    {"what": "lab", "amount": "12", "uncertainty": "x"},
    {"what": "lab", "amount": "12", "uncertainty": "0"},
    {"what": "smell"},
    {"what": "smell", "amount": "spoilt"},
    {"what": "top-up", "amount": "2"},
    {"what": "top-up", "amount": "2", "unit": "mark"},
    {"what": "top-up", "amount": "2", "unit": "cups"},
    {"what": "top-up", "amount": "-2", "unit": "kg"},
    {"what": "load", "amount": "2", "product": "fries"},
    {"what": "load", "amount": "2", "unit": "jugs", "product": "fries"},
    {"what": "hot-hours"},
    {"what": "hot-hours", "amount": "24.5"},
    {"what": "hot-hours", "amount": "-1", "unit": "min"},
    {"what": "move"},
    {"what": "move", "into": "F2", "amount": "2"},
    {"what": "skim", "when": "yesterday"},
    {"what": "skim", "when": "2026-09-07"},
    {"what": "skim", "fryer": ""},
    {"what": "meter-check"},
    {"what": "meter-check", "amount": "17 18 17 18"},
    {"what": "adjusted", "amount": "17 x"},
    {"what": "adjusted", "amount": "101"},
    {"what": "meter-check", "amount": "17", "unit": "kg"},
    {"what": "meter-out", "when": ""},
    {"what": "closed"},
    {"what": "closed", "until": "next week"},
    {"what": "comparison", "meter": "hand", "amount": "-0.25 0.4 1.03 0.02 -0.9"},
    {"what": "comparison", "meter": "hand", "oil": "rapeseed", "amount": "-0.25 0.4 1.03 0.02"},
    {"what": "comparison", "meter": "hand", "oil": "rapeseed", "amount": "1 0.4 x 0.02 0"},
]


@pytest.mark.parametrize("cells", GOOD_ROWS)
def test_schema_and_reader_both_take_a_good_row(read_row, cells):
    assert validates({"when": "2026-09-07 11:00", "fryer": "F1", **cells}, ROW)
    assert len(read_row(**cells).entries) == 1


@pytest.mark.parametrize("cells", BAD_ROWS)
def test_schema_and_reader_both_refuse_a_bad_row(read_row, cells):
    assert not validates({"when": "2026-09-07 11:00", "fryer": "F1", **cells}, ROW)
    assert read_row(**cells).entries == ()


WHOLE = """
name = "K"
timezone = "Europe/London"
risk = 0.05
[[oils]]
key = "a"
kind = "rapeseed"
[[fryers]]
key = "F1"
oil = "a"
oil_mass_kg = 20
[[meters]]
key = "hand"
in_use_since = "2026-01-31"
[[reference_lots]]
key = "lot-7"
tpc_pct = 18
expanded_u_pct = 0.6
coverage_factor = 2
[[services]]
name = "Lunch"
days = "mon-fri"
from = "11:30"
to = "14:30"
[[limits]]
quantity = "total polar compounds"
unfit_when = ">"
value = 24
unit = "% m/m"
"""
MISTAKES = [
    ("timezone", "time_zone"),
    ('name = "K"', 'name = ""'),
    ("risk = 0.05", "risk = 0"),
    ("risk = 0.05", "risk = 0.6"),
    ("risk = 0.05", "jug_l = '2'"),
    ("risk = 0.05", "jug_l = true"),
    ("risk = 0.05", "jurisdiction = 'nowhere'"),
    ('"rapeseed"', '"rape"'),
    ("[[oils]]", "[[fats]]"),
    ("oil_mass_kg = 20", ""),
    ("oil_mass_kg = 20", "oil_mass_kg = 0"),
    ("oil_mass_kg = 20", "oil_mass_kg = 20\nfries = 'fries'"),
    ("oil_mass_kg = 20", "oil_mass_kg = 20\nset_temp_c = 301"),
    ("oil_mass_kg = 20", "oil_mass_kg = 20\ndraining = 'tap'"),
    ("2026-01-31", "31.01.2026"),
    ("tpc_pct = 18", "tpc_pct = 0"),
    ("expanded_u_pct = 0.6", "expanded_u_pct = -0.6"),
    ("expanded_u_pct = 0.6", ""),
    ("coverage_factor = 2", "coverage_factor = 0"),
    ("risk = 0.05", "permissible_pct = 0"),
    ("risk = 0.05", "permissible_pct = 4.5"),
    ("risk = 0.05", "laboratory_price = -1"),
    ('key = "hand"', 'key = "hand"\nresolution_pct = 0.001'),
    ("[[oils]]", "".join(f'[[oils]]\nkey = "more-{n}"\n' for n in range(100)) + "[[oils]]"),
    ("mon-fri", "mon-fry"),
    ('"mon-fri"', '["mon", "never"]'),
    ("11:30", "24:30"),
    ('from = "11:30"', ""),
    ("total polar compounds", "polarity"),
    ('">"', '"above"'),
    ("value = 24", "value = 0"),
    ("% m/m", "percent"),
]


def test_schema_and_reader_both_take_a_good_kitchen(tmp_path):
    path = tmp_path / "kitchen.toml"
    path.write_text(WHOLE, encoding="utf-8")
    assert validates(tomllib.loads(WHOLE), KITCHEN)
    assert read_kitchen(path).kitchen.name == "K"


@pytest.mark.parametrize(("good", "bad"), MISTAKES)
def test_schema_and_reader_both_refuse_a_bad_kitchen(tmp_path, good, bad):
    assert good in WHOLE
    typed = WHOLE.replace(good, bad, 1)
    path = tmp_path / "kitchen.toml"
    path.write_text(typed, encoding="utf-8")
    assert not validates(tomllib.loads(typed), KITCHEN)
    with pytest.raises(KitchenError):
        read_kitchen(path)
