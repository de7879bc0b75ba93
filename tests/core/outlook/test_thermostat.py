"""Oil that is read hotter or colder than set, service after service, speaks of the thermostat."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from kettlewell.book import Change, Closed, history_of
from kettlewell.core import assess, checkpoint
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.state import HotReading
from kettlewell.core.belief.thermostat import thermostat_off
from kettlewell.core.outlook.values import FlagKind

SET_C = 175.0
DAYS = 6
NOON = datetime(2026, 9, 7, 12, tzinfo=UTC)


@pytest.fixture
def hot(at, read):
    """Give a fresh fill, read on days at a clock, the oil hotter than set by so much each time."""

    def entries(*hotter_c, clock="12:00", first=0):
        readings = [
            read(first + day, clock, 5.0 + day, oil_temp_c=SET_C + by) for day, by in enumerate(hotter_c)
        ]
        return [Change(at=at(first, "08:00"), fryer="big"), *readings]

    return entries


@pytest.fixture
def asked(kitchen, at):
    """Return what is asked about the thermostat of ``big``, after some entries, on an evening."""

    def flags(entries, settings=None, *, day=DAYS, **rest):
        [bath] = assess(settings or kitchen, entries, now=at(day, "21:00"), of=["big"], **rest)
        return [flag for flag in bath.flags if flag.kind is FlagKind.THERMOSTAT]

    return flags


def with_big(kitchen, **fields):
    """Return a kitchen whose ``big`` fryer is set otherwise."""
    big, *rest = kitchen.fryers
    return replace(kitchen, fryers=(replace(big, **fields), *rest))


@pytest.mark.parametrize("by", [12.0, -12.0])
def test_oil_that_is_off_what_is_set_in_every_service_is_asked_about(asked, hot, at, by):
    [flag] = asked(hot(by + 1, by - 1, by + 2, by - 2))
    assert flag.hotter_c == pytest.approx(by)
    assert (flag.at, flag.ref) == (at(3, "12:00"), "day 3 12:00")


@pytest.mark.parametrize("clock", ["09:00", "10:55", "14:05", "15:30", "20:05"])
def test_oil_read_outside_a_service_tells_nothing_of_the_thermostat(asked, hot, clock):
    assert not asked(hot(15, 15, 15, 15, clock=clock))


@pytest.mark.parametrize(
    "by",
    [(4, 4, 4, 4, 4, 4), (14, -14, 14, -14, 14), (20,), (15, 15), (-45, -40, -50, -45)],
    ids=["as thermostats are", "either way", "one service", "two services", "the bath was off"],
)
def test_what_says_nothing_sure_of_the_thermostat_is_not_asked_about(asked, hot, by):
    assert not asked(hot(*by))


def test_readings_of_one_service_count_as_one(asked, hot, at, read):
    again = [read(0, f"12:{minute}", 5.0, oil_temp_c=SET_C + 15) for minute in (10, 20, 30, 40)]
    assert not asked([*hot(15, 15), *again])
    [flag] = asked([*hot(15, 15, 15), *again])
    assert flag.hotter_c == pytest.approx(15)


def test_the_temperature_that_is_typed_changes_nothing_that_is_believed(kitchen, hot, at):
    hotter, as_set = (
        assess(kitchen, hot(*[by] * 5), now=at(DAYS, "21:00"), of=["big"])[0] for by in (15.0, 0.0)
    )
    assert len(hotter.flags) == 1 + len(as_set.flags)
    assert replace(hotter, flags=as_set.flags) == as_set


def test_a_thermostat_that_was_mended_is_no_longer_asked_about(asked, hot):
    assert asked(hot(15, 15, 15, 15))
    assert not asked(hot(15, 15, 15, 15, 1))


def test_it_is_a_matter_of_the_fryer_and_not_of_its_oil(asked, hot, at):
    change = Change(at=at(2, "08:00"), fryer="big")
    assert asked([*hot(15, 15, 15), change])
    assert not asked([*hot(15, 15), *(replace(entry, fryer="small") for entry in hot(15, 15, 15))])


@pytest.mark.parametrize("fields", [{"set_temp_c": 185.0}, {"standby_temp_c": 150.0}])
def test_a_fryer_that_is_set_otherwise_begins_anew(kitchen, asked, hot, at, fields):
    settings = history_of(kitchen).then(with_big(kitchen, **fields), at(2, "09:00"))
    assert asked(hot(20, 20, 20, 20))
    assert not asked(hot(20, 20, 20, 20), settings)
    other = history_of(kitchen).then(with_big(kitchen, usual_load_kg=15.0), at(2, "09:00"))
    assert asked(hot(20, 20, 20, 20), other)


def test_between_its_standby_and_its_set_temperature_a_fryer_is_as_it_should_be(kitchen, asked, hot):
    standby = with_big(kitchen, standby_temp_c=160.0)
    assert asked(hot(*[-13] * 5))
    assert not asked(hot(*[-13] * 5), standby)
    assert [flag.hotter_c for flag in asked(hot(*[-30] * 5), standby)] == [-15]
    assert [flag.hotter_c for flag in asked(hot(*[15] * 5), standby)] == [15]


def test_a_fryer_that_stood_cold_tells_nothing(asked, hot, at):
    closed = Closed(at=at(0, "07:00"), until=at(5, "07:00"), fryer="big")
    assert not asked([*hot(15, 15, 15, 15), closed])


def test_it_is_asked_for_a_week_and_forgotten_after_four(asked, hot):
    assert asked(hot(15, 15, 15), day=8)
    assert not asked(hot(15, 15, 15), day=10)
    assert not asked([*hot(15, 15), *hot(15, first=31)], day=31)
    assert asked([*hot(15, 15), *hot(15, first=27)], day=27)


@pytest.mark.parametrize("day", range(1, 5))
def test_going_on_from_a_checkpoint_asks_what_a_replay_asks(kitchen, asked, hot, at, day):
    entries = hot(15, 14, 13, 16)
    since = checkpoint(kitchen, entries, at=at(day, "12:30"))
    rest = [entry for entry in entries if entry.at >= since.covers_to]
    assert asked(rest, since=since) == asked(entries) != []


def readings_of(*hotter_c, per_service=1):
    """Return readings of one service after another, hotter than set by so much."""
    return [
        HotReading(
            at=NOON + timedelta(days=n, minutes=m),
            ref=f"{n}.{m}",
            began=NOON + timedelta(days=n),
            hotter_c=by,
        )
        for n, by in enumerate(hotter_c)
        for m in range(per_service)
    ]


def off(*hotter_c, **given):
    taken = readings_of(*hotter_c, **given)
    return thermostat_off(taken, taken[-1].at, PACKAGED)


def test_a_thermostat_is_off_while_its_last_service_shows_it_either_way():
    least_c = PACKAGED.thermostat_off.value
    for sign in (1, -1):
        assert off(*(sign * 20 for _ in range(4)), sign * (least_c + 0.1)) is not None
        assert off(*(sign * 20 for _ in range(4)), sign * (least_c - 0.1)) is None
        assert off(sign * (least_c - 0.1), *(sign * 20 for _ in range(4))) is not None
        assert off(*(sign * 20 for _ in range(4)), -sign * 20) is None


def test_how_surely_a_thermostat_is_off_is_the_posterior_of_a_gaussian_mean():
    """The usual conjugate result: precisions add up, and means are weighed by them."""
    known = PACKAGED
    for by in (6.0, 8.0, 9.0, 10.0, 14.0):
        for services in (3, 4, 6):
            precision = known.thermostat.sd**-2 + services * known.bath_temperature.sd**-2
            mean = services * by * known.bath_temperature.sd**-2 / precision
            sure = mean - known.thermostat_sds.value / precision**0.5 > known.thermostat_off.value
            found = off(*([by] * services))
            enough = services >= known.thermostat_services.value
            assert (found is not None) is (sure and enough and by > known.thermostat_off.value)
            assert found is None or found.hotter_c == pytest.approx(by)


def test_readings_count_for_so_many_days():
    taken = readings_of(20, 20, 20, 20)
    last = taken[0].at + timedelta(days=PACKAGED.thermostat_days.value)
    needed = int(PACKAGED.thermostat_services.value)
    assert thermostat_off(taken[:needed], last - timedelta(seconds=1), PACKAGED)
    assert not thermostat_off(taken[:needed], last, PACKAGED)
