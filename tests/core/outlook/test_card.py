"""The wall card: the same mathematics on paper."""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest

from kettlewell.book import SensoryNote
from kettlewell.core.outlook.card import shown_pct

URGENCY = ["change_before", "change_after", "measure_again", "fry_on"]
CASES = {
    "fresh": (4, 5, 6.5),
    "halfway": (4, 6.5, 9, 11.5, 14),
    "near the limit": (4, 6, 8, 10, 12, 14, 16, 17.5, 19),
    "at the limit": (4, 6.5, 9, 11.5, 14, 16.5, 19, 21.5, 24),
}


@pytest.fixture(params=CASES)
def case(request, book, at):
    """Entries up to yesterday's dinner and a time this morning, still unread."""
    readings = CASES[request.param]
    return book(*readings, readings[-1])[:-1], at(len(readings), "09:00")


def line_of(card, reading_pct):
    def holds(line):
        above = line.from_pct is None or reading_pct >= line.from_pct
        return above and (line.to_pct is None or reading_pct < line.to_pct)

    (line,) = filter(holds, card.lines)
    return line


def test_every_reading_has_one_line_without_gap_or_overlap(told, case):
    lines = told(*case).card.lines
    assert lines[0].from_pct is lines[-1].to_pct is None
    assert [line.to_pct for line in lines[:-1]] == [line.from_pct for line in lines[1:]]
    edges = [line.from_pct for line in lines[1:]]
    assert edges == sorted(set(edges))
    assert all(line.key != following.key for line, following in pairwise(lines))


def test_edges_are_values_the_meter_can_show(told, case):
    assert all((2 * line.from_pct) % 1 == 0 for line in told(*case).card.lines[1:])


def test_the_verdict_never_grows_milder_as_the_reading_rises(told, case):
    """But for readings so far below the book that the card says to measure again."""
    order = [URGENCY.index(line.key) for line in told(*case).card.lines]
    if order[0] == URGENCY.index("measure_again"):
        order = order[1:]
    assert order == sorted(order, reverse=True)


def test_nor_does_it_for_oil_that_ages_fast_in_the_middle_of_a_service(told, book, at):
    order = [URGENCY.index(line.key) for line in told(book(4, 8, 12, 16, 19), at(4, "12:30")).card.lines[1:]]
    assert order == sorted(order, reverse=True)


@pytest.mark.parametrize("case", ["fresh", "halfway", "near the limit"], indirect=True)
@pytest.mark.parametrize("reading_pct", [2.0, 5.0, 8.0, 11.0, 14.0, 17.0, 19.5, 21.0, 22.5, 24.0, 25.5, 30.0])
def test_the_card_says_what_the_program_says_of_that_reading(told, case, read, at, reading_pct):
    entries, now = case
    line = line_of(told(entries, now).card, reading_pct)
    day = (now - at(0, "09:00")).days
    verdict = told([*entries, read(day, "09:00", reading_pct)], now).verdict
    assert line.key == verdict.key


@pytest.mark.parametrize("case", ["at the limit"], indirect=True)
@pytest.mark.parametrize("reading_pct", [11.0, 17.0, 21.0])
def test_a_reading_far_below_a_book_near_the_limit_is_answered_alike(told, case, read, reading_pct):
    entries, now = case
    line = line_of(told(entries, now).card, reading_pct)
    assert line.key == told([*entries, read(9, "09:00", reading_pct)], now).verdict.key


def test_a_card_is_dated_and_expires_when_the_coming_service_ends(told, book, at):
    now = at(4, "09:30")
    card = told(book(*CASES["halfway"]), now).card
    assert (card.fryer, card.made_at, card.expires_at) == ("big", now, at(4, "14:00"))


def test_the_card_of_a_running_service_expires_when_it_ends(told, book, at):
    now = at(4, "12:30")
    assert told(book(*CASES["halfway"]), now).card.expires_at - now == timedelta(hours=1.5)


@pytest.mark.parametrize(
    ("resolution_pct", "readings", "second_pct"),
    [(0.001, 401, 0.1), (0.1, 401, 0.1), (0.25, 161, 0.25), (0.5, 81, 0.5), (1.0, 41, 1.0), (3.0, 14, 3.0)],
)
def test_a_card_answers_every_tenth_of_a_point_or_what_a_coarser_meter_can_show(
    resolution_pct, readings, second_pct
):
    shown = shown_pct(resolution_pct)
    assert (len(shown), shown[0], shown[1]) == (readings, 0.0, second_pct)
    assert shown[-1] == pytest.approx(40, abs=resolution_pct / 2)
    assert [float(f"{value:.6g}") for value in shown] == shown.tolist()


def test_a_meter_said_to_show_thousandths_is_answered_by_tenths(told, book, at, kitchen):
    fine = replace(kitchen, meters=(replace(kitchen.meters[0], resolution_pct=0.001),))
    lines = told(book(*CASES["halfway"]), at(4, "09:30"), place=fine).card.lines
    assert len(lines) > 1
    assert all(round(10 * line.from_pct, 6).is_integer() for line in lines[1:])


def test_oil_that_the_senses_found_spoiled_is_changed_whatever_the_reading(told, book, at):
    spoiled = SensoryNote(at=at(4, "09:10"), fryer="big", spoiled=True)
    (line,) = told([*book(*CASES["halfway"]), spoiled], at(4, "09:30")).card.lines
    assert line.key == "change_before"
