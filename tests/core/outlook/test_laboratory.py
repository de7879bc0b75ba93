"""A laboratory's result that surprises is asked about, and is no word to fry on."""

import pytest

from kettlewell.book import LabResult
from kettlewell.core.outlook.values import FlagKind


@pytest.fixture
def after(told, book, at):
    """Say what is told of a bath read at 16 % once the laboratory's result is there."""

    def result(tpc_pct, *more):
        entries = [*book(4, 8, 12, 16), LabResult(at=at(3, "09:10"), fryer="big", tpc_pct=tpc_pct, ref="#9")]
        return told([*entries, *more], at(3, "10:00"))

    return result


def test_a_result_that_fits_overrides_the_meter_and_nothing_is_asked(after):
    bath = after(16.5)
    assert bath.verdict.key == "fry_on"
    assert not bath.flags


def test_a_result_far_below_the_book_is_asked_about_and_lets_nothing_fry(after):
    """Most probably it is the bottle of another fryer."""
    bath = after(5.0)
    assert (bath.verdict.key, bath.verdict.reason.code) == ("measure_again", "contradicted")
    flag = bath.verdict.reason.flag
    assert (flag.kind, flag.ref, flag.reading_pct) == (FlagKind.LABORATORY, "#9", 5.0)
    assert flag.surprise_pct < -6
    assert flag in bath.flags
    assert bath.tpc_mean_pct > 10


def test_a_result_far_below_does_not_override_readings_past_the_limit(told, book, read, at):
    entries = [*book(4, 8, 12, 16, 20, 24), read(5, "09:05", 24.5), read(5, "09:06", 25)]
    result = LabResult(at=at(5, "09:10"), fryer="big", tpc_pct=6.0)
    assert told(entries, at(5, "10:00")).verdict.key == "change_before"
    assert told([*entries, result], at(5, "10:00")).verdict.key == "change_before"


def test_a_result_past_the_limit_is_never_milder(after):
    keys = [after(tpc_pct).verdict.key for tpc_pct in (24.5, 27, 30, 40, 60)]
    assert keys == ["change_before"] * 5


def test_a_sound_reading_that_fits_the_book_settles_it(after, read):
    bath = after(5.0, read(3, "09:30", 16.5))
    assert bath.verdict.key == "fry_on"
    assert FlagKind.LABORATORY in {flag.kind for flag in bath.flags}
