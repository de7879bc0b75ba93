"""What would change a verdict, and the readings that it names."""

from dataclasses import replace

import numpy as np
import pytest

from kettlewell.book import Change, LabResult, OutOfOrder, Readings, SensoryNote
from kettlewell.core.decision import VerdictKey
from kettlewell.core.outlook.card import BathAnswers

# from fresh oil, as a meter shows it, up to where the next or the coming service asks for a change
LATER = (4, 6, 8, 10, 12, 13.5, 15.5, 17.5, 19)
NOW = (4, 6.5, 9, 11, 13.5, 16, 18.5, 20.5, 23)
LETTERS = dict(zip("bamf", VerdictKey, strict=True))


def answers(verdicts):
    """Return the answers to readings of 0, 1, 2 %: b and a: before, after; m and f: measure, fry on."""
    return BathAnswers(
        reading_pct=np.arange(len(verdicts), dtype=float), keys=[LETTERS[letter] for letter in verdicts]
    )


@pytest.mark.parametrize(
    ("verdicts", "could"), [("mffab", True), ("mmaab", False), ("bb", False), ("f", True)]
)
def test_a_bath_could_fry_on_if_some_reading_lets_it(verdicts, could):
    assert answers(verdicts).could_fry_on is could


@pytest.mark.parametrize(
    ("verdicts", "from_pct"),
    [("mmffab", 4.0), ("ffm", 2.0), ("mff", None), ("mab", None), ("fab", 1.0), ("mfab", 2.0)],
)
def test_frying_on_ends_at_the_lowest_stricter_reading_above_those_to_fry_on_with(verdicts, from_pct):
    assert answers(verdicts).milder_until_pct == from_pct


@pytest.mark.parametrize(
    ("verdicts", "key", "below_pct"),
    [
        ("mffab", "b", 4.0),
        ("mffab", "a", 3.0),
        ("mffb", "a", 3.0),
        ("mab", "b", 2.0),
        ("mab", "a", None),
        ("mmb", "b", None),
        ("bbb", "b", None),
        ("mff", "a", None),
    ],
)
def test_a_change_is_spared_below_the_lowest_reading_that_asks_for_it_if_a_lower_one_is_milder(
    verdicts, key, below_pct
):
    assert answers(verdicts).strict_from_pct(LETTERS[key]) == below_pct


def test_only_fresh_oil_changes_what_the_senses_said(told, book, at):
    spoiled = SensoryNote(at=at(4, "09:10"), fryer="big", spoiled=True)
    verdict = told([*book(4, 6, 8, 10, 12), spoiled], at(4, "09:30")).verdict
    assert (verdict.changes_if.code, verdict.changes_if.reading_pct) == ("fresh_oil", None)


def test_a_laboratory_result_below_the_limit_changes_one_past_it(told, book, at):
    past = LabResult(at=at(4, "09:10"), fryer="big", tpc_pct=26)
    verdict = told([*book(4, 6, 8, 10, 12), past], at(4, "09:30")).verdict
    assert (verdict.reason.code, verdict.changes_if.code) == ("mean_past", "laboratory")


def test_a_sound_reading_changes_what_is_to_be_measured_again(told, book, at, read):
    doubted = read(4, "09:20", 18, sound=False)
    verdict = told([*book(4, 6, 8, 10, 12), doubted], at(4, "09:30")).verdict
    assert (verdict.reason.code, verdict.changes_if.code) == ("doubted", "sound_reading")
    out = OutOfOrder(at=at(4, "09:10"), fryer="big")
    assert told([*book(4, 6, 8), out], at(4, "09:30")).verdict.changes_if.code == "sound_reading"


@pytest.mark.parametrize(("day", "code"), [(1, "senses"), (9, "fresh_oil")])
def test_without_a_meter_no_reading_is_named(told, at, kitchen, day, code):
    change = Change(at=at(0, "08:00"), fryer="big")
    fine = SensoryNote(at=at(day, "09:00"), fryer="big", spoiled=False)
    verdict = told([change, fine], at(day, "09:30"), place=replace(kitchen, meters=())).verdict
    assert (verdict.changes_if.code, verdict.changes_if.reading_pct) == (code, None)


def test_oil_of_which_nothing_is_known_is_judged_once_its_age_is_told(told, at, kitchen):
    """Where there is no meter to read it with; it is never thrown away for want of an entry."""
    unmetered = replace(kitchen, meters=())
    unknown = told([], at(0, "09:30"), place=unmetered).verdict
    assert (unknown.key, unknown.reason.code) == ("measure_again", "unknown_fill")
    assert unknown.changes_if.code == "fill_known"
    filled = Change(at=at(0, "08:00"), fryer="big")
    assert told([filled], at(0, "09:30"), place=unmetered).verdict.key == "fry_on"


def test_with_one_it_is(told, book, at):
    change = told(book(*LATER), at(8, "09:30")).verdict
    assert (change.reason.code, change.changes_if.code) == ("too_risky_next", "reading_below")
    fry = told(book(4, 6, 8, 10, 12), at(4, "09:30")).verdict
    assert (fry.reason.code, fry.changes_if.code) == ("risk_accepted", "reading_from")


def test_a_chance_is_told_of_the_service_by_whose_end_it_is_too_high(told, book, at):
    """Too high by the end of the coming service, or only by that of the next."""
    later = told(book(*LATER), at(8, "09:30"))
    assert later.verdict.reason.code == "too_risky_next"
    assert later.verdict.reason.ends_at == later.forecast[1].ends_at
    assert later.verdict.reason.service == later.forecast[1].name
    assert later.verdict.reason.passing_probability == later.verdict.passing_probability_next
    now = told(book(*NOW), at(8, "09:30"))
    assert now.verdict.reason.code == "too_risky"
    assert now.verdict.reason.ends_at == now.forecast[0].ends_at
    assert now.verdict.reason.passing_probability == now.verdict.passing_probability


def test_frying_on_holds_until_the_next_reading_and_all_else_until_the_coming_service_ends(told, book, at):
    fry_on, change = told(book(4, 6, 8), at(2, "09:30")), told(book(*NOW), at(8, "09:30"))
    assert fry_on.verdict.holds_until == fry_on.read_by > fry_on.forecast[0].ends_at
    assert change.verdict.holds_until == change.forecast[0].ends_at == at(8, "14:00")


def test_where_the_reading_is_due_now_frying_on_holds_until_the_coming_service_ends(told, at):
    """A fill never read: it is due at once, and fresh oil may be fried in all the same."""
    unread = told([Change(at=at(0, "08:00"), fryer="big")], at(0, "09:30"))
    assert (unread.verdict.key, unread.read_by) == ("fry_on", at(0, "11:00"))
    assert unread.verdict.holds_until == at(0, "14:00")


def test_a_card_goes_by_readings_only_where_the_bath_is_in_use_and_there_is_a_meter(told, book, at, kitchen):
    entries, now = book(4, 6, 8), at(2, "09:30")
    unmetered = told(entries, now, place=replace(kitchen, meters=())).card
    out = told([*entries, OutOfOrder(at=at(2, "09:10"), fryer="big")], now).card
    assert told(entries, now).card.by_reading
    assert [unmetered.by_reading, out.by_reading] == [False, False]
    assert [[line.key for line in card.lines] for card in (unmetered, out)] == [["fry_on"], ["measure_again"]]


def test_a_house_that_reads_every_day_is_asked_to_before_the_next_day_it_fries(told, book, at, kitchen):
    daily = replace(kitchen, readings=Readings.DAILY)
    entries = book(4, 6, 8)
    by_risk, by_rule = (told(entries, at(2, "09:30"), place=place) for place in (kitchen, daily))
    assert by_risk.read_by > at(3, "11:00")
    assert by_rule.read_by == by_rule.verdict.holds_until == at(3, "11:00")
    assert by_rule.verdict.key == by_risk.verdict.key == "fry_on"
    assert (by_rule.by_house_rule, by_risk.by_house_rule) == (True, False)
    assert told(entries, at(3, "09:30"), place=daily).read_by == at(3, "11:00")
