"""Readings that cannot be relied on: flagged, asked about, never silently dropped."""

import pytest

from kettlewell.book import Change, HotHours, LabResult
from kettlewell.core.outlook.values import FlagKind

STEADY = (4, 6, 8, 10)


def kinds(one):
    return [flag.kind for flag in one.flags]


def test_an_unsound_reading_leads_to_measure_again_and_is_flagged(told, book, at, read):
    entries = [*book(*STEADY), read(4, "09:00", 16, sound=False)]
    one = told(entries, at(4, "09:30"))
    assert (one.verdict.key, kinds(one)) == ("measure_again", ["unsound"])
    assert one.flags[0].ref == "day 4 09:00"


@pytest.mark.parametrize("pct", [6 + half / 2 for half in range(30)])
def test_an_unsound_reading_asks_nothing_where_a_sound_one_like_it_would_fry_on(told, book, at, read, pct):
    morning = [*book(*STEADY), read(4, "09:00", pct, sound=False)]
    one, again = told(morning, at(4, "09:30")), told([*morning, read(4, "09:30", pct)], at(4, "09:30"))
    frying = again.verdict.key == "fry_on"
    assert (one.verdict.key, kinds(one)) == (("fry_on", []) if frying else ("measure_again", ["unsound"]))


@pytest.mark.parametrize("oil_temp_c", [20, 215])
def test_a_reading_outside_the_meters_temperatures_leads_to_measure_again(told, book, at, read, oil_temp_c):
    entries = [*book(*STEADY), read(4, "09:00", 12, oil_temp_c=oil_temp_c)]
    one = told(entries, at(4, "09:30"))
    assert (one.verdict.key, kinds(one)) == ("measure_again", ["temperature"])
    assert one.flags[0].oil_temp_c == oil_temp_c


def test_a_reading_at_a_temperature_nobody_noted_is_taken_as_sound(told, book, at, read):
    one = told([*book(*STEADY), read(4, "09:00", 12, oil_temp_c=None)], at(4, "09:30"))
    assert (one.verdict.key, one.flags) == ("fry_on", ())


def test_a_reading_far_above_what_is_expected_is_flagged_as_wet_and_measured_again(told, book, at, read):
    one = told([*book(*STEADY), read(4, "09:00", 19)], at(4, "09:30"))
    assert (one.verdict.key, kinds(one)) == ("measure_again", ["wet"])
    assert one.last_reading_pct == 19
    assert one.tpc_mean_pct < 15


def test_a_wet_reading_is_not_dropped(told, book, at, read):
    """It counts as far as a reading may that is not doubted, and no less the wilder it is."""
    none, wet, wetter = (
        told([*book(*STEADY), *more], at(4, "09:30"))
        for more in ([], [read(4, "09:00", 15)], [read(4, "09:00", 19)])
    )
    assert kinds(wet) == kinds(wetter) == ["wet"]
    assert wetter.tpc_mean_pct == pytest.approx(wet.tpc_mean_pct)
    assert wet.tpc_mean_pct > none.tpc_mean_pct + 0.5
    assert wetter.tpc_sd_pct > wet.tpc_sd_pct


def test_a_second_reading_that_agrees_is_believed(told, book, at, read):
    entries = [*book(*STEADY), read(4, "09:00", 19), read(4, "09:20", 19)]
    one = told(entries, at(4, "09:30"))
    assert one.verdict.key != "measure_again"
    assert one.tpc_mean_pct == pytest.approx(19 / 0.97, abs=1.0)
    assert one.flags == ()


def test_a_second_reading_that_fits_the_book_settles_it(told, book, at, read):
    entries = [*book(*STEADY), read(4, "09:00", 19), read(4, "09:20", 12)]
    one = told(entries, at(4, "09:30"))
    assert (one.verdict.key, kinds(one)) == ("fry_on", [])
    assert one.tpc_mean_pct < 15


def test_a_reading_that_contradicts_the_one_before_it_is_measured_again(told, book, at, read):
    entries = [*book(*STEADY), read(4, "09:00", 12), read(4, "09:20", 19)]
    one = told(entries, at(4, "09:30"))
    assert (one.verdict.key, [flag.ref for flag in one.flags]) == ("measure_again", ["day 4 09:20"])


def test_a_reading_that_falls_from_22_to_5_asks_whether_the_oil_was_changed(told, book, at):
    one = told(book(4, 8, 12, 17, 22, 5), at(5, "09:30"))
    assert (one.verdict.key, kinds(one)) == ("measure_again", ["unlogged_change"])
    assert one.filled_at != at(5, "09:00")
    assert one.tpc_mean_pct > 20
    assert one.flags[0].reading_pct == 5


def test_the_change_once_written_down_ends_the_question(told, book, at):
    entries = [*book(4, 8, 12, 17, 22, 5), Change(at=at(4, "21:00"), fryer="big")]
    one = told(entries, at(5, "09:30"))
    assert (one.verdict.key, one.flags, one.filled_at) == ("fry_on", (), at(4, "21:00"))


def test_a_second_reading_of_a_fill_nobody_wrote_down_is_believed_and_the_question_stays(
    told, book, at, read
):
    """Until the change is written down, or the new fill is read again another time."""
    entries = [*book(4, 8, 12, 17, 22, 5), read(5, "09:20", 5.5)]
    one = told(entries, at(5, "09:30"))
    assert (one.verdict.key, kinds(one)) == ("measure_again", ["unlogged_change"])
    assert one.filled_at == at(5, "09:00")
    assert one.tpc_mean_pct == pytest.approx(5.5, abs=0.7)
    third = told([*entries, read(5, "09:40", 5.5)], at(5, "09:50"))
    assert (third.verdict.key, kinds(third)) == ("fry_on", ["unlogged_change"])


@pytest.mark.parametrize("typed", [2, 5])
def test_a_mistyped_low_reading_is_overruled_by_two_that_agree(told, book, at, read, typed):
    """One against one they contradict each other."""
    right, wrong = book(4, 8, 12, 17), read(4, "09:10", typed)
    doubted = told([*right, wrong], at(4, "09:15"))
    assert doubted.verdict.key == "measure_again"
    assert doubted.tpc_mean_pct > 15
    once = told([*right, wrong, read(4, "09:20", 19)], at(4, "09:21"))
    assert (once.verdict.key, kinds(once)) == ("measure_again", ["contradicts"])
    twice = [read(4, "09:20", 19), read(4, "09:22", 19)]
    again, plain = told([*right, wrong, *twice], at(4, "09:30")), told([*right, *twice], at(4, "09:30"))
    assert again.verdict.key in ("change_before", "change_after")
    assert (again.flags, again.filled_at) == ((), plain.filled_at)
    assert again.tpc_mean_pct == pytest.approx(plain.tpc_mean_pct, abs=0.3)


def test_a_reading_well_below_the_book_that_fits_no_fresh_fill_contradicts_it(told, book, at):
    one = told(book(4, 8, 12, 17, 22, 15), at(5, "09:30"))
    assert (one.verdict.key, kinds(one)) == ("measure_again", ["contradicts"])
    assert one.flags[0].surprise_pct < -3


def test_flags_are_of_the_last_week_and_newest_first(told, book, at, read):
    doubted = [read(4, "09:00", 16, sound=False), read(6, "09:00", 26, sound=False)]
    entries = [*book(*STEADY), *doubted]
    assert [flag.ref for flag in told(entries, at(6, "09:30")).flags] == ["day 6 09:00", "day 4 09:00"]
    flags = told(entries, at(11, "10:00")).flags
    assert [flag.ref for flag in flags if flag.kind is not FlagKind.SILENT] == ["day 6 09:00"]


def test_a_fill_that_was_not_read_for_two_weeks_is_to_be_measured(told, at, read, book):
    """It stood cold, so the odds stay low and only the missing reading speaks."""
    cold = [
        HotHours(at=at(day, clock), fryer="big", hot_h=0.0)
        for day in range(4, 20)
        for clock in ("13:00", "19:00")
    ]
    entries = [*book(*STEADY), read(4, "09:00", 12), *cold]
    on_time, overdue = told(entries, at(18, "09:00")), told(entries, at(18, "09:01"))
    assert on_time.verdict.key == "fry_on"
    assert overdue.verdict.key == "measure_again"
    assert overdue.verdict.reason.code == "overdue"
    assert overdue.verdict.passing_probability < 0.01


def test_a_laboratory_result_counts_as_having_been_read(told, at, book):
    entries = [*book(*STEADY), LabResult(at=at(8, "09:00"), fryer="big", tpc_pct=14)]
    assert told(entries, at(10, "10:00")).verdict.key != "measure_again"


def test_a_fill_whose_beginning_and_readings_the_book_lacks_is_never_simply_fried_on(told, at):
    assert told([], at(0, "09:30")).verdict.key != "fry_on"


def test_one_figure_shown_again_and_again_while_much_is_fried_is_asked_about(told, book, at):
    """From the fourth time on, and never where the book expected no more."""
    stuck = book(4, 6, 8, 10, 10, 10, 10, 10)
    assert [kinds(told(stuck, at(day, "09:30"))) for day in (5, 7)] == [[], ["same_figure"]]
    cold = [
        HotHours(at=at(day, clock), fryer="big", hot_h=0.0)
        for day in range(3, 8)
        for clock in ("13:00", "19:00")
    ]
    assert kinds(told([*stuck, *cold], at(7, "09:30"))) == []


def test_oil_that_seems_to_age_more_slowly_than_any_published_is_asked_about(told, book, at):
    one = told(book(4, 4.5, 4, 4.5, 5, 4.5, 5, 4.5, 5), at(8, "09:30"))
    assert "too_slow" in kinds(one)
    assert one.rate_pct_per_h > 0.1
