"""The sheets of a wall card reach to the next day's first service; each is the answer of its own time."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from kettlewell.core import answer, card_sheets
from kettlewell.folder import MARROWBY, read_folder

FOLDER = read_folder(MARROWBY)
KITCHEN, ENTRIES = FOLDER.setup.kitchen, FOLDER.log.entries
WEEKDAYS = ("F1", "F2", "F3", "F5")


def ends_of(answers):
    return [min(told.card.expires_at for told in found.assessments).strftime("%a %H:%M") for found in answers]


@pytest.mark.parametrize(
    ("hour", "ends"),
    [
        (9, ["Thu 14:30", "Thu 20:30", "Fri 14:30"]),
        (16, ["Thu 20:30", "Fri 14:30"]),
        (22, ["Fri 14:30"]),
    ],
)
def test_the_last_sheet_is_of_the_next_days_first_service(hour, ends):
    """Whenever it is printed, next morning's first reading is on the card."""
    now = datetime(2026, 11, 12, hour, 0, tzinfo=UTC)
    assert ends_of(card_sheets(KITCHEN, ENTRIES, now=now, of=WEEKDAYS)) == ends


def test_a_later_sheet_is_what_would_be_told_then_if_nothing_more_were_written():
    """What is in the log after the card was made is not known to it."""
    now = datetime(2026, 11, 12, 16, 0, tzinfo=UTC)
    sheets = card_sheets(KITCHEN, ENTRIES, now=now, of=("F2",))
    known = [entry for entry in ENTRIES if entry.at <= now]
    assert sheets[0] == answer(KITCHEN, known, now=now, of=("F2",))
    assert sheets[1] == answer(KITCHEN, known, now=sheets[0].assessments[0].card.expires_at, of=("F2",))
    assert sheets[1].assessments[0].card.lines != sheets[0].assessments[0].card.lines


def test_a_kitchen_that_is_closed_next_day_has_its_last_sheet_for_the_day_it_opens():
    """Fried on Thursdays and Saturdays alone."""
    services = tuple(
        replace(service, weekdays=(3, 5)) for service in KITCHEN.services if service.name == "Lunch"
    )
    now = datetime(2026, 11, 12, 9, 0, tzinfo=UTC)
    answers = card_sheets(replace(KITCHEN, services=services), ENTRIES, now=now, of=("F1",))
    assert ends_of(answers) == ["Thu 14:30", "Sat 14:30"]


def test_fryers_without_an_answer_have_one_sheet_that_tells_it():
    now = datetime(2026, 11, 12, 9, 0, tzinfo=UTC)
    services = tuple(service for service in KITCHEN.services if service.name == "Breakfast")
    [found] = card_sheets(replace(KITCHEN, services=services), ENTRIES, now=now, of=("F1",))
    assert [each.fryer for each in found.unanswered] == ["F1"]
