"""No bytes make the reader of a kitchen's folder crash, and nothing it is given gets lost."""

import contextlib
import csv
import io
from datetime import UTC, datetime

from hypothesis import example, given
from hypothesis import strategies as st

from kettlewell.book import Fryer, Kitchen, Oil, Product, Reading
from kettlewell.folder import KitchenError, Setup, read_kitchen, read_log
from kettlewell.folder.words import COLUMNS, WHATS

SETUP = Setup(
    kitchen=Kitchen(
        name="K",
        timezone="Europe/London",
        oils=(Oil(key="rapeseed", name="Rapeseed", pack_kg=9.2),),
        products=(Product(key="fries", name="Fries", basket_kg=1.5),),
        fryers=(Fryer(key="F1", name="F1", oil="rapeseed", oil_mass_kg=20.0, fries=("fries",)),),
    ),
    jug_l=2.0,
)
VALID = (
    b"when,fryer,what,amount,unit,product,oil_temp,who,note\n"
    b"2026-09-07 11:00,F1,reading,12.5,%,,170,AB,\n"
    b'07.09.2026 14:30,F1,load,"12,5",kg,fries,,AB,"two\nlines"\n'
    b"2026-09-07 14:40,F1,top-up,1,jug,,,AB,\n"
    b"2026-09-07 14:45,F1,hot-hours,3,h,,176,AB,\n"
    b'2026-09-07 14:50,F1,smell,fine,,,,AB,"a ""little"" smoke"\n'
)


def read(file):
    return read_log(io.BytesIO(file), SETUP)


@given(st.binary(max_size=400))
@example(b"\xff\xfew\x00h\x00e\x00n\x00")
@example(b"when,fryer,what\n\x00,\x00,\x00\n")
@example(b'when,fryer,what\n"')
@example(b"\r\r\n\n\r")
def test_any_bytes_give_entries_and_problems(file):
    log = read(file)
    assert log.entries or log.problems or not file.strip(), "a file that gives no entry is explained"


@given(st.binary(max_size=300))
def test_any_bytes_below_a_good_first_line_give_entries_and_problems(rows):
    file = b"when,fryer,what,amount\n" + rows
    last_line = 1 + max(file.count(b"\n") + file.count(b"\r"), 1)
    assert all(1 <= problem.line <= last_line for problem in read(file).problems)


@given(st.lists(st.tuples(st.integers(0, len(VALID)), st.integers(0, 12), st.binary(max_size=6)), max_size=6))
def test_a_damaged_log_never_stops_the_reader(damages):
    file = VALID
    for place, length, put in damages:
        file = file[:place] + put + file[place + length :]
    log = read(file)
    assert all(0 <= reading.tpc_pct <= 100 for reading in log.entries if isinstance(reading, Reading))
    assert all(datetime(1999, 12, 30, tzinfo=UTC) < entry.at for entry in log.entries)


CELLS = st.text(st.characters(codec="utf-8"), max_size=12)


@given(st.lists(st.tuples(st.sampled_from(WHATS), CELLS, CELLS, CELLS, CELLS), max_size=5))
def test_every_row_is_an_entry_or_a_problem(rows):
    file = io.StringIO()
    out = csv.writer(file)
    out.writerow(["when", "fryer", "what", "amount", "unit", "product", "into"])
    for minute, (what, *rest) in enumerate(rows, 10):
        out.writerow([f"2026-09-07 11:{minute}", "F1", what, *rest])
    log = read(file.getvalue().encode())
    assert len(log.entries) + len(log.problems) == len(rows)


@given(
    st.datetimes(datetime(2001, 1, 1), datetime(2098, 1, 1)),  # noqa: DTZ001 - the zone is put to it below
    st.floats(0, 100),
    st.sampled_from(["%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%SZ", "%d.%m.%Y %H:%M:%S", "%d/%m/%Y, %H:%M:%S"]),
    st.sampled_from(".,"),
    st.sampled_from(",;\t"),
)
def test_a_reading_comes_back_as_it_was_written(at, tpc_pct, form, point, delimiter):
    at = at.replace(microsecond=0, tzinfo=UTC)
    when = at.strftime(form) if "Z" in form else at.strftime(form) + "+00:00"
    typed = f"{tpc_pct:.4f}".replace(".", point)
    file = io.StringIO()
    out = csv.writer(file, delimiter=delimiter)
    out.writerow(COLUMNS[:4])
    out.writerow([when, "F1", "reading", typed])
    (entry,) = read(file.getvalue().encode()).entries
    assert entry == Reading(at=at, fryer="F1", ref="log.csv:2", tpc_pct=round(tpc_pct, 4))


@given(st.permutations(VALID.splitlines(keepends=True)[1:2] * 4))
def test_twice_is_once(rows):
    assert len(read(VALID.splitlines(keepends=True)[0] + b"".join(rows)).entries) == 1


KITCHEN = b"""name = "K"
timezone = "Europe/London"
risk = 0.05
[[oils]]
key = "a"
price_per_kg = 1.9
[[fryers]]
key = "F1"
oil = "a"
oil_mass_kg = 20
[[services]]
name = "Lunch"
days = "mon-fri"
from = "11:30"
to = "14:30"
"""


@given(st.integers(0, len(KITCHEN)), st.integers(0, 12), st.binary(max_size=8))
def test_a_damaged_kitchen_is_read_or_refused_with_a_kitchen_error(tmp_path_factory, place, length, put):
    path = tmp_path_factory.getbasetemp() / "kitchen.toml"
    path.write_bytes(KITCHEN[:place] + put + KITCHEN[place + length :])
    with contextlib.suppress(KitchenError):
        assert 0 < read_kitchen(path).kitchen.risk <= 0.5
