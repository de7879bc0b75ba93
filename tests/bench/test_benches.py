"""Every script of bench/ runs, at its smallest size: its published figures can be had again."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
BENCH = ROOT / "bench"
SHARE = r"\d+\.\d%"
# of each script: its smallest size, and a line of what it then prints
SMALLEST = {
    "calibration": ("2", rf"^\| first fill \| {SHARE} \| {SHARE} \| {SHARE} \|$"),
    "checked_meters": ("1 3 100", rf"^\| TPC above 19, no checks \| {SHARE} \| {SHARE} \| {SHARE} \|$"),
    "closed_loop": ("2", r"^\| ours \| 0\.05 \| \d\.\d{3} \(\d\.\d{3}-\d\.\d{3}\) \|"),
    "faults": ("8", r"^[1-9]\d* told as stored, 0 of them lost"),
    "inspection_book": ("20", r"^the book: 200, \d+\.\d s \(\d+\.\d s of work\), \d+ kB$"),
    "load_server": ("1 0 30", r"^Storing a reading and its verdict +16 times: median +\d+ ms"),
    "look_back": ("1", r"^\| kept back \| step \| 0\.5 \| \d+ \| \d+ \| \d+ % \| \d+ % \| \d+ points"),
    "never_read": ("2", r"^α 0\.05: \d+ of \d+ changes, \d+\.\d\d%$"),
    "read_when_told": ("20", r"^readings when told: \d+\.\d% of those every morning$"),
    "speed_assess": ("5", r"^from a checkpoint and \d+ entries: \d+\.\d ms$"),
    "speed_batch": ("4", r"^\| progpy's UKF \| \d+\.\d\d \| \d+ \|$"),
    "speed_log": ("50", r"^50 entries and 0 problems from 50 rows$"),
    "worlds": ("2 plain", r"^\| plain \| choose \| (?:\d\.\d{3}|not reached) \| \d\.\d{3} \| \d\.\d{3} \|"),
}
LONG = {"calibration", "checked_meters", "faults", "load_server"}


def test_every_script_has_a_smallest_size():
    assert {file.stem for file in BENCH.glob("*.py")} == SMALLEST.keys()


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=[pytest.mark.slow] * (name in LONG)) for name in SMALLEST]
)
def test_a_script_prints_its_figures_at_its_smallest_size(name):
    size, line = SMALLEST[name]
    kept = {key: value for key, value in os.environ.items() if key != "KETTLEWELL_DATABASE"}
    command = [sys.executable, str(BENCH / f"{name}.py"), *size.split()]
    done = subprocess.run(command, env=kept, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert re.search(line, done.stdout, re.MULTILINE), done.stdout
