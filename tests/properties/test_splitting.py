"""How an act is split into entries, and in which order a minute's entries stand, says nothing."""

from dataclasses import replace
from itertools import permutations

from drawn import FEW, FEWER, KITCHEN, NOW, books, moments
from hypothesis import given
from hypothesis import strategies as st
from states import assert_alike

from kettlewell.book import Care, Load, MeterCheck
from kettlewell.book.entries import CARE_KINDS
from kettlewell.core import assess
from kettlewell.core.outlook.meters import meter_reports

fryers = st.sampled_from(["one", "two"])
tenths = st.integers(80, 160).map(lambda n: n / 10)


def assert_all_alike(entries, *ways, rel=1e-7):
    """Assert that a book leads to the same answers whichever way an act was written down in it."""
    once, *others = (assess(KITCHEN, [*entries, *way], now=NOW) for way in ways)
    for answer in others:
        for one, other in zip(once, answer, strict=True):
            assert_alike(other, one, rel=rel)


@given(entries=books, at=moments, fryer=fryers, mass_kg=st.floats(0.5, 40), share=st.floats(0.05, 0.95))
@FEW
def test_a_load_in_two_parts_at_one_time_is_one(entries, at, fryer, mass_kg, share):
    whole = Load(at=at, fryer=fryer, product="fries", mass_kg=mass_kg, ref="1")
    parts = [
        replace(whole, mass_kg=mass_kg * part, ref=ref) for part, ref in ((share, "1"), (1 - share, "2"))
    ]
    assert_all_alike(entries, [whole], parts)


@given(entries=books, at=moments, fryer=fryers, kind=st.sampled_from(CARE_KINDS))
@FEW
def test_care_written_down_twice_is_taken_once(entries, at, fryer, kind):
    """By two people, or on two sheets, of one minute."""
    care = Care(at=at, fryer=fryer, kind=kind, ref="1")
    assert_all_alike(entries, [care], [care, replace(care, ref="2", person="cook")])


@given(entries=books, at=moments, pct=st.tuples(tenths, tenths, tenths))
@FEWER
def test_the_readings_of_a_check_stand_in_any_order(entries, at, pct):
    check = MeterCheck(at=at, meter="hand", lot="R1", readings_pct=pct, oil_temp_c=50.0, ref="1")
    assert_all_alike(entries, *([replace(check, readings_pct=order)] for order in set(permutations(pct))))


@given(
    entries=books,
    at=moments,
    pct=st.tuples(tenths, tenths),
    lots=st.sampled_from([("R1", "R1"), ("R1", "R2")]),
)
@FEW
def test_two_checks_of_one_moment_stand_in_any_order(entries, at, pct, lots):
    one, other = (
        MeterCheck(at=at, meter="hand", lot=lot, readings_pct=(value,) * 3, oil_temp_c=50.0)
        for lot, value in zip(lots, pct, strict=True)
    )
    ways = [
        [replace(one, ref=ref), replace(other, ref=other_ref)] for ref, other_ref in (("1", "2"), ("2", "1"))
    ]
    told = []
    for way in ways:
        baths = assess(KITCHEN, [*entries, *way], now=NOW)
        reports = meter_reports(KITCHEN, [*entries, *way], now=NOW)
        told.append([(bath.verdict.key, bath.tpc_mean_pct, bath.tpc_sd_pct) for bath in baths])
        told[-1] += [(report.found_off, report.next_check.at, report.walk_pct_per_day) for report in reports]
    assert told[0] == told[1]
