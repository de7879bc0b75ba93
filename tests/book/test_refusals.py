"""The last value that a thing or an entry of a book may have, and the first that it may not."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from kettlewell.book import (
    Adopted,
    Closed,
    Fryer,
    Kitchen,
    MeterCheck,
    Move,
    Oil,
    OilKind,
    Product,
    Reading,
    ReferenceLot,
)

NOON = datetime(2026, 9, 7, 12, tzinfo=UTC)
NO_ZONE = NOON.replace(tzinfo=None)
OIL, FRIES = Oil(key="rape", name="Rapeseed"), Product(key="fries", name="Fries")
FRYER = Fryer(key="one", name="One", oil="rape", oil_mass_kg=20, fries=("fries",))
LOT = ReferenceLot(key="R1", name="Bottle", tpc_pct=10.0, expanded_u_pct=0.5)
KITCHEN = Kitchen(name="Test kitchen", fryers=(FRYER,), oils=(OIL,), products=(FRIES,), reference_lots=(LOT,))
CHECK = MeterCheck(at=NOON, meter="hand", lot="R1", readings_pct=(10.0,))
ADOPTED = Adopted(
    at=NOON,
    meter="hand",
    against=None,
    oil="rape",
    offset_pct=0.5,
    offset_u_pct=0.4,
    gain=0.9,
    gain_u=0.02,
    correlation=-0.8,
)
CLOSED = Closed(at=NOON, until=NOON + timedelta(days=1))
MINUTE = timedelta(minutes=1)
TINY = 1e-9


def and_fryer(**fields):
    return {"fryers": (replace(FRYER, **fields),)}


def and_product(factor):
    return {"products": (replace(FRIES, wear_factor=factor),)}


@pytest.mark.parametrize(
    ("thing", "may", "may_not", "why"),
    [
        (LOT, {"tpc_pct": TINY}, {"tpc_pct": 0.0}, "'R1': its value"),
        (LOT, {"tpc_pct": 100.0}, {"tpc_pct": 100.1}, "'R1': its value"),
        (LOT, {"expanded_u_pct": 0.0}, {"expanded_u_pct": -TINY}, "'R1': its uncertainty"),
        (LOT, {"expanded_u_pct": 1e9}, {"expanded_u_pct": math.inf}, "'R1': its uncertainty"),
        (LOT, {"coverage_factor": TINY}, {"coverage_factor": 0.0}, "'R1': its coverage factor"),
        (LOT, {"coverage_factor": 1e9}, {"coverage_factor": math.inf}, "'R1': its coverage factor"),
        (OIL, {"parts": ("sunflower 0.001",)}, {"parts": ("sunflower 0",)}, "share must be above 0"),
        (OIL, {"parts": ("sunflower 99",)}, {"parts": ("sunflower inf",)}, "share must be above 0"),
        (KITCHEN, {"risk": TINY}, {"risk": 0.0}, "risk must lie"),
        (KITCHEN, {"risk": 0.5}, {"risk": 0.51}, "risk must lie"),
        (KITCHEN, {"permissible_pct": TINY}, {"permissible_pct": 0.0}, "permissible_pct must"),
        (KITCHEN, {"permissible_pct": 4.0}, {"permissible_pct": 4.1}, "permissible_pct must"),
        (KITCHEN, and_product(TINY), and_product(0.0), "'fries': wear_factor"),
        (KITCHEN, and_product(None), and_product(math.nan), "'fries': wear_factor"),
        (KITCHEN, and_fryer(oil_mass_kg=TINY), and_fryer(oil_mass_kg=0.0), "'one': oil_mass_kg"),
        (KITCHEN, and_fryer(usual_load_kg=None), and_fryer(usual_load_kg=0.0), "'one': usual_load_kg"),
        (KITCHEN, and_fryer(fries=()), and_fryer(fries=("pies", "fish")), "'one': no product 'fish'"),
        (KITCHEN, {}, and_fryer(oil="palm"), "'one': no oil 'palm'"),
        (KITCHEN, {}, {"reference_lots": (LOT, replace(LOT, key="A"), LOT)}, "key 'R1' is given twice"),
        (KITCHEN, {}, {"oils": (OIL, Oil(key="b", name="B"), OIL, Oil(key="b", name="C"))}, "'b' is given"),
        (CHECK, {"readings_pct": (0.0,)}, {"readings_pct": (-0.5,)}, "between 0 and 100"),
        (CHECK, {"readings_pct": (9.0, 100.0)}, {"readings_pct": (9.0, 100.5)}, "between 0 and 100"),
        (CHECK, {"readings_pct": (9.0,) * 3}, {"readings_pct": (9.0,) * 4}, "one to three readings"),
        (CHECK, {}, {"readings_pct": ()}, "one to three readings"),
        (CHECK, {}, {"at": NO_ZONE}, "names no time zone"),
        (ADOPTED, {"gain": TINY}, {"gain": 0.0}, "gain and uncertainties"),
        (ADOPTED, {"gain_u": TINY}, {"gain_u": 0.0}, "gain and uncertainties"),
        (ADOPTED, {"offset_u_pct": TINY}, {"offset_u_pct": 0.0}, "gain and uncertainties"),
        (ADOPTED, {"correlation": 0.999}, {"correlation": 1.0}, "the correlation within 1"),
        (ADOPTED, {"correlation": -0.999}, {"correlation": -1.0}, "the correlation within 1"),
        (CLOSED, {"until": NOON + MINUTE}, {"until": NOON}, "must end after it begins"),
        (
            CLOSED,
            {"begins": CLOSED.until - MINUTE},
            {"begins": CLOSED.until},
            "must end after it begins",
        ),
        (CLOSED, {"begins": NOON - MINUTE}, {"begins": NO_ZONE}, "names no time zone"),
        (CLOSED, {}, {"until": NO_ZONE + timedelta(days=1)}, "names no time zone"),
    ],
)
def test_the_last_that_may_be_is_taken_and_the_next_refused(thing, may, may_not, why):
    assert replace(thing, **may) is not None
    with pytest.raises(ValueError, match=why):
        replace(thing, **may_not)


def test_an_entry_without_a_zone_is_named_by_its_place_and_so_is_oil_moved_into_itself():
    with pytest.raises(ValueError, match=r"^line 3: the time 2026"):
        Reading(at=NO_ZONE, ref="line 3", fryer="one", tpc_pct=9.0)
    with pytest.raises(ValueError, match=r"^entry: oil cannot be moved from 'one' into itself"):
        Move(at=NOON, fryer="one", into="one")


def test_the_parts_of_a_blend_need_not_add_up_to_a_hundred():
    blend = replace(OIL, parts=("sunflower 2", "rapeseed 1"))
    assert blend.shares() == (
        (OilKind.SUNFLOWER, pytest.approx(2 / 3)),
        (OilKind.RAPESEED, pytest.approx(1 / 3)),
    )


@pytest.mark.parametrize("fryer", [None, "one"])
def test_a_closure_covers_from_its_beginning_up_to_its_end(fryer):
    closed = replace(CLOSED, begins=NOON + MINUTE, fryer=fryer)
    assert [closed.covers("one", NOON + n * MINUTE) for n in (0, 1, 1439, 1440)] == [False, True, True, False]
    assert closed.covers("two", NOON + MINUTE) is (fryer is None)
