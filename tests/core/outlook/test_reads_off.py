"""Where the meter is why a reading is not what is believed of the oil, it is told by how much it is off."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from kettlewell.book import Change, LabResult, Reading
from kettlewell.core import assess
from kettlewell.folder import MARROWBY, read_folder
from kettlewell.practice.hand_meter import HAND_METER

KITCHEN = replace(read_folder(MARROWBY).setup.kitchen, meters=(HAND_METER,))
NOW = datetime(2026, 11, 15, 21, 30, tzinfo=UTC)


def told(shown, laboratory=None):
    """Return what is told of a bath read every day, beside laboratory results."""
    days = [NOW - timedelta(days=n) for n in range(6, 0, -1)]
    entries = [Change(at=NOW - timedelta(days=7), fryer="F1")]
    for at in (*days, NOW - timedelta(minutes=5)):
        reading = Reading(at=at, fryer="F1", tpc_pct=shown, oil_temp_c=170.0, meter="hand")
        entries.append(reading)
        if laboratory:
            entries.append(LabResult(at=at + timedelta(minutes=1), fryer="F1", tpc_pct=laboratory))
    [assessment] = assess(KITCHEN, entries, now=NOW, of=["F1"])
    return assessment


def test_a_meter_that_reads_below_the_laboratory_is_told_to_read_low():
    found = told(11.0, laboratory=14.0)
    assert found.tpc_mean_pct > 12
    assert found.reads_off_pct == pytest.approx(found.last_reading_pct - found.tpc_mean_pct, abs=1.5)
    assert found.reads_off_pct < -1


def test_where_the_oil_stands_as_it_was_read_nothing_is_told():
    found = told(8.0)
    assert found.tpc_mean_pct == pytest.approx(8.0, abs=0.5)
    assert found.reads_off_pct is None


def test_what_the_oil_aged_since_it_was_read_is_not_the_meters():
    """Vegetables were read a day before the log ends, and fried in since."""
    folder = read_folder(MARROWBY)
    [found] = assess(KITCHEN, folder.log.entries, now=NOW, of=["F5"])
    assert found.tpc_mean_pct > found.last_reading_pct + 1
    assert found.reads_off_pct is None
