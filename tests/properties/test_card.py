"""The wall card and the verdict are one rule: what the card says of a reading is what follows from it."""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from itertools import accumulate

from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from kettlewell.book import (
    Change,
    FoodKind,
    Force,
    Fryer,
    Judges,
    Kitchen,
    LabResult,
    Limit,
    Oil,
    OilKind,
    Product,
    Reading,
    SensoryNote,
    Service,
)
from kettlewell.core import assess, checkpoint
from kettlewell.practice.hand_meter import HAND_METER

FEW = settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
MILDEST_FIRST = ["fry_on", "measure_again", "change_after", "change_before"]
FIRST_DAY = datetime(2026, 9, 7, tzinfo=UTC)
EVERY_DAY = tuple(range(7))
SHOWN_PCT = range(41)

KITCHEN = Kitchen(
    name="Test kitchen",
    fryers=(Fryer(key="pan", name="Pan", oil="rape", oil_mass_kg=20, fries=("fries",), usual_load_kg=15),),
    oils=(Oil(key="rape", name="Rapeseed oil", kind=OilKind.RAPESEED),),
    products=(Product(key="fries", name="Fries", kind=FoodKind.FROZEN_FRIES),),
    meters=(replace(HAND_METER, resolution_pct=1.0),),
    services=(
        Service(name="Lunch", weekdays=EVERY_DAY, begins=time(11), ends=time(14)),
        Service(name="Dinner", weekdays=EVERY_DAY, begins=time(17), ends=time(20)),
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


def placed(risk, unfit_when):
    (limit,) = KITCHEN.limits
    return replace(KITCHEN, risk=risk, limits=(replace(limit, unfit_when=unfit_when),))


kitchens = st.builds(placed, risk=st.sampled_from([0.05, 0.5]), unfit_when=st.sampled_from([">", ">="]))
# a fill read each morning, by steps of a usual day or none at all, from fresh oil
steps = st.lists(st.sampled_from([0.0, 1.0, 2.0, 3.0, 4.0]), max_size=7)
# what happened on the last occasion: minutes before now, and what
readings = st.tuples(
    st.integers(1, 200),
    st.builds(
        Reading,
        at=st.just(FIRST_DAY),
        fryer=st.just("pan"),
        tpc_pct=st.integers(4, 60).map(lambda halves: halves / 2),
        oil_temp_c=st.sampled_from([150.0, 150.0, 150.0, 20.0]),
        sound=st.sampled_from([True, True, True, False]),
    ),
)
others = st.tuples(
    st.integers(1, 200),
    st.one_of(
        st.builds(LabResult, at=st.just(FIRST_DAY), fryer=st.just("pan"), tpc_pct=st.integers(4, 30)),
        st.builds(SensoryNote, at=st.just(FIRST_DAY), fryer=st.just("pan"), spoiled=st.booleans()),
    ),
)
occasions = st.lists(st.one_of(readings, readings, readings, others), max_size=3)


def book_of(steps, occasion, now, *, begun):
    """Return a change if the fill has ``begun``, a reading every morning, and the last occasion."""
    levels = list(accumulate([4.0, *steps]))
    mornings = [
        Reading(at=FIRST_DAY + timedelta(days=day, hours=9), fryer="pan", tpc_pct=level, oil_temp_c=150.0)
        for day, level in enumerate(levels[:-1])
    ]
    lately = [replace(entry, at=now - timedelta(minutes=minutes)) for minutes, entry in occasion]
    change = [Change(at=FIRST_DAY + timedelta(hours=8), fryer="pan")] if begun else []
    return [*change, *mornings, *lately]


def told_by(card, reading_pct):
    (line,) = (
        line
        for line in card.lines
        if (line.from_pct is None or reading_pct >= line.from_pct)
        and (line.to_pct is None or reading_pct < line.to_pct)
    )
    return line.key


def once_read(kitchen, entries, now):
    """Return the verdict after each reading the meter can show, taken now."""
    since = checkpoint(kitchen, entries, at=now - timedelta(minutes=210))
    lately = [entry for entry in entries if entry.at >= since.covers_to]
    keys: list[str] = []
    for shown_pct in SHOWN_PCT:
        reading = Reading(at=now, fryer="pan", tpc_pct=float(shown_pct), oil_temp_c=150.0)
        [told] = assess(kitchen, [*lately, reading], now=now, since=since)
        keys.append(str(told.verdict.key))
    return keys


ONE_AT_THE_LIMIT = [(20, Reading(at=FIRST_DAY, fryer="pan", tpc_pct=25.0, oil_temp_c=150.0))]
SPOILED = [(20, SensoryNote(at=FIRST_DAY, fryer="pan", spoiled=True))]
SPOILED_THEN_LOW = [
    (3, SensoryNote(at=FIRST_DAY, fryer="pan", spoiled=True)),
    (2, Reading(at=FIRST_DAY, fryer="pan", tpc_pct=2.0, oil_temp_c=150.0)),
]
PLATEAU = [4.0, 4.0, 4.0, 4.0, 2.0, 1.0, 0.0]
COLD = [(1, Reading(at=FIRST_DAY, fryer="pan", tpc_pct=13.5, oil_temp_c=20.0))]
A_WEEK = [2.0, 0.0, 1.0, 2.0, 3.0, 0.0, 0.0]  # the meter has drifted for a week when it is read again


@given(
    kitchen=kitchens,
    steps=steps,
    occasion=occasions,
    hour=st.sampled_from([9, 12, 15, 21]),
    begun=st.booleans(),
)
@example(kitchen=placed(0.5, ">"), steps=PLATEAU, occasion=ONE_AT_THE_LIMIT, hour=9, begun=True)
@example(kitchen=placed(0.05, ">"), steps=[2.0, 2.0], occasion=SPOILED, hour=9, begun=True)
@example(kitchen=placed(0.05, ">"), steps=[2.0, 0.0], occasion=SPOILED_THEN_LOW, hour=9, begun=False)
@example(kitchen=placed(0.05, ">"), steps=[], occasion=[], hour=15, begun=True)
@example(kitchen=placed(0.5, ">"), steps=[], occasion=COLD, hour=9, begun=False)
@example(kitchen=placed(0.05, ">"), steps=A_WEEK, occasion=[], hour=21, begun=True)
@FEW
def test_the_card_says_of_every_reading_what_follows_from_it(kitchen, steps, occasion, hour, begun):
    now = FIRST_DAY + timedelta(days=max(len(steps), 1), hours=hour, minutes=7)
    entries = book_of(steps, occasion, now, begun=begun)
    [told] = assess(kitchen, entries, now=now)
    assert [told_by(told.card, float(shown)) for shown in SHOWN_PCT] == once_read(kitchen, entries, now)


@given(
    kitchen=kitchens,
    steps=steps,
    occasion=occasions,
    hour=st.sampled_from([9, 12, 15, 21]),
    begun=st.booleans(),
)
@example(kitchen=placed(0.05, ">"), steps=[], occasion=[], hour=15, begun=True)
@FEW
def test_no_card_is_milder_for_a_higher_reading(kitchen, steps, occasion, hour, begun):
    """But for readings so far below the book that the card says to measure again."""
    now = FIRST_DAY + timedelta(days=max(len(steps), 1), hours=hour, minutes=7)
    [told] = assess(kitchen, book_of(steps, occasion, now, begun=begun), now=now)
    strictness = [MILDEST_FIRST.index(line.key) for line in told.card.lines]
    if told.card.lines[0].key == "measure_again":
        strictness = strictness[1:]
    assert strictness == sorted(strictness)
