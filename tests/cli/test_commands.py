"""The commands: what they print where, and how they end."""

import json
import shutil
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator, FormatChecker

from kettlewell import __version__
from kettlewell.cli import commands
from kettlewell.core.outlook.values import FlagKind
from kettlewell.folder import MARROWBY

EXAMPLE = Path(__file__).parents[2] / "examples" / "two-fryers"
AT = "3.9.2026 15:00"


@pytest.fixture(autouse=True)
def english(monkeypatch):
    for name in ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def run():
    return lambda *words: CliRunner().invoke(commands.app, [str(word) for word in words])


@pytest.fixture
def folder(tmp_path):
    """A copy of the example that a test may spoil."""
    return Path(shutil.copytree(EXAMPLE, tmp_path / "kitchen"))


def spoil(folder, name, old, new):
    text = (folder / name).read_text("utf-8")
    assert old in text
    (folder / name).write_text(text.replace(old, new), "utf-8")


def refused(result):
    """Return the one sentence of a command that ended with 2."""
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    assert len(result.stderr.splitlines()) == 1
    return result.stderr


def test_the_version_is_told(run):
    assert run("--version").stdout == f"Kettlewell {__version__}\n"


def test_assess_tells_every_fryer_and_lists_bad_rows_on_standard_error(run):
    result = run("assess", EXAMPLE, "--at", AT)
    assert result.exit_code == 0
    assert "━━ Left (F1)" in result.stdout or "── Left (F1)" in result.stdout
    assert "Right (F2)" in result.stdout
    assert "log.csv" not in result.stdout.split("Limits")[1]
    first, row = result.stderr.splitlines()
    assert first == "All rows of the log but 1 were used. Not used:"
    assert row.strip().startswith("log.csv, line 12, fryer: 'F3' is not known")


def test_only_the_first_bad_rows_are_told_and_where_to_find_the_rest(run, folder):
    with (folder / "log.csv").open("a", encoding="utf-8") as log:
        log.writelines(f"04.09.2026 1{n}:00;F9;skim;;;;;;\n" for n in range(4))
    lines = run("assess", folder, "--at", AT).stderr.splitlines()
    assert lines[0].startswith("All rows of the log but 5")
    assert len(lines) == 5
    assert lines[-1] == "  `kettlewell log check` lists them all."


@pytest.mark.parametrize("at", ["2026-09-03T15:00:00+02:00", "3.9.2026 15:00", "03/09/2026 15:00"])
def test_a_time_may_be_iso_or_day_first_in_the_kitchens_zone(run, at):
    answer = json.loads(run("assess", EXAMPLE, "--at", at, "--json").stdout)
    assert answer["at"] == "2026-09-03T13:00:00Z"


def test_without_a_time_the_clock_is_read(run, monkeypatch):
    monkeypatch.setenv("KETTLEWELL_NOW", "2026-09-03T13:00:00+00:00")
    assert run("assess", EXAMPLE).stdout == run("assess", EXAMPLE, "--at", AT).stdout


def test_json_is_one_document_that_keeps_the_schema_and_nothing_else(run):
    schema = json.loads(files("kettlewell.cli").joinpath("assessment.schema.json").read_text("utf-8"))
    result = run("assess", MARROWBY, "--at", "2026-11-15 21:30", "--json")
    assert result.exit_code == 0
    answer = json.loads(result.stdout)
    Draft202012Validator(schema, format_checker=FormatChecker()).validate(answer)
    assert len(answer["assessments"]) == 5
    assert [row["ref"] for row in answer["rows_not_used"]] == ["log.csv:256", "log.csv:518", "log.csv:858"]


def test_the_schema_names_every_question():
    schema = json.loads(files("kettlewell.cli").joinpath("assessment.schema.json").read_text("utf-8"))
    assert schema["$defs"]["flag"]["properties"]["kind"]["enum"] == list(FlagKind)


def test_assess_asks_about_a_thermostat_that_is_off(run, folder):
    with (folder / "log.csv").open("a", encoding="utf-8") as log:
        log.writelines(f"0{day}.09.2026 12:30;F1;reading;{day + 5};%;;190;;\n" for day in (3, 4, 5))
    told = run("assess", folder, "--at", "5.9.2026 15:00").stdout
    assert "15 °C hotter than the fryer is set to" in " ".join(told.split())
    assert "hotter than" not in run("assess", EXAMPLE, "--at", "5.9.2026 15:00").stdout


def test_the_invented_canteen_tells_of_five_fryers_in_80_columns(run):
    result = run("assess", MARROWBY, "--at", "2026-11-15 21:30")
    assert result.exit_code == 0
    for key in ("F1", "F2", "F3", "F4", "F5"):
        assert f"({key}) " in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_the_wall_card_is_dated_and_holds_every_fryer(run, monkeypatch):
    monkeypatch.setenv("KETTLEWELL_NOW", "2026-09-03T13:00:00+00:00")
    result = run("card", EXAMPLE)
    assert result.exit_code == 0
    assert "Made Thu 3 Sep" in result.stdout
    assert "Valid until Fri 4 Sept 2026, 14:00. Then take it down." in result.stdout
    assert result.stdout.index("Left (F1)") < result.stdout.index("Right (F2)")
    assert "fry on." in result.stdout


def test_log_check_lists_every_bad_row_and_ends_with_2(run):
    result = run("log", "check", MARROWBY)
    assert result.exit_code == 2
    lines = result.stdout.splitlines()
    assert lines[0].startswith("log.csv, line 256, fryer: 'F6' is not known")
    assert len(lines) == 4
    assert lines[-1].endswith("rows can be used.")


def test_log_check_of_a_clean_log_ends_with_0(run, folder):
    spoil(folder, "log.csv", ";F3;", ";F2;")
    result = run("log", "check", folder)
    assert (result.exit_code, result.stdout) == (0, "13 rows can be used.\n")


def test_practice_compares_rules_and_the_same_seed_draws_the_same_kitchens(run):
    words = ("practice", "--kitchens", 3, "--fryers", 2, "--days", 60, "--seed", 7)
    result = run(*words)
    assert result.exit_code == 0
    rows = result.stdout.splitlines()
    assert next(row for row in rows if row.startswith("knows the future")).split()[3:5] == ["1.00", "0.00"]
    assert sum(row.startswith("verdicts, accepted risk") for row in rows) == 5
    assert "change every 8 days" in result.stdout
    assert max(map(len, rows)) <= 80
    assert run(*words).stdout == result.stdout
    assert run(*words[:-1], 8).stdout != result.stdout


def test_practice_in_which_nothing_can_be_compared_is_refused(run):
    assert "Try more days or kitchens" in refused(run("practice", "--days", 1, "--kitchens", 2))


def test_a_missing_folder_is_named(run, tmp_path):
    assert "nowhere: there is no such folder" in refused(run("assess", tmp_path / "nowhere"))


def test_a_folder_without_a_log_says_how_to_begin_one(run, folder):
    (folder / "log.csv").unlink()
    assert refused(run("assess", folder)).startswith("log.csv: No such file or directory; begin one")


def test_the_card_is_in_the_kitchens_own_language_unless_another_is_asked_for(run, folder, monkeypatch):
    monkeypatch.setenv("LANGUAGE", "en")  # what the command sets is taken back
    spoil(folder, "kitchen.toml", "timezone =", 'language = "de"\ntimezone =')
    assert "Verbrennungsgefahr" in run("card", folder).stdout
    assert "Hot oil burns" in run("card", folder, "--language", "en").stdout
    assert "Hot oil burns" in run("assess", folder).stdout


@pytest.mark.parametrize("command", [("assess",), ("card",), ("log", "check")])
def test_a_kitchen_file_that_is_no_toml_is_refused_by_every_command(run, folder, command):
    spoil(folder, "kitchen.toml", 'name = "Two', "name = Two")
    assert refused(run(*command, folder)).startswith("kitchen.toml: this is not TOML")


def test_a_time_that_is_none_is_refused(run):
    assert refused(run("assess", EXAMPLE, "--at", "tonight")).startswith("--at: 'tonight' is not a date")


def test_an_unknown_jurisdiction_is_refused(run, folder):
    spoil(folder, "kitchen.toml", '"FR"', '"XX"')
    assert "XX" in refused(run("assess", folder, "--at", AT))


def test_a_kitchen_whose_oil_no_limit_judges_is_told_to_set_one(run, folder):
    spoil(folder, "kitchen.toml", '"FR"', '"GB"')
    assert "Set a limit of your own" in refused(run("assess", folder, "--at", AT))


@pytest.fixture
def idle(folder):
    """A kitchen in whose services one of its two fryers never fries."""
    spoil(folder, "kitchen.toml", "[[services]]", '[[services]]\nfryers = ["F1"]')
    return folder


def test_a_fryer_without_a_service_costs_no_other_its_answer(run, idle):
    """The rest is told as before, and what is missing stands behind it and on top."""
    told = run("assess", idle, "--at", AT)
    assert told.exit_code == 0
    assert "No answer yet: Right" in told.stdout.splitlines()
    assert "No service of the week names this fryer: say when it fries." in told.stdout
    assert "Polar compounds about" in told.stdout


def test_a_program_is_told_which_fryer_lacks_what(run, idle):
    told = json.loads(run("assess", idle, "--at", AT, "--json").stdout)
    assert [each["fryer"] for each in told["assessments"]] == ["F1"]
    assert [(each["fryer"], each["lacks"]["code"]) for each in told["unanswered"]] == [("F2", "service")]


def test_the_wall_card_names_a_fryer_that_has_no_answer(run, idle):
    told = run("card", idle)
    assert told.exit_code == 0
    assert "No answer yet: call the chef" in told.stdout


def test_a_kitchen_without_any_answer_is_refused(run, idle):
    spoil(idle, "kitchen.toml", '"FR"', '"GB"')
    assert refused(run("assess", idle, "--at", AT)).startswith("kitchen.toml: ")


def test_log_check_asks_about_slips_of_the_pen(run, folder, monkeypatch):
    monkeypatch.setenv("KETTLEWELL_NOW", "2026-09-05T13:00:00+00:00")
    spoil(folder, "log.csv", ";F3;", ";F2;")
    with (folder / "log.csv").open("a", encoding="utf-8") as log:
        log.write("04.09.2026 10:00;F1;reading;65;%;;150;;\n04.09.2027 10:00;F1;skim;;;;;;\n")
    result = run("log", "check", folder)
    asked = result.stdout.splitlines()[:-1]
    assert [line.split(": ", 1)[1] for line in asked] == [
        "oil that is fried in hardly reads so. Is the figure right?",
        "this has not come yet. Is the date right?",
    ]
    assert result.exit_code == 0


def test_a_start_does_not_wait_for_the_integrator():
    """Loading it takes a third of a start, and one table of the meters alone needs it."""
    command = [sys.executable, "-c", "import sys, kettlewell.cli; print('scipy.integrate' in sys.modules)"]
    assert subprocess.run(command, capture_output=True, text=True, check=True).stdout == "False\n"
