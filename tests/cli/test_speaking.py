"""Whoever types a command is answered in his own language, the parser's words too."""

import inspect
import re

import pytest
from click import core, exceptions, formatting, parser, termui, types
from click.testing import CliRunner

from kettlewell.cli import commands
from kettlewell.cli.parser_words import TEXTS
from kettlewell.folder import MARROWBY

NONE = dict.fromkeys(("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"), "")
ENGLISH = re.compile(r"\b(the|and|what|for|such|unless|given|Usage|Options|Commands|Error|Missing|of)\b")


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
