"""`kettlewell import` and `export`, each in a process of its own."""

import json
import os
import re
import sqlite3
import subprocess
import sys

import pytest
from moments import without_settings
from ports import free_port
from processes import serving

from kettlewell.folder import MARROWBY

pytestmark = pytest.mark.slow
MAIN = "from kettlewell.cli import main; main()"
NOW = "2026-11-15T21:30:00Z"
SIGN_IN = """
import sys
from kettlewell.cli import server
server.start()
from django.test import Client
typed = {"username": sys.argv[1], "password": sys.argv[2]}
response = Client().post("/sign-in/", typed, headers={"host": "127.0.0.1"})
print(response.status_code, response.headers.get("location"))
"""


def python(home, *words, **settings):
    """Run Python with a home folder of its own."""
    env = without_settings(os.environ) | {"KETTLEWELL_HOME": str(home), "LC_ALL": "C.UTF-8", **settings}
    command = [sys.executable, "-c", *map(str, words)]
    return subprocess.run(command, env=env, capture_output=True, text=True, check=False)


def run(home, *words, **settings):
    return python(home, MAIN, *words, **({"KETTLEWELL_NOW": NOW} | settings))


@pytest.fixture(scope="module")
def founded(tmp_path_factory):
    """A home into whose empty server Marrowby was brought, and what was printed."""
    home = tmp_path_factory.mktemp("home") / "new"
    return home, run(home, "import", MARROWBY, "--owner", "Olive")


def test_the_owner_signs_in_with_what_was_printed(founded):
    home, told = founded
    assert told.returncode == 2, told.stderr  # three rows of it are bad on purpose
    text = " ".join(told.stdout.split())
    name, password = re.search(r"signs in as (\w+) with the password (\w+)", text).groups()
    assert name == "olive"
    signed = python(home, SIGN_IN, name, password)
    assert signed.stdout.split()[0] == "302", signed.stdout + signed.stderr
    assert python(home, SIGN_IN, name, "not-it").stdout.split()[0] == "200"


def test_bad_rows_are_told_with_their_lines_and_the_rest_is_in(founded):
    _home, told = founded
    assert [
        line.split(",")[1].strip() for line in told.stderr.splitlines() if line.startswith("  log.csv")
    ] == [
        "line 256",
        "line 518",
        "line 858",
    ]
    assert re.search(r"^\d+ rows were written\.$", told.stdout, re.MULTILINE)


def test_again_is_harmless_while_a_server_runs(founded):
    home, _told = founded
    with serving(home, free_port()):
        again = run(home, "import", MARROWBY)
    assert "No row was new." in again.stdout, again.stderr


def test_what_export_writes_is_assessed_as_the_server_tells_it(founded, tmp_path):
    home, _told = founded
    assert run(home, "export", tmp_path / "out").returncode == 0
    folder = tmp_path / "out" / "marrowby-ferry-terminal"
    assess = [json.loads(run(home, "assess", place, "--json").stdout) for place in (folder, MARROWBY)]
    out, own = ({each["fryer"]: each["verdict"]["key"] for each in one["assessments"]} for one in assess)
    with sqlite3.connect(home / "kettlewell.sqlite3") as book:
        rows = book.execute("SELECT fryer, payload FROM records_entry WHERE kind = 'verdict'").fetchall()
    assert out == own == {fryer: json.loads(payload)["verdict"] for fryer, payload in rows}
    checked = run(home, "log", "check", folder)
    assert "can be used" in checked.stdout


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("import", "nowhere"), "there is no such folder"),
        (("import", MARROWBY, "--owner", "\u200b"), "--owner: "),
    ],
)
def test_what_cannot_be_is_told_in_a_sentence_and_founds_nothing(tmp_path, words, told):
    refused = run(tmp_path / "home", *words)
    assert refused.returncode == 2
    assert told in refused.stderr
    assert "Traceback" not in refused.stderr
    after = run(tmp_path / "home", "verify")
    assert "There is no day book" in " ".join(after.stderr.split())


def test_a_day_book_of_a_newer_version_is_left_alone(founded, tmp_path):
    home = tmp_path / "home"
    assert run(home, "import", MARROWBY).returncode == 2
    with sqlite3.connect(home / "kettlewell.sqlite3") as book:
        book.execute(
            "INSERT INTO django_migrations (app, name, applied) VALUES ('records', '9999_new', '2027-01-01')"
        )
        before = book.execute("SELECT count(*) FROM records_entry").fetchone()
    refused = run(home, "import", MARROWBY)
    assert refused.returncode == 2
    assert "was written by a newer Kettlewell" in " ".join(refused.stderr.split())
    with sqlite3.connect(home / "kettlewell.sqlite3") as book:
        assert book.execute("SELECT count(*) FROM records_entry").fetchone() == before


def test_german_is_spoken_to_who_asks_for_it(tmp_path):
    told = run(tmp_path / "home", "import", MARROWBY, "--language", "de")
    assert "Zeilen" in told.stdout
    assert "Passwort" in told.stdout
