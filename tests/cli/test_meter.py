"""`kettlewell meter …`: how a meter stands, what a failed check calls in question, two instruments."""

import json
import re
from datetime import UTC, datetime, timedelta
from importlib.resources import files

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator, FormatChecker
from schemas import numeric_keys

from kettlewell.cli import commands

SCHEMA = json.loads(files("kettlewell.cli").joinpath("meter.schema.json").read_text("utf-8"))
KITCHEN = """
name = "One pan (invented)"
timezone = "Europe/London"
laboratory_price = 40

[[oils]]
key = "rape"
name = "Rapeseed oil"
kind = "rapeseed"
price_per_kg = 2.1

[[fryers]]
key = "big"
name = "Big pan"
oil = "rape"
oil_mass_kg = 20

[[meters]]
key = "hand"
name = "Hand meter"
resolution_pct = 0.5
largest_error_pct = 2
min_oil_temp_c = 40
max_oil_temp_c = 200

[[meters]]
key = "spare"
name = "Spare meter"
resolution_pct = 0.5
largest_error_pct = 2
min_oil_temp_c = 40
max_oil_temp_c = 200

[[reference_lots]]
key = "R1"
name = "First bottle"
tpc_pct = 10
expanded_u_pct = 0.4
read_at_c = 50

[[services]]
name = "Lunch"
days = "mon-sun"
from = "11:00"
to = "14:00"

[[limits]]
quantity = "total polar compounds"
unfit_when = ">"
value = 24
unit = "% m/m"
"""
FIRST = datetime(2026, 9, 7, tzinfo=UTC)
AT = "5.10.2026 12:00"
UNITS = re.compile(
    r"_(pct|pct_per_day|c|kg|probability|services|money|days|readings|dimensionless)$|^(tpc|limit)_pct$"
)


def row(day, clock, what, amount="", **cells):
    at = (FIRST + timedelta(days=day)).strftime("%d.%m.%Y")
    names = ("fryer", "meter", "lot", "oil_temp", "uncertainty")
    return ";".join([f"{at} {clock}", what, amount, *(cells.get(name, "") for name in names)])


def month(off):
    """A pan read every morning for four weeks, its oil changed every ninth day, and a last check ``off``."""
    for day in range(28):
        if day % 9 == 0:
            yield row(day, "08:30", "change", fryer="big")
        yield row(day, "09:00", "reading", f"{4 + 1.8 * (day % 9):.1f}", fryer="big", meter="hand")
    yield checked(0, 0.0)
    yield checked(28, off)


def checked(day, off, what="meter-check", clock="08:00"):
    value = 10 + off
    return row(day, clock, what, f"{value} {value} {value}", meter="hand", lot="R1", oil_temp="50")


def both(pairs, against):
    """Sound readings of the hand meter, each ten minutes after what another instrument said."""
    for day in range(pairs):
        tpc = 6 + 3 * day
        cells = {"fryer": "big", **({"meter": against} if against else {"uncertainty": "0.3"})}
        yield row(day, "09:00", "reading" if against else "lab", str(tpc), **cells)
        yield row(day, "09:10", "reading", f"{1.5 + 0.9 * tpc:.1f}", fryer="big", meter="hand")


@pytest.fixture(autouse=True)
def english(monkeypatch):
    for name in ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def folder(tmp_path):
    """Write a kitchen's folder with these rows in its log."""

    def write(rows, kitchen=KITCHEN):
        (tmp_path / "kitchen.toml").write_text(kitchen, "utf-8")
        head = "when;what;amount;fryer;meter;lot;oil_temp;uncertainty"
        (tmp_path / "log.csv").write_text("\n".join([head, *rows]) + "\n", "utf-8")
        return tmp_path

    return write


def run(*words):
    return CliRunner().invoke(commands.app, ["meter", *(str(word) for word in words)])


def told(*words):
    """Return the answer of a command as one line, so that it does not matter where it is wrapped."""
    result = run(*words)
    assert result.exit_code == 0, result.stderr
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert not re.search(r"\b(nan|inf|None)\b", result.stdout)
    return " ".join(result.stdout.split())


def answer(*words):
    """Return the JSON answer of a command, which keeps its schema."""
    result = run(*words, "--json")
    assert result.exit_code == 0, result.stderr
    found = json.loads(result.stdout)
    Draft202012Validator(SCHEMA, format_checker=FormatChecker()).validate(found)
    return found


def refused(*words):
    """Return the one sentence of a command that ended with 2."""
    result = run(*words)
    assert (result.exit_code, result.stdout) == (2, "")
    assert len(result.stderr.splitlines()) == 1
    return result.stderr


def test_each_meter_tells_how_its_last_check_stood_and_when_the_next_is_due(folder):
    text = told("show", folder(month(0.2)), "--at", AT)
    hand, spare = text.split("── Spare meter (spare) ")
    assert "Fit for use Checked Mon 5 Oct 2026, 08:00, in First bottle. It reads 0.2 points too high" in hand
    assert "The chance that it is off by more than 1 point is" in hand
    assert "Check it by" in hand
    assert "Mon 5 Oct 2026, 08:00 +0.2 ± 0.8 points Fit for use" in hand
    assert spare.lstrip("─ ").startswith("Not checked yet Check it now. It has never been checked.")


def test_what_readings_and_a_sample_are_worth_is_told_for_each_meter_and_oil(folder):
    hand, spare = told("show", folder(month(0.0)), "--at", AT).split("── Spare meter (spare) ")
    assert "Rapeseed oil Fry up to" in hand
    assert "Of 1,000 readings" in hand
    assert "laboratory sample" in hand
    assert "Fry up to" in spare
    assert "laboratory sample" in spare


def test_after_a_failed_check_it_says_what_to_do_and_after_adjusting_it_is_fit_again(folder):
    failed = told("show", folder(month(-2.0)), "--at", AT)
    assert "Adjust it Checked Mon 5 Oct 2026, 08:00" in failed
    assert "It reads wrong. Adjust it until it shows" in failed
    assert "Fry up to" not in failed.split("── Spare meter (spare) ")[0]
    again = told("show", folder([*month(-2.0), checked(28, 0.0, "adjusted", "08:20")]), "--at", AT)
    assert "Fit for use Checked Mon 5 Oct 2026, 08:20" in again
    assert "Adjusted: Fit for use" in again


def test_a_meter_out_of_use_says_so_and_nothing_of_its_readings(folder):
    text = told("show", folder([*month(0.0), row(28, "09:00", "meter-out", meter="hand")]), "--at", AT)
    hand = text.split("── Spare meter (spare) ")[0]
    assert "Out of use" in hand
    assert "accepted" not in hand
    assert "Check it" not in hand


def test_a_kitchen_without_meters_says_so(folder):
    kitchen = re.sub(r"\[\[meters\]\]\n(.+\n)+\n", "", KITCHEN)
    rows = [row(0, "08:30", "change", fryer="big")]
    assert "This kitchen has no meter." in told("show", folder(rows, kitchen), "--at", AT)
    assert answer("show", folder(rows, kitchen), "--at", AT)["meters"] == []
    assert "there is no meter in it" in refused("compare", folder(rows, kitchen))


def test_the_look_back_tells_the_most_doubtful_verdicts_first_on_both_paths(folder):
    text = told("back", folder(month(-2.0)), "--at", AT)
    assert "Since the good check of Mon 7 Sep" in text.replace("Sept", "Sep")
    assert "28 verdicts used this meter." in text
    assert "may have been wrong." in text
    assert "Big pan (big), " in text
    assert "If the meter drifted bit by bit, the right reading was" in text
    assert "If it jumped, the right reading was" in text
    found = answer("back", folder(month(-2.0)), "--at", AT)
    chances = [one["not_stand_probability"] for one in found["verdicts"]]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > 0.5
    assert {*found["verdicts"][0]["again"]} == {"drift", "step"}
    assert found["good_check"]["at"] == "2026-09-07T07:00:00Z"


def test_where_no_check_failed_there_is_nothing_to_look_back_at(folder):
    place = folder(month(0.0))
    assert told("back", place, "--at", AT) == "No check has failed."
    found = answer("back", place, "--at", AT)
    assert (found["failed_check"], found["verdicts"]) == (None, [])


def test_the_failed_check_of_a_day_can_be_asked_for_and_a_day_without_one_is_refused(folder):
    place = folder([*month(-2.0), checked(28, 0.0, "adjusted", "08:20"), checked(40, 2.5)])
    last = answer("back", place, "--at", "20.10.2026 12:00")
    assert last["failed_check"]["at"] == "2026-10-17T07:00:00Z"
    for day in ("5.10.2026", "2026-10-05"):
        found = answer("back", place, "--check", day, "--at", "20.10.2026 12:00")
        assert found["failed_check"]["at"] == "2026-10-05T07:00:00Z"
    assert "no check of 7 Sept 2026 failed" in refused("back", place, "--check", "7.9.2026")
    assert "'soon' is not a day" in refused("back", place, "--check", "soon")


def test_what_was_written_after_the_time_asked_for_does_not_count(folder):
    assert told("back", folder(month(-2.0)), "--at", "4.10.2026 12:00") == "No check has failed."


def test_a_meter_is_held_against_the_laboratory_and_may_be_taken_over_once_its_line_is_sure(folder):
    text = told("compare", folder(both(8, None)), "--meter", "hand", "--at", AT)
    assert "Hand meter (hand) beside the laboratory Rapeseed oil" in text
    assert "Big pan 6.9 % 6.0 % +0.9 points" in text
    assert "times what the laboratory says, plus 1.5 points." in text
    assert "The difference is" in text
    assert "This may be taken over." in text
    five = told("compare", folder(both(5, None)), "--meter", "hand", "--at", AT)
    assert "The comparison is not sure enough yet: spread the pairs" in five
    (side,) = answer("compare", folder(both(8, None)), "--meter", "hand", "--at", AT)["oils"]
    assert side["line"]["gain_dimensionless"] == pytest.approx(0.9)
    assert side["may_be_adopted"]


def test_a_meter_is_held_against_another_and_told_how_many_pairs_are_missing(folder):
    words = ("--meter", "spare", "--against", "hand", "--oil", "rape", "--at", AT)
    text = told("compare", folder(both(2, "spare")), *words)
    assert "beside Hand meter" in text
    assert "These pairs are too few for a comparison yet." in text
    assert "3 more pairs needed." in text
    found = answer("compare", folder(both(2, "spare")), *words)
    assert found["against"] == "hand"
    assert (found["oils"][0]["line"], found["oils"][0]["differences"]) == (None, None)


def test_any_meter_may_be_held_against_another_and_the_sum_is_the_same_in_either_direction(folder):
    words = ("--oil", "rape", "--at", AT)
    here, there = (
        answer("compare", folder(both(8, "spare")), "--meter", meter, "--against", against, *words)["oils"][0]
        for meter, against in (("hand", "spare"), ("spare", "hand"))
    )
    assert here["may_be_adopted"]
    assert there["may_be_adopted"]
    gains = [side["line"]["gain_dimensionless"] for side in (here, there)]
    assert gains[0] * gains[1] == pytest.approx(1.0)


def test_without_pairs_it_says_how_to_make_one(folder):
    assert "There is no pair yet" in told("compare", folder(month(0.0)), "--meter", "spare", "--at", AT)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "--meter: say which one: hand, spare"),
        (("--meter", "hnd"), "--meter: 'hnd' is not known; did you mean 'hand'?"),
        (("--meter", "hand", "--against", "hand"), "is the meter itself"),
        (("--meter", "hand", "--against", "x"), "--against: 'x' is not known"),
        (("--meter", "hand", "--oil", "rap"), "--oil: 'rap' is not known; did you mean 'rape'?"),
    ],
)
def test_what_names_nothing_there_is_refused_in_one_sentence(folder, words, said):
    assert said in refused("compare", folder(month(0.0)), *words, "--at", AT)


def test_rows_that_cannot_be_used_are_told_on_standard_error_and_in_json(folder):
    place = folder([*month(0.0), row(3, "12:00", "meter-check", "lots", meter="hand", lot="R1")])
    for command in ("show", "back"):
        assert "All rows of the log but 1 were used" in run(command, place, "--at", AT).stderr
    assert [bad["field"] for bad in answer("back", place, "--at", AT)["rows_not_used"]] == ["amount"]


def test_every_answer_for_programs_keeps_the_schema_and_tells_times_in_utc(folder):
    Draft202012Validator.check_schema(SCHEMA)
    found = answer("show", folder(month(-2.0)), "--at", AT)
    assert found["at"] == "2026-10-05T11:00:00Z"
    hand = found["meters"][0]
    assert [one["decision"] for one in hand["checks"]] == ["fit", "adjust"]
    assert hand["next_check"]["why"]["sentence"].startswith("It reads wrong")
    assert hand["oils"] == []
    assert found["meters"][1]["oils"][0]["accepted"][0]["accept_pct"] < 24


def test_every_numbers_key_names_its_unit():
    keys = set(numeric_keys(SCHEMA))
    assert {"off_probability", "saved_money", "gain_dimensionless"} <= keys
    assert [key for key in keys if not UNITS.search(key)] == []


def test_without_a_time_the_clock_is_read(folder, monkeypatch):
    monkeypatch.setenv("KETTLEWELL_NOW", "2026-10-05T11:00:00+00:00")
    place = folder(month(0.0))
    assert run("show", place).stdout == run("show", place, "--at", AT).stdout
