"""What kitchens might write down, whatever they do and in whatever order; for property tests."""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from kettlewell.book import (
    Adopted,
    Care,
    Change,
    FoodKind,
    Force,
    Fryer,
    HotHours,
    Judges,
    Kitchen,
    LabResult,
    Limit,
    Load,
    MeterCheck,
    MeterOut,
    Move,
    Oil,
    OilKind,
    OutOfOrder,
    Product,
    Reading,
    Recall,
    ReferenceLot,
    Return,
    SensoryNote,
    Service,
    Store,
    TopUp,
    in_order,
)
from kettlewell.book.entries import CARE_KINDS
from kettlewell.practice.hand_meter import HAND_METER

FEW = settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
FEWER = settings(FEW, max_examples=10)
START = datetime(2026, 9, 7, 6, tzinfo=UTC)
DAYS = 6
NOW = START + timedelta(days=DAYS)
EVERY_DAY = tuple(range(7))

KITCHEN = Kitchen(
    name="Test kitchen",
    fryers=(
        Fryer(key="one", name="One", oil="rape", oil_mass_kg=20, fries=("fries",), usual_load_kg=20),
        Fryer(key="two", name="Two", oil="sun", oil_mass_kg=8, fries=("fries",)),
    ),
    oils=(
        Oil(key="rape", name="Rapeseed oil", kind=OilKind.RAPESEED),
        Oil(key="sun", name="Sunflower oil", kind=OilKind.SUNFLOWER),
    ),
    products=(Product(key="fries", name="Fries", kind=FoodKind.FROZEN_FRIES),),
    meters=(
        HAND_METER,
        replace(HAND_METER, key="lent", name="Lent meter"),
    ),
    reference_lots=(
        ReferenceLot(key="R1", name="First bottle", tpc_pct=10.0, expanded_u_pct=0.5, read_at_c=50.0),
        ReferenceLot(key="R2", name="Second bottle", tpc_pct=12.0, expanded_u_pct=1.0, read_at_c=50.0),
    ),
    services=(
        Service(name="Lunch", weekdays=EVERY_DAY, begins=time(11), ends=time(14)),
        Service(name="Dinner", weekdays=EVERY_DAY, begins=time(17), ends=time(20), fryers=("one",)),
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

moments = st.integers(0, DAYS * 24 * 4).map(lambda quarters: START + timedelta(minutes=15 * quarters))


def written(
    fryers=("one", "two"),
    oils=("rape", "sun"),
    meters=("hand", "lent"),
    products=("fries",),
    lots=("R1", "R2"),
):
    """Return a strategy of entries that name these things."""
    common = {"at": moments, "fryer": st.sampled_from(fryers)}
    tpc = st.integers(4, 80).map(lambda halves: halves / 2)
    mass = st.none() | st.integers(0, 40).map(float)
    meter = st.sampled_from(meters)
    at_meter = {"at": moments, "meter": meter}
    return st.one_of(
        st.builds(
            Reading,
            tpc_pct=tpc,
            oil_temp_c=st.none() | st.integers(20, 220),
            sound=st.booleans(),
            meter=st.none() | meter,
            **common,
        ),
        st.builds(
            MeterCheck,
            lot=st.sampled_from(lots),
            readings_pct=st.lists(
                st.integers(10, 30).map(lambda halves: halves / 2), min_size=1, max_size=3
            ).map(tuple),
            adjusted=st.booleans(),
            **at_meter,
        ),
        st.builds(MeterOut, back=st.booleans(), **at_meter),
        st.permutations(meters).flatmap(lambda order: adopted(order[0], order[1], oils)),
        st.builds(LabResult, tpc_pct=tpc, polymers_pct=st.none() | st.integers(0, 20).map(float), **common),
        st.builds(Load, product=st.sampled_from(products), mass_kg=mass, **common),
        st.builds(TopUp, mass_kg=mass, **common),
        st.builds(HotHours, hot_h=st.integers(0, 6).map(float), **common),
        st.builds(
            Change,
            oil=st.sampled_from([None, *oils]),
            delivery=st.sampled_from([None, "L1", "L2"]),
            fresh_tpc_pct=st.sampled_from([None, 3.5, 6.0]),
            **common,
        ),
        st.builds(Care, kind=st.sampled_from(CARE_KINDS), **common),
        st.builds(Move, at=moments, fryer=st.just(fryers[0]), into=st.sampled_from(fryers[1:]), mass_kg=mass),
        st.builds(Store, **common),
        st.builds(Return, **common),
        st.builds(OutOfOrder, back=st.booleans(), **common),
        st.builds(SensoryNote, spoiled=st.booleans(), **common),
        st.builds(Recall, at=moments, delivery=st.sampled_from(["L1", "L2"])),
    )


def adopted(meter, other, oils):
    """Return a strategy of comparisons of a meter taken over, with another one or with the laboratory."""
    return st.builds(
        Adopted,
        at=moments,
        meter=st.just(meter),
        against=st.sampled_from([None, other]),
        oil=st.sampled_from(oils),
        offset_pct=st.integers(-2, 2).map(float),
        offset_u_pct=st.just(0.4),
        gain=st.integers(85, 110).map(lambda hundredths: hundredths / 100),
        gain_u=st.just(0.02),
        correlation=st.just(-0.8),
    )


kinds = written()
books = st.lists(kinds, max_size=25)
begun = st.lists(kinds, min_size=1, max_size=25)


def last_measured(entries, fryer):
    """Return, by the book alone, what was last measured of the oil in a fryer; None for nothing."""
    last = None
    for entry in in_order(entries):
        if isinstance(entry, Change | Move | Return | Store) and fryer in (
            entry.fryer,
            getattr(entry, "into", ""),
        ):
            last = None
        elif isinstance(entry, Reading | LabResult) and entry.fryer == fryer:
            last = entry
    return last
