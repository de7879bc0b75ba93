"""The demo kitchen holds the events its documentation names."""

from collections import Counter
from datetime import UTC, datetime

import pytest

from kettlewell.book import Change, LabResult, MeterCheck, Move, Reading, SensoryNote
from kettlewell.core.metering.checks import decide_check
from kettlewell.folder import MARROWBY, read_folder

LOG = read_folder(MARROWBY).log


def readings(fryer):
    return [entry for entry in LOG.entries if isinstance(entry, Reading) and entry.fryer == fryer]


def test_it_spans_ten_weeks_in_the_order_of_time():
    times = [entry.at for entry in LOG.entries]
    assert times == sorted(times)
    # 09:35 in summer time, 21:14 in winter time
    assert times[0] == datetime(2026, 9, 7, 8, 35, tzinfo=UTC)
    assert times[-1] == datetime(2026, 11, 15, 21, 14, tzinfo=UTC)


def test_every_fryer_is_read_and_no_fryer_every_day():
    counts = Counter(entry.fryer for entry in LOG.entries if isinstance(entry, Reading))
    assert set(counts) == {"F1", "F2", "F3", "F4", "F5"}
    assert all(10 <= count < 70 for count in counts.values())


def test_one_change_of_the_fish_fryer_was_never_written_down():
    before, after = (entry for entry in readings("F2") if entry.at.month == 10 and entry.at.day in (14, 15))
    assert (before.tpc_pct, after.tpc_pct) == (21.0, 4.0)
    changes = [entry.at for entry in LOG.entries if isinstance(entry, Change) and entry.fryer == "F2"]
    assert not any(before.at < at < after.at for at in changes)


def test_the_vegetable_fryer_was_not_read_for_a_week():
    *_, before, last = readings("F5")
    assert before.at == datetime(2026, 11, 7, 11, 0, tzinfo=UTC)
    assert last.at == datetime(2026, 11, 14, 10, 47, tzinfo=UTC)


def test_the_doughnut_fryer_was_read_wet_and_not_again():
    *_, before, last = readings("F4")
    assert last.at == datetime(2026, 11, 14, 7, 16, tzinfo=UTC)
    assert last.tpc_pct > before.tpc_pct + 7


@pytest.mark.parametrize(("kind", "count"), [(LabResult, 2), (Move, 1), (SensoryNote, 2)])
def test_rare_entries_are_there(kind, count):
    assert sum(isinstance(entry, kind) for entry in LOG.entries) == count


def test_its_meter_is_checked_each_month_and_adjusted_once_it_is_found_off():
    checks = [entry for entry in LOG.entries if isinstance(entry, MeterCheck)]
    kitchen = read_folder(MARROWBY).setup.kitchen
    assert [decide_check(check, kitchen).key.value for check in checks] == ["fit", "fit", "adjust", "fit"]
    assert [check.adjusted for check in checks] == [False, False, False, True]
