"""The commands of the server, each in a process of its own."""

import os
import re
import sqlite3
import stat
import subprocess
import sys

import pytest

MAIN = "from kettlewell.cli import main; main()"
SEED = """
from kettlewell.cli import server
server.start()
from django.utils import timezone
from kettlewell.bridge import demo_kitchen
demo_kitchen(timezone.now())
"""
DROP = "DROP TRIGGER records_entry_no_update"


def python(home, *words, **settings):
    """Run Python with a home folder and settings of its own."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("KETTLEWELL_")}
    env = {**kept, "KETTLEWELL_HOME": str(home), "LC_ALL": "C.UTF-8", **settings}
    command = [sys.executable, "-c", *words]
    return subprocess.run(command, env=env, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """A server's home with Marrowby in it."""
    home = tmp_path_factory.mktemp("home")
    assert python(home, SEED).returncode == 0
    return home


def verify(home):
    return python(home, MAIN, "verify")


@pytest.mark.slow
def test_a_book_is_verified_and_the_first_edited_entry_is_named(home):
    whole = verify(home)
    assert whole.returncode == 0, whole.stderr
    assert re.search(r"Marrowby ferry terminal: all \d+ entries are as they were written", whole.stdout)
    with sqlite3.connect(home / "kettlewell.sqlite3") as book:
        book.execute(DROP)
        book.execute("UPDATE records_entry SET happened_at = '2020-01-01 00:00:00' WHERE seq IN (40, 50)")
    broken = verify(home)
    assert broken.returncode == 1
    assert "entry 40 was edited" in broken.stdout


@pytest.mark.slow
def test_the_secret_is_made_once_and_only_its_owner_reads_it(home):
    secret = home / "secret.key"
    before = secret.read_text("ascii")
    assert stat.S_IMODE(secret.stat().st_mode) == 0o600
    assert len(before) >= 50
    verify(home)
    assert secret.read_text("ascii") == before


@pytest.mark.parametrize(
    ("setting", "value"),
    [("KETTLEWELL_HTTPS", "maybe"), ("KETTLEWELL_DATABASE", "mysql://somewhere/else")],
)
def test_a_setting_that_is_not_understood_stops_with_a_sentence(tmp_path, setting, value):
    result = python(tmp_path, MAIN, "verify", **{setting: value})
    assert result.returncode == 2
    assert setting in result.stderr
    assert "Traceback" not in result.stderr


def test_a_certificate_without_its_key_is_refused(tmp_path):
    certificate = tmp_path / "kitchen.pem"
    certificate.write_text("no certificate", "ascii")
    result = python(tmp_path, MAIN, "serve", "--certificate", str(certificate))
    assert result.returncode == 2
    assert "--key" in result.stderr
