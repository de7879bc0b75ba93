"""While a meter is found off, what it read lets no bath fry."""

from dataclasses import replace

import pytest

from kettlewell.book import LabResult, MeterOut
from kettlewell.core import assess
from kettlewell.core.outlook.lookback import look_back
from kettlewell.core.outlook.meters import meter_reports
from kettlewell.core.outlook.values import FlagKind, Remedy


@pytest.fixture
def two(checking):
    """The kitchen with a second meter."""
    return replace(checking, meters=(*checking.meters, replace(checking.meters[0], key="lent", name="Lent")))


@pytest.fixture
def young(book, checked):
    """A bath read on three mornings, far below its limit, by a meter found fit at first."""
    return [checked(0, 0.0), *book(4.0, 6.0, 8.0)]


@pytest.fixture
def of(told, two, at):
    """Say what is told of a bath on the fourth morning."""
    return lambda entries, **rest: told(entries, at(4, "12:00"), place=two, **rest)


def test_a_bath_that_rests_on_a_meter_found_off_is_measured_again(of, young, checked):
    assert of(young).verdict.key == "fry_on"
    bath = of([*young, checked(3, 3.0)])
    assert (bath.verdict.key, bath.verdict.reason.code) == ("measure_again", "meter_off")
    flag = bath.verdict.reason.flag
    assert (flag.kind, flag.meter, flag.ref) == (FlagKind.METER_OFF, "Hand meter", "check 3")
    assert flag.surprise_pct == pytest.approx(3.0)
    assert flag in bath.flags
    assert bath.verdict.changes_if.code is Remedy.METER_PUT_RIGHT


@pytest.mark.parametrize("off_pct", [3.0, -3.0, 6.0, -6.0])
def test_adjusting_it_or_taking_it_out_of_use_is_not_putting_it_right(of, young, checked, at, off_pct):
    off = [*young, checked(3, off_pct)]
    left_off = checked(3, 2.0, adjusted=True)
    taken_out = MeterOut(at=at(3, "08:30"), meter="hand")
    back = MeterOut(at=at(3, "08:40"), meter="hand", back=True)
    for more in ([left_off], [taken_out], [taken_out, back], [checked(4, 1.6)]):
        assert of([*off, *more]).verdict.key in ("measure_again", "change_before")
        assert FlagKind.METER_OFF in {flag.kind for flag in of([*off, *more]).flags}


@pytest.mark.parametrize("right", ["a good check", "a good check as left", "another meter", "the laboratory"])
def test_what_puts_it_right(of, young, checked, read, at, right):
    again = read(4, "09:00", 9.5)
    entries = {
        "a good check": [checked(4, 0.2), again],
        "a good check as left": [checked(3, 0.1, adjusted=True), again],
        "another meter": [replace(again, meter="lent")],
        "the laboratory": [LabResult(at=again.at, fryer="big", tpc_pct=9.5)],
    }[right]
    bath = of([*young, checked(3, 1.8), *entries])
    assert bath.verdict.key == "fry_on"
    assert not bath.flags


def test_what_it_read_while_it_was_off_is_read_again_once_it_is_right(of, young, checked, read):
    """The look-back goes on doubting it, whatever was done to the meter."""
    right = [*young, checked(3, 3.0), checked(4, 0.2, adjusted=True)]
    bath = of(right)
    assert (bath.verdict.key, bath.verdict.reason.code) == ("measure_again", "meter_off")
    assert bath.verdict.changes_if.code is Remedy.SOUND_READING
    unsound = read(4, "09:00", 9.5, sound=False)
    assert of([*right, unsound]).verdict.key == "measure_again"
    later = [checked(4, 0.1, lot="R2"), read(4, "09:10", 9.5)]
    assert of([*right, unsound, *later]).verdict.key == "fry_on"


def test_each_time_it_was_off_counts_for_what_was_read_then(of, young, checked, read):
    """Adjusted twice, and the bath read in between while the meter was right, or not at all."""
    first, second = ([checked(day, 3.0), checked(day, 0.1, adjusted=True)] for day in (3, 4))
    assert of([*young, *first, *second]).verdict.reason.code == "meter_off"
    between = read(3, "10:00", 9.0)
    assert of([*young, *first, between, checked(4, 0.0)]).verdict.key == "fry_on"
    assert of([*young, *first, between, *second]).verdict.reason.code == "meter_off"


def test_readings_before_its_last_good_check_stand(of, young, checked):
    assert of([*young, checked(3, 0.0), checked(4, 3.0)]).verdict.key == "fry_on"


def test_a_bath_read_by_the_meter_found_off_again_still_rests_on_it(of, young, checked, read):
    entries = [*young, checked(3, 3.0), read(4, "09:00", 9.0, meter="lent"), read(4, "10:00", 12.0)]
    assert of(entries).verdict.reason.code == "meter_off"


def test_oil_past_its_limit_is_still_changed(of, young, checked):
    assert of([*young, checked(3, -8.0)], fryer="big").verdict.key in ("measure_again", "change_before")


def test_the_card_of_the_meter_found_off_lets_nothing_fry(told, checking, young, checked, at):
    card = told([*young, checked(3, 3.0)], at(4, "12:00"), place=checking).card
    assert {line.key for line in card.lines} <= {"measure_again", "change_before"}


def test_the_card_is_of_the_other_meter_where_there_is_one(of, young, checked):
    card = of([*young, checked(3, 3.0)]).card
    assert "fry_on" in {line.key for line in card.lines}


def test_every_bath_of_the_kitchen_that_it_read_is_told_so(two, young, checked, read, at):
    entries = [*young, read(3, "07:00", 5.0, fryer="small"), checked(3, 3.0)]
    reasons = {bath.fryer: bath.verdict.reason.code for bath in assess(two, entries, now=at(4, "12:00"))}
    assert reasons == {"big": "meter_off", "small": "meter_off"}


@pytest.mark.parametrize("off_pct", [-3.0, -1.8, 1.8, 3.0])
def test_today_contradicts_no_look_back(told, checking, checked, book, off_pct):
    """What a look-back asks about is about readings that no bath fries on today."""
    failed = checked(5, off_pct)
    entries = [checked(0, 0.0), *book(4, 8, 12, 16, 18), failed]
    found = look_back(checking, entries, failed, report=meter_reports(checking, entries, now=failed.at)[0])
    assert found.relied
    assert {again.reading.fryer for again in found.relied} == {"big"}
    assert told(entries, failed.at, place=checking).verdict.key in ("measure_again", "change_before")
