"""The pictures of the README show what the program says and draws: else ``python tools/pictures.py``."""

import re
from pathlib import Path

import pytest
from pictured import PICTURES, TOLD, drawings

README = Path(__file__).parents[2] / "README.md"
SHOWN = re.findall(r"!\[(.*?)\]\(docs/pictures/(.*?)\)", README.read_text("utf-8"), re.DOTALL)


@pytest.mark.parametrize("name", ["life-line.svg", "meter.svg"])
def test_a_drawing_is_the_programs_own(name):
    assert (PICTURES / name).read_text("utf-8") == drawings()[name]


def test_each_picture_is_shown_and_told_in_words():
    there = {path.name for path in PICTURES.iterdir() if path != TOLD}
    assert {name for _, name in SHOWN} == there
    assert all(len(words.split()) > 10 for words, _ in SHOWN)
