"""docs/reference/kitchen-folder.md says what the reader does."""

import re
from pathlib import Path

import pytest

from kettlewell.folder import MARROWBY, read_folder
from kettlewell.folder.kitchen import CHECKS, QUANTITIES
from kettlewell.folder.words import COLUMNS, FOOD_UNITS, HOUR_UNITS, OIL_UNITS, WHATS

DOCS = Path(__file__).parents[2] / "docs" / "reference" / "kitchen-folder.md"
TEXT = DOCS.read_text(encoding="utf-8")


def block(language):
    return re.search(rf"```{language}\n(.*?)```", TEXT, re.DOTALL)[1]


def test_the_example_is_read_without_a_problem(tmp_path):
    (tmp_path / "kitchen.toml").write_text(block("toml"), encoding="utf-8")
    (tmp_path / "log.csv").write_text(block("csv"), encoding="utf-8")
    log = read_folder(tmp_path).log
    assert log.problems == ()
    assert len(log.entries) == 8


def test_the_list_of_bad_rows_is_that_of_the_demo():
    listed = [str(problem) for problem in read_folder(MARROWBY).log.problems]
    assert block("text").splitlines() == listed


@pytest.mark.parametrize(
    "words",
    [COLUMNS, WHATS, OIL_UNITS, FOOD_UNITS, HOUR_UNITS, QUANTITIES, *CHECKS.values()],
)
def test_every_word_of_the_format_is_explained(words):
    explained = re.findall(r"`([^`\n]+)`", TEXT)
    assert [word for word in words if word not in explained] == []
