"""A kitchen and its book written out to a folder are read back the same."""

import csv
import io
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given
from hypothesis import strategies as st

from kettlewell import book
from kettlewell.book import in_order
from kettlewell.book.kinds import OF_VALUE
from kettlewell.book.letters import FORMULA
from kettlewell.book.setup import Setup
from kettlewell.folder import MARROWBY, read_folder, write_folder

NOON = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)  # the hour that comes twice in Marrowby
MARROWBYS = read_folder(MARROWBY)
FRYER = st.sampled_from([fryer.key for fryer in MARROWBYS.setup.kitchen.fryers])
METER = st.sampled_from([meter.key for meter in MARROWBYS.setup.kitchen.meters])
OIL = st.sampled_from([oil.key for oil in MARROWBYS.setup.kitchen.oils])
LOT = st.sampled_from([lot.key for lot in MARROWBYS.setup.kitchen.reference_lots])
FOOD = st.sampled_from([product.key for product in MARROWBYS.setup.kitchen.products])
LEAST_KG = min(fryer.oil_mass_kg for fryer in MARROWBYS.setup.kitchen.fryers)
WHEN = st.builds(
    lambda seconds, zone: (NOON + timedelta(seconds=seconds)).astimezone(timezone(timedelta(hours=zone))),
    st.floats(0, 9000),
    st.sampled_from([0, 2]),
)
PERCENT = st.floats(0, 100)
TEMP = st.none() | st.floats(0, 300)
MASS = st.none() | st.floats(0, LEAST_KG)
WORDS = st.text(" -ab,;é\"'0", max_size=9).map(str.strip)
STAMP = {"at": WHEN, "person": st.none() | st.sampled_from(["AB", "C; D"])}


def plain_zero(figure):
    """Return the figure, 0 for the -0 that nobody writes down."""
    return figure + 0.0


def of(kind, /, **fields):
    place = {"fryer": FRYER} if issubclass(kind, book.AtFryer) else {"meter": METER}
    return st.builds(kind, **STAMP, **place, **fields)


MOVES = st.tuples(FRYER, FRYER).filter(lambda drawn: drawn[0] != drawn[1])
ENTRIES = {
    book.Reading: of(book.Reading, tpc_pct=PERCENT, oil_temp_c=TEMP, meter=METER, sound=st.booleans()),
    book.LabResult: of(book.LabResult, tpc_pct=PERCENT, u_pct=st.none() | st.floats(0.01, 100)),
    book.SensoryNote: of(book.SensoryNote, spoiled=st.booleans(), note=WORDS),
    book.TopUp: of(book.TopUp, mass_kg=MASS),
    book.Load: of(book.Load, product=FOOD, mass_kg=MASS),
    book.HotHours: of(book.HotHours, hot_h=st.floats(0, 24), oil_temp_c=TEMP),
    book.Change: of(book.Change, oil=st.none() | OIL),
    book.Move: st.builds(
        lambda fryers, **told: book.Move(fryer=fryers[0], into=fryers[1], **told),
        MOVES,
        mass_kg=MASS,
        **STAMP,
    ),
    book.Store: of(book.Store),
    book.Return: of(book.Return),
    book.Care: of(book.Care, kind=st.sampled_from(book.CARE_KINDS)),
    book.OutOfOrder: of(book.OutOfOrder, back=st.booleans()),
    book.Recall: st.builds(book.Recall, **STAMP, delivery=WORDS.filter(bool)),
    book.Closed: st.builds(
        lambda at, hours, **told: book.Closed(at=at, until=at + timedelta(hours=hours), **told),
        at=WHEN,
        hours=st.floats(0.001, 2000),
        fryer=st.none() | FRYER,
        person=STAMP["person"],
    ),
    book.MeterCheck: of(
        book.MeterCheck,
        lot=LOT,
        readings_pct=st.lists(PERCENT, min_size=1, max_size=3).map(tuple),
        oil_temp_c=TEMP,
        adjusted=st.booleans(),
    ),
    book.MeterOut: of(book.MeterOut, back=st.booleans()),
    book.Adopted: of(
        book.Adopted,
        oil=OIL,
        against=st.none() | METER,
        offset_pct=st.floats(-100, 100).map(plain_zero),
        offset_u_pct=st.floats(1e-6, 100),
        gain=st.floats(1e-6, 100),
        gain_u=st.floats(1e-6, 100),
        correlation=st.floats(-0.999999, 0.999999).map(plain_zero),
    ),
}
PRESENT = replace(
    MARROWBYS.setup.kitchen,
    meters=tuple(replace(meter, in_use_since=None) for meter in MARROWBYS.setup.kitchen.meters),
)


def read_back(setup, entries):
    with TemporaryDirectory() as name:
        folder = type(MARROWBY)(name)
        write_folder(folder, setup, entries)
        return read_folder(folder)


def said(entries):
    """Return what entries say, in order, wherever they were written down."""
    return [book.told(entry) for entry in in_order(replace(entry, ref="") for entry in entries)]


def test_every_kind_of_entry_is_drawn_here():
    assert set(ENTRIES) == set(OF_VALUE)


@given(st.lists(st.one_of(*ENTRIES.values()), max_size=8))
def test_a_book_written_out_is_read_back_the_same(entries):
    found = read_back(Setup(kitchen=PRESENT), entries)
    assert found.log.problems == ()
    assert said(found.log.entries) == said(entries)


def test_the_canteen_written_out_is_read_back_the_same():
    found = read_back(MARROWBYS.setup, MARROWBYS.log.entries)
    assert found.setup == MARROWBYS.setup
    assert (found.log.problems, said(found.log.entries)) == ((), said(MARROWBYS.log.entries))


def test_no_allergens_none_known_and_a_promise_come_back_as_they_were():
    kitchen = MARROWBYS.setup.kitchen
    first, second, *rest = kitchen.products
    said = replace(
        kitchen,
        products=(replace(first, allergens=()), replace(second, allergens=None), *rest),
        fryers=(replace(kitchen.fryers[0], protected=tuple(book.Protection)), *kitchen.fryers[1:]),
    )
    with TemporaryDirectory() as home:
        write_folder(Path(home), Setup(kitchen=said), [])
        found = read_folder(Path(home)).setup.kitchen
    assert found == said


NOTES = st.text("=+-@'a1,; \n\t", max_size=12).map(lambda text: " ".join(text.split()))


@given(st.lists(st.tuples(ENTRIES[book.Reading], NOTES), max_size=4))
def test_notes_come_back_as_they_were_and_none_begins_a_formula(noted):
    entries = [
        replace(entry, at=NOON + timedelta(minutes=number), ref=f"#{number}")
        for number, (entry, _) in enumerate(noted)
    ]
    notes = {f"#{number}": note for number, (_, note) in enumerate(noted)}
    with TemporaryDirectory() as name:
        write_folder(Path(name), Setup(kitchen=PRESENT), entries, notes=notes)
        written = (Path(name) / "log.csv").read_text("utf-8")
        log = read_folder(Path(name)).log
    assert [log.notes.get(entry.ref, "") for entry in log.entries] == list(notes.values())
    assert not any(row["note"].startswith(FORMULA) for row in csv.DictReader(io.StringIO(written)))


def test_entries_alike_are_as_many_as_they_were():
    at = datetime(2026, 9, 7, 12, 30, tzinfo=UTC)
    load = book.Load(at=at, fryer="F1", product="fries", mass_kg=3.0, ref="#1")
    alike = [load, replace(load, ref="#2"), replace(load, ref="#3"), load]
    assert len(read_back(MARROWBYS.setup, alike).log.entries) == 3
