"""The file that the log of access is: begun anew in time, and whole though several processes write it."""

import logging
import subprocess
import sys
from collections import Counter

import pytest

from kettlewell import clock
from kettlewell.records import access_log
from kettlewell.records.access_log import KEPT, InUtc, LogFile, plain

WRITES = """
import logging, sys
from pathlib import Path
from kettlewell.records import access_log
access_log.KEPT, access_log.LARGEST_BYTES = 1000, 2000
handler = access_log.LogFile(sys.argv[1], delay=True)
handler.setFormatter(access_log.InUtc("%(asctime)s %(message)s"))
log = logging.getLogger("here")
log.addHandler(handler)
for n in range(200):
    log.warning("writer=%s line=%s %s", sys.argv[2], n, "x" * n)
"""


@pytest.fixture
def file(tmp_path):
    return tmp_path / "log" / "kettlewell.log"


@pytest.fixture
def write(file):
    """Return a way to write a line in the log."""
    handler = LogFile(file, delay=True)
    handler.setFormatter(InUtc("%(asctime)s %(message)s"))
    yield lambda text: handler.handle(logging.makeLogRecord({"msg": text}))
    handler.close()


def test_a_line_begins_with_the_time_of_the_programs_clock(write, file, monkeypatch):
    monkeypatch.setenv(clock.SETTING, "2026-11-15T22:30:00+01:00")
    write("signed-in")
    assert file.read_text("ascii") == "2026-11-15T21:30:00.000Z signed-in\n"
    assert file.parent.stat().st_mode & 0o077 == 0


def test_each_month_begins_a_file_and_the_oldest_goes(write, file, monkeypatch):
    for month in range(1, 10):
        for day in (1, 28):
            monkeypatch.setenv(clock.SETTING, f"2026-{month:02}-{day:02}T00:00:00+00:00")
            write("signed-in")
    kept = [file, *(file.with_name(f"{file.name}.{n}") for n in range(1, KEPT + 1))]
    assert sorted(file.parent.glob("kettlewell.log*")) == kept
    months = [{line[:7] for line in one.read_text("ascii").splitlines()} for one in kept]
    assert months == [{f"2026-{month:02}"} for month in range(9, 9 - len(kept), -1)]


def test_a_full_file_is_begun_anew(write, file, monkeypatch):
    monkeypatch.setattr(access_log, "LARGEST_BYTES", 100)
    for number in range(6):
        write(f"signed-in {number}" + "x" * 40)
    assert [one.stat().st_size < 200 for one in file.parent.glob("kettlewell.log*")] == [True] * 3


def test_several_processes_write_whole_lines_and_lose_none(file):
    writers = [subprocess.Popen([sys.executable, "-c", WRITES, str(file), str(n)]) for n in range(3)]
    assert [writer.wait(timeout=60) for writer in writers] == [0] * 3
    files = list(file.parent.glob("kettlewell.log*"))
    assert len(files) > 10
    lines = [line.split(" ") for one in files for line in one.read_text("ascii").splitlines()]
    wanted = Counter((f"writer={w}", f"line={n}", "x" * n) for w in range(3) for n in range(200))
    assert Counter(tuple(said) for _time, *said in lines) == wanted


def test_a_log_that_cannot_be_written_stops_nobody(write, file, capsys):
    file.parent.write_text("a file where the folder should be")
    write("signed-in")
    assert "FileExistsError" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (None, "-"),
        ("", "-"),
        ("2001:db8::1", "2001:db8::1"),
        ("password,pin", "password,pin"),
        ("a b\r\n\x1b[2J=%\u202e\ud800", "a%20b%0D%0A%1B[2J%3D%25%E2%80%AE%5Cud800"),
        ("x" * 1000, "x" * 100),
    ],
)
def test_a_value_can_end_neither_field_nor_line(value, told):
    assert plain(value) == told
