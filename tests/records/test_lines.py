"""A day book as JSON Lines: whole for the checker of examples/, which knows the documentation alone."""

import json
import random
import runpy
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator, FormatChecker

from kettlewell import clock
from kettlewell.records.ledger import Hand, private_erase
from kettlewell.records.lines import SCHEMA, lines_of
from kettlewell.records.models import Kitchen

CHECKER = runpy.run_path(str(Path(__file__).parents[2] / "examples" / "check_chain.py"))
EDITS = 300


def faults(lines, *heads):
    return CHECKER["faults"](lines, heads)


@pytest.fixture
def lines(marrowby, write):
    write(kind="call", payload={"fryer": "F1"}, private={"note": "Es schäumt. 🧅".encode()})
    write()
    return list(lines_of(marrowby))


def test_every_line_is_as_its_schema_says(lines):
    schema = json.loads(SCHEMA.read_text("utf-8"))
    Draft202012Validator.check_schema(schema)
    holds = Draft202012Validator(schema, format_checker=FormatChecker())
    assert len(lines) > 3
    assert [error.message for line in lines for error in holds.iter_errors(json.loads(line))] == []


def test_the_checker_finds_a_book_whole_and_every_head_in_it(lines):
    assert faults(lines, *(json.loads(line)["hash"] for line in lines[1:])) == []


def test_a_kitchen_in_which_nothing_was_written_is_whole(db):
    assert faults(list(lines_of(Kitchen.objects.create(slug="empty")))) == []


def test_the_checker_finds_every_edit_of_a_value(lines):
    rng = random.Random(5)  # noqa: S311 - no secret
    missed = [edit for edit in (edited(lines, rng) for _ in range(EDITS)) if not faults(edit)]
    assert missed == []


def edited(lines, rng):
    """Return the lines of a book in which one text is another."""
    told = [json.loads(line) for line in lines]
    row = rng.choice(told)
    parent, key = rng.choice(list(texts(row)))
    parent[key] = parent[key][:-1] + rng.choice([c for c in "0123abc" if c != parent[key][-1:]])
    if parent is told[0] and key == "form":
        row["head"] = "0" * 64  # the name of the form is no part of the chain
    return [json.dumps(line) for line in told]


def texts(node):
    """Yield where the texts of a line stand."""
    for key, value in node.items() if isinstance(node, dict) else enumerate(node):
        if isinstance(value, str):
            yield node, key
        elif isinstance(value, dict | list):
            yield from texts(value)


@pytest.mark.parametrize("cut", [-1, 4], ids=["the end", "one in the middle"])
def test_the_checker_misses_a_line_that_is_gone(lines, cut):
    del lines[cut]
    assert faults(lines) != []


def test_a_book_cut_and_told_whole_is_found_by_a_head_noted_before(lines):
    head = json.loads(lines[-1])["hash"]
    first, last = json.loads(lines[0]), json.loads(lines[-2])
    cut = [json.dumps(first | {"seq": last["entry"]["seq"], "head": last["hash"]}), *lines[1:-1]]
    assert faults(cut) == []
    assert faults(cut, head) == [f"no entry has the hash {head}"]


def test_what_was_erased_is_told_as_erased_and_the_book_stays_whole(marrowby, owner, write):
    noted = write(kind="call", payload={"fryer": "F1"}, private={"note": b"gone soon"})
    private_erase(marrowby, [noted], Hand(person=owner, now=clock.now()))
    lines = list(lines_of(marrowby))
    assert {"note": None} in [json.loads(line).get("private") for line in lines]
    assert faults(lines) == []


def test_a_note_taken_away_without_a_word_is_found(lines):
    told = [json.loads(line) for line in lines]
    row = next(line for line in told if line.get("private", {}).get("note"))
    row["private"]["note"] = None
    assert faults([json.dumps(line) for line in told]) == [
        f"entry {row['entry']['seq']}: its note is gone, and no entry says so"
    ]
