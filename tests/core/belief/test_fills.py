"""What the book says of the fill in a fryer."""

from dataclasses import replace

import pytest

from kettlewell.book import LabResult
from kettlewell.core.belief.fills import fill_of
from kettlewell.core.belief.walk import walk_to
from kettlewell.practice.hand_meter import HAND_METER


@pytest.fixture
def fill(kitchen):
    """Return what is known of the fill in ``big`` after some entries."""

    def of(entries, now, place=kitchen):
        return fill_of(walk_to(place, entries, now=now).state, 0)

    return of


def test_readings_are_told_as_they_were_written_the_oldest_first(fill, book, read, at):
    entries = [
        *book(4.0),
        read(1, "09:00", 7.0, oil_temp_c=None, meter="hand"),
        read(2, "09:00", 9.5, sound=False),
    ]
    of = fill(entries, at(2, "09:30"))
    told = [(taken.reading.ref, taken.reading.tpc_pct, taken.reading.oil_temp_c) for taken in of.readings]
    assert told == [("day 0 09:00", 4.0, 150.0), ("day 1 09:00", 7.0, None), ("day 2 09:00", 9.5, 150.0)]
    assert [taken.reading.sound for taken in of.readings] == [True, True, False]
    assert [taken.reading.meter for taken in of.readings] == ["hand"] * 3
    assert [taken.reading.at for taken in of.readings] == [at(day, "09:00") for day in range(3)]
    assert (of.filled_at, of.sound_at, of.occasion_at) == (
        at(0, "08:00"),
        at(1, "09:00"),
        at(2, "09:00"),
    )
    assert (of.laboratory, of.laboratory_surprise_pct, of.spoiled, of.empty) == (None, None, False, False)


def test_each_reading_names_the_meter_that_took_it_or_none_where_the_kitchen_has_none(
    fill, kitchen, read, at
):
    two = replace(
        kitchen,
        meters=(
            *kitchen.meters,
            replace(HAND_METER, key="lent", name="Lent meter"),
        ),
    )
    entries = [read(0, "09:00", 7.0, meter="lent"), read(0, "10:00", 7.0, meter="hand")]
    of = fill(entries, at(0, "10:30"), two)
    assert [taken.reading.meter for taken in of.readings] == ["lent", "hand"]
    bare = fill([read(0, "09:00", 7.0)], at(0, "10:30"), replace(kitchen, meters=()))
    assert [taken.reading.meter for taken in bare.readings] == [None]


def test_a_laboratorys_result_is_told_with_how_far_it_surprises(fill, book, at):
    result = LabResult(at=at(2, "10:00"), fryer="big", tpc_pct=9.0, ref="bottle")
    of = fill([*book(4, 7, 9), result], at(2, "11:00"))
    assert (of.laboratory.tpc_pct, of.laboratory.at, of.laboratory.ref) == (9.0, at(2, "10:00"), "bottle")
    assert of.laboratory_surprise_pct is None
    odd = fill([*book(4, 7, 9), LabResult(at=at(2, "10:00"), fryer="big", tpc_pct=30.0)], at(2, "11:00"))
    assert odd.laboratory_surprise_pct == pytest.approx(21, abs=3)
