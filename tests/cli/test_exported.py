"""What export writes and says, and what a noted head proves."""

import json
import os
import runpy
import stat
from pathlib import Path

import pytest
from openpyxl import load_workbook

from kettlewell import clock
from kettlewell.bridge.demo import demo_kitchen
from kettlewell.cli.exported import exported
from kettlewell.cli.verified import heads_noted
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Told, entry_add
from kettlewell.records.models import Entry, Kitchen
from kettlewell.telling import reader

CHECKER = runpy.run_path(str(Path(__file__).parents[2] / "examples" / "check_chain.py"))
WORDS = reader("UTC", clock.now(), locale="en")


@pytest.fixture(autouse=True)
def mask():
    """What a command sets for its process is not to outlive its test."""
    before = os.umask(0o022)
    yield
    os.umask(before)


def of(heads):
    return [(line.text.replace("\xa0", " "), stands) for line, stands in heads_noted(heads, WORDS)]


def test_every_day_book_is_written_whole_with_its_schema_and_tables(db, tmp_path):
    kitchen, _people = demo_kitchen(clock.now())
    folder = tmp_path / "out"
    told = [line.text for line in exported(folder, WORDS)]
    assert told[0] == (
        f"marrowby: {kitchen.head_seq} entries written to {folder / 'marrowby'}. Head: {kitchen.head_hash}"
    )
    assert (folder / "day-book-line.schema.json").exists()
    assert {stat.S_IMODE(path.stat().st_mode) & 0o077 for path in (folder, *folder.rglob("*"))} == {0}
    lines = (folder / "marrowby" / "day-book.jsonl").read_text("utf-8").splitlines()
    assert CHECKER["faults"](lines, [kitchen.head_hash]) == []
    book = load_workbook(folder / "marrowby" / "day-book.xlsx", read_only=True)
    kinds = {json.loads(line)["entry"]["kind"] for line in lines[1:]}
    assert set(book.sheetnames) == kinds == {file.stem for file in folder.rglob("*.csv")} - {"log"}


def test_nothing_is_written_beside_what_is_there(marrowby, tmp_path):
    (tmp_path / "mine.txt").touch()
    with pytest.raises(ValueError, match="is not empty"):
        list(exported(tmp_path, WORDS))
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_a_noted_head_is_told_with_its_entry_in_whatever_groups_it_was_noted(marrowby):
    entry = Entry.objects.get(seq=3)
    digits = entry.hash[:16]
    grouped = " ".join(digits[n : n + 4].upper() for n in range(0, 16, 4))
    for head in (entry.hash, digits, grouped):
        [(text, stands)] = of([head])
        assert stands
        assert text.startswith(f"{marrowby.slug}: the head {head} is that of entry 3, written ")


def test_a_head_that_is_in_no_book_is_told(marrowby):
    [(text, stands)] = of(["0" * 64])
    assert not stands
    assert text.startswith(f"The head {'0' * 64} is in no day book here")


def test_a_head_behind_an_edited_entry_proves_nothing(marrowby, drop_triggers):
    heads = [Entry.objects.get(seq=seq).hash for seq in (3, 6)]
    drop_triggers()
    Entry.objects.filter(seq=5).update(fryer="F9")
    assert [stands for _text, stands in of(heads)] == [True, False]


@pytest.mark.parametrize("head", ["", "abc", "g" * 16, "0" * 65])
def test_what_can_be_no_head_is_refused(db, head):
    with pytest.raises(ValueError, match="is no head"):
        of([head])


def test_settings_that_make_no_kitchen_yet_are_told_and_the_rest_is_written(db, tmp_path):
    Kitchen.objects.create(slug="bare")
    told = [line.text for line in exported(tmp_path / "out", WORDS)]
    assert "bare: its settings make no kitchen yet that a folder could hold." in told[1]
    assert {path.name for path in (tmp_path / "out" / "bare").iterdir()} == {
        "day-book.jsonl",
        "day-book.xlsx",
    }


def test_a_row_that_no_folder_takes_is_told(marrowby, hand, tmp_path):
    payload = {"fryer": "F1", "unit": "kg", "amount": "5000", "mass_kg": "5000"}
    entry_add(marrowby, Told(id=uuid7(hand.now), kind="top_up", happened_at=hand.now, payload=payload), hand)
    told = [line.text for line in exported(tmp_path / "out", WORDS)]
    assert any("is more than the whole bath" in text for text in told)
