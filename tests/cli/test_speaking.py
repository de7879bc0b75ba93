"""Whoever types a command is answered in his own language, the parser's words too."""

import inspect
import json
import re
import shutil
from pathlib import Path

import pytest
from click import core, exceptions, formatting, parser, termui, types
from click.testing import CliRunner

from kettlewell.cli import commands
from kettlewell.cli.parser_words import TEXTS
from kettlewell.folder import MARROWBY

NONE = dict.fromkeys(("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"), "")
ENGLISH = re.compile(
    r"\b(the|and|is|not|use|for|such|unless|given|Usage|Options|Commands|Error|Missing|of)\b"
)


@pytest.fixture
def run():
    """Run a command on a terminal that speaks as these variables say."""
    return lambda *words, **speaks: CliRunner(env={**NONE, "COLUMNS": "200", **speaks}).invoke(
        commands.app, [str(word) for word in words], prog_name="kettlewell"
    )


def every(command, path=()):
    yield path
    for name, child in getattr(command, "commands", {}).items():
        yield from every(child, (*path, name))


@pytest.mark.parametrize("path", list(every(commands.app)), ids=" ".join)
def test_every_help_is_german_on_a_german_terminal(run, path):
    told = run(*path, "--help", LANG="de_CH.UTF-8").stdout
    assert told.startswith(f"Aufruf: {' '.join(('kettlewell', *path))} [OPTIONEN]")
    assert "Diese Hilfe zeigen." in told
    assert ENGLISH.findall(told) == []
    assert run(*path, "--help").stdout.startswith("Usage: ")


@pytest.mark.parametrize("path", list(every(commands.app)), ids=" ".join)
def test_every_command_can_be_told_to_speak_german(run, path):
    assert run(*path, "--language", "de", "--help").stdout == run(*path, "--help", LANG="de_DE").stdout


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["nix"], "Fehler: Einen Befehl 'nix' gibt es nicht."),
        (["asses"], "Gemeint war vielleicht 'assess'."),
        (["assess"], "Fehler: Es fehlt die Angabe 'ORDNER'."),
        (["assess", "a", "b"], "Fehler: Eine Angabe zu viel (b)"),
        (["assess", "a", "--jsn"], "Fehler: Eine Option '--jsn' gibt es nicht."),
        (["assess", "a", "--at"], "Fehler: Option '--at' braucht einen Wert."),
        (["assess", "a", "--json=1"], "Fehler: Option '--json' nimmt keinen Wert."),
        (["serve", "--port", "x"], "Fehler: '--port': 'x' ist keine ganze Zahl."),
        (["serve", "--port", "0"], "Fehler: '--port': 0 liegt nicht im Bereich 1<=x<=65535."),
    ],
)
def test_what_was_typed_wrong_is_told_in_german(run, words, told):
    result = run(*words, LC_ALL="de_DE.UTF-8")
    assert result.exit_code == 2
    assert told in result.stderr
    assert ENGLISH.findall(result.stderr) == []


def test_a_language_that_there_is_not_is_refused(run):
    result = run("--language", "nonsense", "assess", MARROWBY)
    assert result.exit_code == 2
    assert "'nonsense'" in result.stderr


@pytest.mark.parametrize(
    ("speaks", "decimal"),
    [
        ({"LANG": "de_DE.UTF-8"}, ","),
        ({"LANG": "de_CH.UTF-8"}, "."),
        ({"LANGUAGE": "de:en", "LANG": "de_CH.UTF-8"}, "."),
        ({"LANGUAGE": "de", "LC_ALL": "en_GB.UTF-8"}, ","),
        ({"LC_ALL": "de_AT.UTF-8@euro", "LC_MESSAGES": "en_GB"}, ","),
    ],
)
def test_numbers_are_written_as_in_the_region_of_the_language(run, speaks, decimal):
    told = run("assess", MARROWBY, "--at", "15.11.2026 21:30", **speaks).stdout
    assert re.search(rf"jetzt etwa \d+{re.escape(decimal)}\d %", told)


def test_the_words_of_the_parser_are_those_it_says():
    """Else a text of click's stands in the catalogue that nobody asks for."""
    modules = (core, exceptions, formatting, parser, termui, types)
    said = "".join(inspect.getsource(module) for module in modules)
    texts = [text for each in TEXTS for text in ((each,) if isinstance(each, str) else each)]
    assert [text for text in texts if not text.isupper() and f'"{text}"' not in said] == []


GERMAN_ROWS = """when,fryer,what,amount,unit,product,into,lot,who,note,nonsense
yesterday,F1,skim,,,,,,,,
07.09.2026 10:00,F9,skim,,,,,,,,
07.09.2026 10:01,F1,redaing,,,,,,,,
07.09.2026 10:02,F1,reading,1o,%,,,,,,
07.09.2026 10:03,F1,reading,104,%,,,,,,
07.09.2026 10:04,F1,reading,,%,,,,,,
07.09.2026 10:05,F1,top-up,60,l,,,,,,
07.09.2026 10:06,F1,top-up,6,,,,,,,
07.09.2026 10:07,F1,move,,,,F1,,,,
07.09.2026 10:08,F1,load,7,crates,,,,,,
07.09.2026 10:09,F1,smell,,,,,,,,
07.09.2026 10:10,,skim,,,,,,,,
"""


@pytest.fixture
def folder(tmp_path):
    """Marrowby's folder, whose files a test may spoil."""
    return Path(shutil.copytree(MARROWBY, tmp_path / "kitchen"))


def test_rows_that_cannot_be_used_are_told_in_german_and_in_english_to_programs(run, folder):
    (folder / "log.csv").write_text(GERMAN_ROWS + "07.09.2026 10:11,F1,skim,,,,,,,,\n", "utf-8")
    result = run("log", "check", folder, LANG="de_DE.UTF-8")
    assert result.exit_code == 2
    *rows, used = result.stdout.splitlines()
    assert used == "1 Zeile ist brauchbar."
    assert len(rows) == GERMAN_ROWS.count("\n")
    assert all(re.match(r"log\.csv, Zeile \d+, \w+: ", row) for row in rows)
    assert ENGLISH.findall("".join(row.partition(": ")[2] for row in rows[1:])) == []
    assert "'F9' ist nicht bekannt; eines davon: F1, F2" in rows[2]
    answer = json.loads(run("assess", folder, "--json", LANG="de_DE.UTF-8").stdout)
    assert answer["rows_not_used"][2]["reason"].startswith("'F9' is not known; use one of: F1")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            "oil_mass_kg = 25",
            "oil_mass_kg = 0",
            "[[fryers]] F1 oil_mass_kg: 0 muss bei 0,1 bis höchstens 10000 liegen",
        ),
        ("oil_mass_kg = 25", 'oil_mass_kg = "25"', "'25' ist keine Zahl; mit Punkt"),
        ('kind = "sunflower"', 'kind = "sunflowr"', "'sunflowr' ist nicht bekannt; vielleicht 'sunflower'?"),
        ("minimum_mass_kg = 21", "minimum_mass_kg = 26", "die Mindestmarke liegt unter der Kaltfüllmarke"),
        ('oil = "high-oleic"', 'oil = "lard"', "ein Öl 'lard' gibt es in dieser Küche nicht"),
        ('from = "11:30"', 'from = "9:00"', "zugleich: eines vor dem anderen beenden"),
        ('timezone = "Europe/London"', 'timezone = "London"', "'London' ist keine Zeitzone"),
        ("risk = 0.05", "risky = 0.05", "dieser Schlüssel ist nicht bekannt; vielleicht 'risk'?"),
        ('name = "Rapeseed oil"', 'name = "Rapeseed oil', "das ist kein TOML"),
    ],
)
def test_what_is_wrong_in_a_kitchen_file_is_told_in_german(run, folder, old, new, told):
    text = (folder / "kitchen.toml").read_text("utf-8")
    assert old in text
    text = text.replace(old, new, 1).replace('to = "10:30"\nfryers = ["F4"]', 'to = "10:30"')
    (folder / "kitchen.toml").write_text(text, "utf-8")
    result = run("assess", folder, LANG="de_DE.UTF-8")
    assert result.exit_code == 2
    assert told in result.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["assess", "nowhere"], "nowhere: diesen Ordner gibt es nicht"),
        (["assess", MARROWBY, "--at", "noon"], "--at: 'noon' ist kein Datum mit Uhrzeit"),
        (["meter", "back", MARROWBY, "--check", "noon"], "--check: 'noon' ist kein Tag"),
        (
            ["meter", "compare", MARROWBY, "--meter", "hnad"],
            "--meter: 'hnad' ist nicht bekannt; vielleicht 'hand'?",
        ),
        (["meter", "compare", MARROWBY, "--against", "hand"], "--against: 'hand' ist das Messgerät selbst"),
        (["serve", "--key", __file__], "--certificate und --key gehören zusammen"),
    ],
)
def test_what_a_command_cannot_do_is_told_in_german(run, words, told):
    result = run(*words, LC_ALL="de_DE.UTF-8")
    assert result.exit_code == 2
    assert result.stderr.startswith(told)
