"""A kitchen small enough to read, and a way to read a log as if it had been typed."""

import io

import pytest

from kettlewell.folder import read_kitchen, read_log

KITCHEN = """
name = "Test kitchen"
timezone = "Europe/London"
jug_l = 2

[[oils]]
key = "rapeseed"
kind = "rapeseed"
pack_kg = 9.2

[[oils]]
key = "heavy"
density_kg_per_l = 0.95

[[products]]
key = "fries"
kind = "frozen-fries"
portion_kg = 0.2
basket_kg = 1.5

[[products]]
key = "fish"

[[fryers]]
key = "F1"
name = "Big pan"
oil = "rapeseed"
oil_mass_kg = 20
fries = ["fries"]

[[fryers]]
key = "F2"
oil = "heavy"
oil_mass_kg = 10
fries = ["fries", "fish"]

[[meters]]
key = "hand"
resolution_pct = 0.5
largest_error_pct = 2
min_oil_temp_c = 40
max_oil_temp_c = 200
in_use_since = "2026-08-01"

[[reference_lots]]
key = "lot-7"
name = "Bottle 7"
tpc_pct = 18
expanded_u_pct = 0.6
read_at_c = 50

[[services]]
name = "Lunch"
days = "mon-fri"
from = "11:30"
to = "14:30"
"""


@pytest.fixture
def setup(tmp_path):
    """What the kitchen above says."""
    path = tmp_path / "kitchen.toml"
    path.write_text(KITCHEN, encoding="utf-8")
    return read_kitchen(path)


@pytest.fixture
def read(setup):
    """Read a log given as text or bytes."""

    def read_typed(typed):
        return read_log(io.BytesIO(typed if isinstance(typed, bytes) else typed.encode()), setup)

    return read_typed


@pytest.fixture
def read_row(read):
    """Read one row given by its columns; the day and F1 unless they are given."""

    def read_cells(**cells):
        row = {"when": "2026-09-07 11:00", "fryer": "F1", **cells}
        quoted = (f'"{cell}"' for cell in row.values())
        return read(",".join(row) + "\n" + ",".join(quoted) + "\n")

    return read_cells
