"""Each kind of entry is told once, in ``kettlewell.book.kinds``: what is missing elsewhere fails here."""

import dataclasses
import re
import runpy
from pathlib import Path

import pytest

from kettlewell.book import IN_ONE_MINUTE, Entry
from kettlewell.book.fields import Type
from kettlewell.book.kinds import AT_A_FRYER, KINDS, OF_VALUE
from kettlewell.folder.acts import BUILDERS
from kettlewell.folder.meters import METER_BUILDERS
from kettlewell.folder.plainly import PLAIN_BUILDERS
from kettlewell.folder.words import COLUMNS
from kettlewell.records.checks import NAMED
from kettlewell.records.kinds import PAYLOADS
from kettlewell.web.book.forms import KIND_NAMES
from kettlewell.web.entry.asking import FORMS
from kettlewell.web.entry.sentences import SHOWN, TEXTS, fields_in
from kettlewell.web.reading.acts import TITLES

ROOT = Path(__file__).parent.parent
TABLES = runpy.run_path(str(ROOT / "tools" / "tables.py"))
STAMP = {field.name for field in dataclasses.fields(Entry)}
WORKED_OUT = {
    "verdict": {"verdict"},
    "erased": {"number"},
    "imported": {"first", "last"},
}  # what a sentence tells beside the fields
every_kind = pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)


@every_kind
def test_a_value_holds_nothing_that_the_day_book_does_not(kind):
    if kind.value:
        told = {kind.attribute(field) for field in kind.fields}
        assert {field.name for field in dataclasses.fields(kind.value)} - STAMP <= told


def test_every_value_is_of_a_kind_and_has_its_place_in_a_minute():
    assert set(OF_VALUE) == set(IN_ONE_MINUTE) - {Entry}


@every_kind
def test_every_kind_is_checked_named_and_has_a_sentence(kind):
    assert list(PAYLOADS[kind.key].base_fields) == [field.name for field in kind.fields]
    assert str(KIND_NAMES[kind.key])
    assert bool(kind.says) is not (kind.key in TEXTS)


@every_kind
def test_a_sentence_tells_fields_that_its_kind_has_and_that_can_be_shown(kind):
    told = {field.name for field in kind.fields} | WORKED_OUT.get(kind.key, set())
    for text in kind.says:
        assert fields_in(text) <= told
        assert fields_in(text) <= set(SHOWN) | WORKED_OUT.get(kind.key, set())


@every_kind
def test_every_thing_that_is_named_is_looked_up(kind):
    for field in kind.fields:
        assert not field.things or NAMED[field.name][0] == field.things


@every_kind
def test_what_is_written_at_a_fryer_has_a_title_and_a_form(kind):
    if kind.key in AT_A_FRYER:
        assert kind.key in FORMS
        assert kind.key == "reading" or kind.key in TITLES


@every_kind
def test_every_kind_from_which_a_belief_follows_is_a_row_of_the_log(kind):
    assert bool(kind.log) is kind.counts
    for word in kind.log:
        assert word in {**BUILDERS, **METER_BUILDERS, **PLAIN_BUILDERS}
    assert {field.column for field in kind.fields if field.column} <= set(COLUMNS)


@every_kind
def test_numbers_have_bounds_wherever_somebody_types_them(kind):
    for field in kind.fields:
        if kind.counts and field.type in (Type.NUMBER, Type.NUMBERS):
            assert field.low is not None
            assert field.high is not None


@pytest.mark.parametrize("page", TABLES["PAGES"], ids=lambda page: page.stem)
def test_the_documentation_has_kinds_fields_and_settings_as_the_book_tells_them(page):
    """Write it anew with ``python tools/tables.py`` where this fails."""
    assert page.read_text(encoding="utf-8") == TABLES["told_anew"](page)


def test_the_day_book_page_names_every_kind():
    text = (ROOT / "docs" / "reference" / "day-book.md").read_text(encoding="utf-8")
    assert set(KINDS) <= set(re.findall(r"`(\w+)`", text))
