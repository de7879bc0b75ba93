"""A kitchen small enough to work out by hand, and a day book to fill as if by its cooks."""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from kettlewell.book import (
    Change,
    FoodKind,
    Force,
    Fryer,
    Judges,
    Kitchen,
    Limit,
    Load,
    MeterCheck,
    Oil,
    OilKind,
    Product,
    Reading,
    ReferenceLot,
    Service,
    TopUp,
)
from kettlewell.core import assess
from kettlewell.practice.hand_meter import HAND_METER

EVERY_DAY = tuple(range(7))
FIRST_DAY = datetime(2026, 9, 7, tzinfo=UTC)  # a Monday

KITCHEN = Kitchen(
    name="Test kitchen",
    fryers=(
        Fryer(key="big", name="Big pan", oil="rape", oil_mass_kg=20, fries=("fries",), usual_load_kg=20),
        Fryer(key="small", name="Small pan", oil="sun", oil_mass_kg=10, fries=("fish",), usual_load_kg=5),
    ),
    oils=(
        Oil(key="rape", name="Rapeseed oil", kind=OilKind.RAPESEED),
        Oil(key="sun", name="Sunflower oil", kind=OilKind.SUNFLOWER),
        Oil(key="palm", name="Palm olein", kind=OilKind.PALM_OLEIN),
    ),
    products=(
        Product(key="fries", name="Frozen fries", kind=FoodKind.FROZEN_FRIES, allergens=()),
        Product(key="fish", name="Battered fish", kind=FoodKind.BATTERED_FISH, allergens=("fish", "gluten")),
        Product(key="dry", name="Crackers", wear_factor=1.0, uptake_kg_per_kg=0.01),
    ),
    meters=(HAND_METER,),
    services=(
        Service(name="Lunch", weekdays=EVERY_DAY, begins=time(11), ends=time(14)),
        Service(name="Dinner", weekdays=EVERY_DAY, begins=time(17), ends=time(20), fryers=("big",)),
    ),
    limits=(
        Limit(
            jurisdiction="house",
            judges=Judges.OIL,
            quantity="total polar compounds",
            unfit_when=">",
            value=24,
            unit="% m/m",
            force=Force.HOUSE,
        ),
    ),
)


@pytest.fixture
def kitchen():
    """Two fryers: ``big`` fries at lunch and dinner, ``small`` at lunch; a house limit of 24 %."""
    return KITCHEN


@pytest.fixture
def checking():
    """The same kitchen with two bottles of reference oil."""
    lots = (
        ReferenceLot(key="R1", name="First bottle", tpc_pct=10.0, expanded_u_pct=0.4, read_at_c=50.0),
        ReferenceLot(key="R2", name="Second bottle", tpc_pct=12.0, expanded_u_pct=0.6, read_at_c=50.0),
    )
    return replace(KITCHEN, reference_lots=lots)


@pytest.fixture
def checked(at):
    """Check the meter at eight on a day, by three readings off by so much, in the first bottle."""

    def check(day, off_pct, **rest):
        given = {"meter": "hand", "lot": "R1", "oil_temp_c": 50.0, "ref": f"check {day}", **rest}
        value = {"R1": 10.0, "R2": 12.0}[given["lot"]] + off_pct
        return MeterCheck(at=at(day, "08:00"), readings_pct=(value, value, value), **given)

    return check


@pytest.fixture
def at():
    """Give the time of a clock on a day counted from Monday, 7 September 2026."""

    def moment(day, clock):
        hour, minute = map(int, clock.split(":"))
        return FIRST_DAY + timedelta(days=day, hours=hour, minutes=minute)

    return moment


@pytest.fixture
def read(at):
    """Read ``big``, unless another fryer is named, with sound conditions unless told otherwise."""

    def reading(day, clock, tpc_pct, **rest):
        given = {"fryer": "big", "oil_temp_c": 150.0, "ref": f"day {day} {clock}", **rest}
        return Reading(at=at(day, clock), tpc_pct=tpc_pct, **given)

    return reading


@pytest.fixture
def book(at, read):
    """Write down a change on the first day, then a reading every morning, usual loads and what they took."""

    def kept(*tpc_pct, fryer="big"):
        usual = {"big": ("fries", 20.0, ("13:50", "19:50")), "small": ("fish", 5.0, ("13:50",))}
        product, mass_kg, clocks = usual[fryer]
        taken_kg = mass_kg * {"fries": 0.07, "fish": 0.10}[product]
        entries = [Change(at=at(0, "08:00"), fryer=fryer)]
        for day, tpc in enumerate(tpc_pct):
            entries.append(read(day, "09:00", tpc, fryer=fryer))
            if day < len(tpc_pct) - 1:
                for clock in clocks:
                    entries.append(Load(at=at(day, clock), fryer=fryer, product=product, mass_kg=mass_kg))
                    entries.append(TopUp(at=at(day, clock), fryer=fryer, mass_kg=taken_kg))
        return entries

    return kept


@pytest.fixture
def told(kitchen):
    """Say what is assessed of one fryer, ``big`` unless another is named."""

    def about(entries, now, *, fryer="big", place=kitchen, **rest):
        return next(one for one in assess(place, entries, now=now, **rest) if one.fryer == fryer)

    return about


@pytest.fixture
def tokyo():
    """Give a zone in which the kitchen does not stand."""
    return ZoneInfo("Asia/Tokyo")
