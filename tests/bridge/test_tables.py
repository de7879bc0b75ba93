"""A table of any columns in the day book: all good rows at once, marked, once, and one verdict at the end."""

import csv
from dataclasses import replace
from datetime import timedelta
from io import BytesIO

import pytest
from django.core.exceptions import PermissionDenied
from openpyxl import load_workbook
from tables_made import saved

from kettlewell import clock
from kettlewell.bridge.standing import standing
from kettlewell.bridge.tables import place_in, recipes_kept, table_bring_in, table_tried
from kettlewell.bridge.verdicts import late_entries, record
from kettlewell.records.ids import uuid7
from kettlewell.records.kept_tables import table_keep, tables_forget
from kettlewell.records.ledger import Hand, Told
from kettlewell.records.models import Entry, KeptTable
from kettlewell.records.selectors import brought_in_with
from kettlewell.records.tables import tables_of, workbook
from kettlewell.records.verify import verify
from kettlewell.tables.guess import guess
from kettlewell.tables.reading import read_sheet
from kettlewell.tables.recipe import Conditions, recipe_from, recipe_text


def table(days=5, fryer="Fries", first=8.0):
    """Return a table of the days before yesterday."""
    begun = clock.now().date() - timedelta(days=days + 2)
    rows = [
        f"{begun + timedelta(days=place)} 10:00,{fryer},{first + 2 * place},175,1.5,{'' if place else 'x'},AB"
        for place in range(days)
    ]
    return "\n".join(["Date,Fryer,TPM,Temp,Topped up l,Changed,By", *rows]).encode()


def brought(kitchen, data, hand, **more):
    sheet = read_sheet(data)
    first = guess(sheet, place_in(kitchen), recipes_kept(kitchen))
    return table_bring_in(kitchen, replace(first.recipe, **more), sheet, hand, digest="0" * 64)


def test_all_good_rows_are_written_at_once_in_the_chain_and_marked(marrowby, hand):
    told = brought(marrowby, table(), hand)
    assert told.trial.problems == ()
    entries = list(Entry.objects.filter(kitchen=marrowby, kind__in=["reading", "top_up", "change"]))
    assert len(entries) == 11
    assert verify(marrowby) is None
    assert {entry.person for entry in entries} == {hand.person}
    assert set(brought_in_with(entries).values()) == {told.entry}
    assert (told.entry.payload["first"], told.entry.payload["last"]) == (
        str(entries[0].seq),
        str(entries[-1].seq),
    )
    poured = next(entry for entry in entries if entry.kind == "top_up")
    assert poured.payload == {"fryer": "F1", "unit": "l", "amount": "1.5", "mass_kg": "1.38"}
    assert bytes(poured.privates.get(field="note").content) == b"AB"


def test_no_row_has_a_verdict_of_its_own_and_one_for_now_ends_the_table(marrowby, hand):
    told = brought(marrowby, table(), hand)
    verdicts = Entry.objects.filter(kitchen=marrowby, kind="verdict")
    assert [verdict.fryer for verdict in verdicts] == ["F1"]
    assert told.verdicts["F1"] == verdicts[0]
    assert verdicts[0].happened_at == hand.now
    assert late_entries(marrowby) == {}
    last = next(each for each in standing(marrowby, hand.now).assessments if each.fryer == "F1")
    assert last.last_reading_pct == 16


def test_again_is_harmless_and_says_so(marrowby, hand):
    brought(marrowby, table(), hand)
    seq = marrowby.head_seq
    again = brought(marrowby, table(), hand, conditions=Conditions.UNKNOWN)
    assert (again.entry, again.trial.told, again.trial.there) == (None, (), 11)
    assert marrowby.head_seq == seq
    more = brought(marrowby, table(days=6), hand)
    assert len(more.trial.told) + more.trial.there == 13


def test_what_was_undone_or_typed_by_hand_does_not_come_twice(marrowby, hand):
    at = clock.now().replace(hour=10, minute=0, second=0, microsecond=0) - timedelta(days=3)
    typed = {
        "fryer": "F1",
        "tpc_pct": "9.5",
        **dict.fromkeys(("no_food", "no_bubbles", "probe_clear", "steady"), "yes"),
    }
    record(marrowby, Told(id=uuid7(hand.now), kind="reading", happened_at=at, payload=typed), hand)
    local = at.astimezone(place_in(marrowby).zone)
    data = f"Date,Fryer,TPM\n{local:%Y-%m-%d %H:%M},Fries,9.5\n{local:%Y-%m-%d} 15:00,Fries,11\n".encode()
    told = brought(marrowby, data, hand)
    assert (len(told.trial.told), told.trial.there) == (1, 1)
    entry = Entry.objects.get(pk=told.trial.told[0].id)
    undo = Told(
        id=uuid7(hand.now),
        kind="undone",
        happened_at=hand.now,
        payload={},
        replaces=entry.pk,
        private={"reason": b"never happened"},
    )
    record(marrowby, undo, hand)
    assert brought(marrowby, data, hand).trial.there == 2


def test_a_table_of_the_same_titles_asks_nothing_the_next_time(marrowby, hand):
    data = table(fryer="The left one")
    sheet = read_sheet(data)
    first = guess(sheet, place_in(marrowby))
    assert (first.doubtful, first.recipe.fryers) == ({"fryers"}, {"The left one": ""})
    answered = replace(first.recipe, fryers={"The left one": "F2"})
    table_bring_in(marrowby, answered, sheet, hand, digest="0" * 64)
    again = guess(read_sheet(table(days=9, fryer="The left one")), place_in(marrowby), recipes_kept(marrowby))
    assert (again.doubtful, again.recipe) == (frozenset(), answered)
    assert recipe_from(recipe_text(answered)) == answered


def test_what_cannot_be_is_told_by_its_row_and_the_others_come(marrowby, hand):
    tomorrow = clock.now().date() + timedelta(days=2)
    data = (
        b"Date,Fryer,TPM,Topped up kg\n"
        b"2026-01-01 10:00,Fries,12,500\n"
        + f"{tomorrow} 10:00,Fries,12,\n".encode()
        + b"2026-01-02 10:00,Fries,90,\n"
    ).replace(b"2026-01", f"{clock.now().year - 1}-01".encode())
    sheet = read_sheet(data)
    recipe = guess(sheet, place_in(marrowby)).recipe
    trial = table_tried(marrowby, recipe, sheet, hand.now)
    assert [told.kind for told in trial.told] == ["reading"]
    assert [problem.line for problem in trial.problems] == [2, 3, 4]
    assert trial.unlikely == 2
    sure = table_tried(marrowby, recipe, sheet, hand.now, sure=True)
    assert [(told.kind, problem) for told, problem in zip(sure.told, [2, 4], strict=True)] == [
        ("reading", 2),
        ("reading", 4),
    ]
    assert [problem.line for problem in sure.problems] == [2, 3]
    assert not Entry.objects.filter(kitchen=marrowby, kind="reading").exists()


def test_a_change_that_makes_a_later_move_impossible_is_not_brought_in(marrowby, hand):
    at = clock.now() - timedelta(days=2)
    for kind, payload, hours in (
        ("store", {"fryer": "F2"}, 0),
        ("move", {"fryer": "F1", "into": "F2"}, 5),
    ):
        told = Told(id=uuid7(hand.now), kind=kind, happened_at=at + timedelta(hours=hours), payload=payload)
        record(marrowby, told, hand)
    between = (at + timedelta(hours=2)).astimezone(place_in(marrowby).zone)
    told = brought(marrowby, f"Date,Fryer,Changed\n{between:%Y-%m-%d %H:%M},Fish,x\n".encode(), hand)
    assert told.trial.told == ()
    assert "could not be then" in str(told.trial.problems[0].why)


def test_a_cook_may_not_bring_in_a_table(marrowby, cook):
    with pytest.raises(PermissionDenied):
        brought(marrowby, table(), Hand(person=cook, now=clock.now()))
    assert not Entry.objects.filter(kind="imported").exists()


def test_a_note_that_would_be_a_formula_is_none_in_any_export(marrowby, hand):
    evil = "=HYPERLINK(A1)"
    at = clock.now().date() - timedelta(days=3)
    brought(marrowby, f"Date,Fryer,TPM,Note\n{at} 10:00,Fries,12,{evil}\n".encode(), hand)
    exported = tables_of(marrowby)
    cells = [cell for row in csv.reader(exported["reading"].csv.splitlines()) for cell in row]
    assert f"note: {evil}" in cells
    assert not any(cell.startswith(("=", "+", "-", "@")) for cell in cells)
    book = load_workbook(BytesIO(saved(workbook(exported))))
    assert not any(cell.data_type == "f" for row in book["reading"].iter_rows() for cell in row)


def test_a_file_that_nobody_brought_in_is_gone_after_a_day(marrowby, owner, hand):
    table_keep(marrowby, owner, hand.now, name="old.csv", content=b"x")
    tables_forget(hand.now + timedelta(hours=23))
    assert KeptTable.objects.count() == 1
    tables_forget(hand.now + timedelta(hours=25))
    assert not KeptTable.objects.exists()
