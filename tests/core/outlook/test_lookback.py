"""The look-back after a failed check."""

from dataclasses import replace

import pytest

from kettlewell.book import Change, SensoryNote
from kettlewell.core import checkpoint
from kettlewell.core.decision import VerdictKey
from kettlewell.core.metering.paths import PathKind
from kettlewell.core.outlook.lookback import look_back
from kettlewell.core.outlook.meters import meter_reports

DRIFT, STEP = PathKind.DRIFT, PathKind.STEP


@pytest.fixture
def month(checked, read, at):
    """A bath read every morning for four weeks, by a meter that falls by 3.5 points meanwhile."""
    entries = [checked(0, 0.0), checked(28, -3.5)]
    for day in range(28):
        if day % 9 == 0:
            entries.append(Change(at=at(day, "08:30"), fryer="big"))
        entries.append(read(day, "09:00", 4.5 + 2.2 * (day % 9) - 3.5 * (day > 13)))
    return entries


@pytest.fixture
def back(checking):
    """Look back from the last check."""

    def looked(entries, **rest):
        failed = max((one for one in entries if hasattr(one, "lot")), key=lambda one: one.at)
        report = meter_reports(checking, entries, now=failed.at)[0]
        return look_back(checking, entries, failed, report=report, **rest)

    return looked


def test_every_reading_since_the_last_good_check_is_restated_on_both_paths(back, month):
    """But for those that were doubted at the time, on whose word nothing was fried."""
    found = back(month)
    assert len(found.relied) == 25
    assert found.good.ref == "check 0"
    middle = next(one for one in found.relied if one.reading.ref == "day 17 09:00")
    assert middle.again[DRIFT].reading_pct == pytest.approx(middle.reading.tpc_pct + 2.13, abs=0.05)
    assert middle.again[STEP].reading_pct == pytest.approx(middle.reading.tpc_pct + 2.13, abs=0.05)
    assert middle.again[STEP].reading_sd_pct > middle.again[DRIFT].reading_sd_pct


def test_verdicts_on_young_oil_stand_and_the_doubtful_ones_would_have_been_stricter(back, month):
    found = back(month).relied
    assert all(one.not_stand < 0.01 for one in found if one.reading.tpc_pct < 10)
    doubtful = [one for one in found if one.again[DRIFT].not_stand > 0.5]
    assert doubtful
    assert all(one.told is not VerdictKey.CHANGE_BEFORE for one in doubtful)
    assert {one.again[DRIFT].instead for one in doubtful} <= {
        VerdictKey.CHANGE_BEFORE,
        VerdictKey.CHANGE_AFTER,
    }


def test_a_meter_that_was_hardly_off_calls_nothing_in_question(back, month, checked):
    entries = [checked(28, 0.1) if one.ref == "check 28" else one for one in month]
    assert all(one.not_stand < 0.5 for one in back(entries).relied)


def test_a_drift_puts_less_blame_on_early_days_than_on_late_ones(back, month):
    """The same reading on the same day of a fill, nine days apart."""
    found = {one.reading.ref: one for one in back(month).relied}
    early, late = found["day 16 09:00"], found["day 25 09:00"]
    assert early.reading.tpc_pct == late.reading.tpc_pct
    assert early.again[DRIFT].not_stand < late.again[DRIFT].not_stand


def test_going_on_from_a_checkpoint_says_the_same(checking, back, month, at):
    since = checkpoint(checking, month, at=at(0, "08:10"))
    assert back(month, since=since) == back(month)


def test_readings_nothing_relied_on_are_left_out(back, month, read, at):
    """One not sound, one of another fryer's spoiled oil."""
    unsound = read(5, "10:00", 13.0, sound=False)
    spoiled = SensoryNote(at=at(6, "08:00"), fryer="small", spoiled=True)
    of_spoiled = read(6, "09:10", 8.0, fryer="small", ref="spoiled")
    refs = {one.reading.ref for one in back([*month, unsound, spoiled, of_spoiled]).relied}
    assert not refs & {unsound.ref, "spoiled"}


def test_without_a_good_check_it_looks_back_to_the_first_entry(back, month):
    found = back([one for one in month if one.ref != "check 0"])
    assert found.good is None
    assert found.relied[0].reading.ref == "day 0 09:00"


def test_only_readings_of_the_meter_that_failed_are_told_anew(checking, month, at):
    place = replace(checking, meters=(*checking.meters, replace(checking.meters[0], key="lent")))
    entries = [
        replace(one, meter="lent") if getattr(one, "tpc_pct", None) and one.at > at(14, "00:00") else one
        for one in month
    ]
    failed = next(one for one in entries if one.ref == "check 28")
    report = meter_reports(place, entries, now=failed.at)[0]
    assert len(look_back(place, entries, failed, report=report).relied) == 14


@pytest.mark.parametrize(("clock", "counts"), [("07:59", False), ("08:00", True)])
def test_readings_count_from_the_good_check_on(back, month, read, clock, counts):
    early = read(0, clock, 8.0, ref="early")
    assert ("early" in {one.reading.ref for one in back([*month, early]).relied}) is counts


@pytest.mark.parametrize(("clock", "counts"), [("07:59", True), ("08:00", False)])
def test_readings_count_up_to_the_failed_check(back, month, read, clock, counts):
    late = read(28, clock, 3.0, ref="late")
    assert ("late" in {one.reading.ref for one in back([*month, late]).relied}) is counts


def test_two_readings_of_one_occasion_are_both_told_anew(back, month, read):
    """Together they stand past the limit and decide alone; had they shown less, they would not."""
    pair = [read(26, "09:10", 24.5, ref="first"), read(26, "09:20", 24.5, ref="second")]
    found = {one.reading.ref: one for one in back([*month, *pair]).relied}
    assert found["second"].told is VerdictKey.CHANGE_BEFORE
