"""The docs know every command and option, and show what the program really prints."""

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from kettlewell.cli import commands
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.folder import MARROWBY

ROOT = Path(__file__).parents[2]
COMMANDS = (ROOT / "docs" / "reference" / "commands.md").read_text("utf-8")
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
OF_THE_SERVER = {"serve", "demo", "password"}  # run until stopped, or ask; test_server.py tries them
SHELL = re.compile(r"```sh\n(.*?)```(?:\n+```text\n(.*?)```)?", re.DOTALL)


@pytest.fixture(autouse=True)
def at_the_root(monkeypatch):
    """Run where a reader of the docs does, in English, on the evening of the example's last entry."""
    monkeypatch.chdir(ROOT)
    for name in ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("KETTLEWELL_NOW", "2026-09-03T13:00:00+00:00")


def walk(command, path=()):
    yield path, command
    for name, child in getattr(command, "commands", {}).items():
        yield from walk(child, (*path, name))


def every_command():
    return [(path, command) for path, command in walk(commands.app) if path]


def examples():
    return [
        (page.name, line.removeprefix("kettlewell "), printed or None)
        for page in PAGES
        for block, printed in SHELL.findall(page.read_text("utf-8"))
        for line in block.splitlines()
        if line.startswith("kettlewell ") and line.split()[1] not in OF_THE_SERVER
    ]


@pytest.mark.parametrize(("path", "command"), every_command(), ids=str)
def test_every_command_and_option_is_documented(path, command):
    assert f"kettlewell {' '.join(path)}" in COMMANDS
    options = [opt for param in command.params for opt in param.opts if opt.startswith("--")]
    assert [opt for opt in options if f"`{opt}" not in COMMANDS] == []


def test_the_readme_shows_how_an_answer_begins():
    shown = re.search(r"<!-- answer.*?-->\n```text\n(.*?)```", PAGES[0].read_text("utf-8"), re.DOTALL)[1]
    assert "Change" in shown
    printed = CliRunner().invoke(commands.app, ["assess", str(MARROWBY), "--at", "15.11.2026 21:30"]).stdout
    assert shown.splitlines() == printed.splitlines()[: len(shown.splitlines())]


@pytest.mark.parametrize(
    "name", ["activation_energy", "curvature", "load_share", "heat_up_h", "meter_gain", "old_fill"]
)
def test_a_prior_in_the_models_page_is_that_of_the_data(name):
    known = getattr(PACKAGED, name)
    assert f"{known.value:g} ± {known.sd:g}" in (ROOT / "docs/reference/models.md").read_text("utf-8")


def test_there_are_examples_to_run():
    assert len(examples()) >= 4


@pytest.mark.parametrize(("page", "line", "printed"), examples())
def test_an_example_runs_and_prints_what_the_page_shows(page, line, printed):
    words = shlex.split(line.partition(" > ")[0])
    result = CliRunner().invoke(commands.app, words)
    assert result.exit_code == (2 if words[:2] == ["log", "check"] else 0), f"{page}: {result.stderr}"
    shown, and_so_on, _ = (printed or "").partition("…\n")
    if and_so_on:
        assert result.stdout.startswith(shown)
    elif printed:
        assert result.stdout.strip() == printed.strip()
