"""The clock of the program, which runs unless it is told to stand still."""

from datetime import UTC, datetime, timedelta

import pytest

from kettlewell import clock


def test_it_stands_still_where_it_is_told_to_and_tells_utc(monkeypatch):
    monkeypatch.setenv(clock.SETTING, " 2026-10-25T02:30:00+02:00 ")
    assert clock.now() == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert clock.now().tzinfo is UTC


@pytest.mark.parametrize("empty", ["", " ", None])
def test_it_runs_where_nothing_is_said(monkeypatch, empty):
    """It is later at the second look, or the same."""
    monkeypatch.delenv(clock.SETTING) if empty is None else monkeypatch.setenv(clock.SETTING, empty)
    first = clock.now()
    assert timedelta(0) <= clock.now() - first < timedelta(minutes=10)
    assert first.utcoffset() == timedelta(0)
    assert first > datetime(2026, 1, 1, tzinfo=UTC)


@pytest.mark.parametrize(("said", "seconds"), [("+90", 90), ("-3600.5", -3600.5)])
def test_it_goes_wrong_by_as_many_seconds_as_it_is_told(monkeypatch, said, seconds):
    monkeypatch.setenv(clock.SETTING, said)
    before = clock.running()
    after = clock.now() - timedelta(seconds=seconds)
    assert before <= after <= clock.running()


@pytest.mark.parametrize(
    "said", ["soon", "+soon", "-", "+1e400", "+nan", "2026-11-15", "2026-11-15T21:30", "21:30"]
)
def test_what_is_no_moment_is_refused_by_the_name_of_the_setting(monkeypatch, said):
    monkeypatch.setenv(clock.SETTING, said)
    with pytest.raises(ValueError, match=r"KETTLEWELL_NOW is .*; write a moment with its zone"):
        clock.now()
