"""Scales, ticks and labels stand where they should."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.marks.scales import Linear, TimeScale, apart, midnights, nice_ticks

LONDON = ZoneInfo("Europe/London")
BEGINS = datetime(2026, 10, 20, 12, tzinfo=UTC)


def test_a_linear_scale_maps_its_ends_and_turns_where_asked():
    scale = Linear(low=0, high=20, start=200, end=0)
    assert [scale.place(value) for value in (0, 5, 20, 25)] == [200, 150, 0, -50]


def test_a_time_scale_is_even():
    scale = TimeScale(begins=BEGINS, ends=BEGINS + timedelta(days=4), start=10, end=50)
    assert scale.place(BEGINS + timedelta(days=1)) == 20


@pytest.mark.parametrize(
    ("low", "high", "most", "ticks"),
    [(0, 27, 7, [0, 5, 10, 15, 20, 25]), (0, 1, 6, [0, 0.2, 0.4, 0.6, 0.8, 1]), (3, 41, 5, [10, 20, 30, 40])],
)
def test_ticks_are_round_numbers(low, high, most, ticks):
    assert nice_ticks(low, high, most=most) == pytest.approx(ticks)


@given(low=st.floats(-100, 100), width=st.floats(0.01, 1000), most=st.integers(3, 12))
def test_ticks_are_few_and_within(low, width, most):
    ticks = nice_ticks(low, low + width, most=most)
    assert 1 <= len(ticks) <= most
    assert all(low - 1e-6 <= tick <= low + width + 1e-6 for tick in ticks)


def test_days_begin_at_the_kitchens_midnight_through_a_change_of_the_clock():
    found = midnights(BEGINS, BEGINS + timedelta(days=21), LONDON, most=4)
    assert [at.astimezone(LONDON).strftime("%a %d %H:%M") for at in found] == [
        "Mon 26 00:00",
        "Mon 02 00:00",
        "Mon 09 00:00",
    ]


@given(days=st.integers(1, 2000), most=st.integers(1, 8))
def test_days_are_few_and_within(days, most):
    ends = BEGINS + timedelta(days=days)
    found = midnights(BEGINS, ends, LONDON, most=most)
    assert len(found) <= most
    assert all(BEGINS <= at <= ends for at in found)
    assert found == sorted(found)


places = st.lists(st.tuples(st.floats(0, 100), st.floats(1, 10)), min_size=1, max_size=6)


@given(places=places.map(sorted))
def test_things_that_fit_are_apart_and_within(places):
    starts = apart(places, room=100, gap=2)
    ends = [start + length for start, (_, length) in zip(starts, places, strict=True)]
    assert starts[0] >= -1e-9
    assert ends[-1] <= 100 + 1e-9
    assert all(after - end >= 2 - 1e-9 for end, after in zip(ends, starts[1:], strict=False))


def test_things_with_room_stand_centred():
    assert apart([(20, 10), (60, 20)], room=100, gap=2) == [15, 50]
