"""What ``kettlewell import`` says of a table, and does with it."""

import json

import pytest

from kettlewell import clock
from kettlewell.cli.tables import Asked, brought_in
from kettlewell.records.models import Entry
from kettlewell.telling import reader

TABLE = (
    "Log of the year\nDate;Fryer;TPM;Topped up;By\n"
    "13.10.2026 10:00;Fries;12,5;;AB\n14.10.2026 10:00;The old one;14;2;AB\n15.10.2026 10:00;Fries;zz;;\n"
)


@pytest.fixture
def say(marrowby, tmp_path):
    """Return what the command says; the table is told in German decimals, kitchen and words in English."""
    path = tmp_path / "log.csv"
    path.write_text(TABLE, encoding="utf-8")

    def run(*, recipe=None, dry_run=False, sure=False, kitchen=""):
        asked = Asked(kitchen=kitchen, recipe=recipe, dry_run=dry_run, sure=sure)
        return [line.text for line in brought_in(path, asked, reader("UTC", clock.now(), locale="en"))]

    return run


def test_a_dry_run_tells_the_columns_every_problem_and_how_many_and_writes_nothing(say):
    told = say(dry_run=True)
    assert "TPM: polar compounds" in told
    assert "row 5, TPM: 'zz' is not a number" in told
    assert "row 4, Fryer: 'The old one' is no fryer of this kitchen; say which one is meant" in told
    assert told[-1] == "1 entry would be brought in."
    assert not Entry.objects.filter(kind="reading").exists()


def test_open_questions_stop_it_and_are_answered_in_a_recipe(say, tmp_path):
    with pytest.raises(ValueError, match=r"Which fryer is meant\?.* measured in what\?"):
        say()
    recipe = tmp_path / "recipe.json"
    assert "is written to" in say(recipe=recipe)[-1]
    answers = json.loads(recipe.read_text("utf-8"))
    answers["fryers"]["The old one"] = "F2"
    answers["unit"] = "l"
    recipe.write_text(json.dumps(answers), "utf-8")
    assert say(recipe=recipe)[-1] == "3 entries brought in."
    assert say()[-2:] == ["0 entries brought in.", "3 are in the day book already."]
    assert Entry.objects.filter(kind="reading", fryer="F2").count() == 1


def test_a_kitchen_that_there_is_not_is_named(say):
    with pytest.raises(ValueError, match="There are: marrowby-test"):
        say(kitchen="elsewhere")
