"""Sentences about one fryer say what the core found."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from kettlewell.core.decision import Reason, VerdictKey
from kettlewell.core.outlook.values import Doubted
from kettlewell.telling.verdicts import (
    age_known,
    life_in_words,
    next_act,
    picture_in_words,
    questions,
    services_left,
    verdict_words,
    why,
)


@pytest.mark.parametrize(
    ("key", "words"),
    [
        (VerdictKey.CHANGE_BEFORE, "Change before frying"),
        (VerdictKey.CHANGE_AFTER, "Change after this service"),
        (VerdictKey.MEASURE_AGAIN, "Measure again"),
        (VerdictKey.FRY_ON, "Fry on"),
    ],
)
def test_a_verdict_is_told_in_the_cooks_words(fry_on, reader, key, words):
    assessment = replace(fry_on, verdict=replace(fry_on.verdict, key=key))
    assert verdict_words(assessment, reader) == words


def test_while_a_service_runs_change_before_frying_means_stop(change_before, reader):
    running = replace(change_before, cooling=None, at=datetime(2026, 11, 16, 12, 0, tzinfo=UTC))
    assert verdict_words(running, reader) == "Stop frying, change now"


def test_a_bath_drained_by_hand_is_switched_off_and_never_ordered_changed_at_once(change_before, reader):
    running = replace(change_before, at=datetime(2026, 11, 16, 12, 0, tzinfo=UTC))
    assert verdict_words(change_before, reader) == "Do not fry, switch it off"
    assert verdict_words(running, reader) == "Stop frying, switch it off"
    for one in (change_before, running):
        assert next_act(one, reader) == "Next: switch it off now; change the oil once it is cold."


def test_where_there_is_no_meter_and_never_a_reading_the_senses_come_instead(fry_on, reader):
    unknown = replace(
        fry_on,
        verdict=replace(fry_on.verdict, key=VerdictKey.MEASURE_AGAIN),
        metered=False,
        last_reading_at=None,
    )
    assert verdict_words(unknown, reader) == "Smell it and look at it"
    assert next_act(unknown, reader).startswith("Next: smell it and look at it before every service")
    assert verdict_words(replace(unknown, metered=True), reader) == "Take the first reading"


@pytest.mark.parametrize(
    ("left", "told"),
    [
        (4, "Good for about 4 more services. Expect to change the oil before Lunch on Fri."),
        (1, "Good for one more service."),
        (0, "Good for no more service."),
        (None, "Good for more than 28 services."),
    ],
)
def test_services_left_run_up_to_the_change(fry_on, reader, left, told):
    assert services_left(replace(fry_on, life=replace(fry_on.life, services_left=left)), reader) == told


def test_oil_that_turns_over_fast_enough_is_not_expected_to_reach_the_limit(fry_on, reader):
    steady = replace(fry_on, life=replace(fry_on.life, never=True))
    assert services_left(steady, reader) == (
        "Not expected to reach the limit while it is topped up as usual."
    )


@pytest.mark.parametrize(
    ("life", "told"),
    [
        ((5.9, 4.2, 7.0), "in half of all cases after 5 services, in eight of ten between 4 and 7"),
        (
            (9.0, 3.0, None),
            "in half of all cases after 9 services, in eight of ten between 3 and more than 28",
        ),
        ((1.2, 0.4, 3.9), "in half of all cases after 1 service, in eight of ten between 0 and 3"),
        ((None, None, None), "in half of all cases after more than 28 services"),
    ],
)
def test_the_median_life_stands_apart_with_its_range(fry_on, reader, life, told):
    values = dict(zip(("services_median", "services_low", "services_high"), life, strict=True))
    assert life_in_words(replace(fry_on, life=replace(fry_on.life, **values)), reader) == told


@pytest.mark.parametrize(
    ("key", "told"),
    [
        (VerdictKey.CHANGE_BEFORE, "Next: change the oil before Lunch, Mon 11:30."),
        (
            VerdictKey.CHANGE_AFTER,
            "Next: switch it off after Lunch, Mon 14:30; change the oil once it is cold.",
        ),
        (VerdictKey.MEASURE_AGAIN, "Next: measure again before Lunch, Mon 11:30."),
        (VerdictKey.FRY_ON, "Next: take a reading by Wed 11:30."),
    ],
)
def test_the_next_act_has_its_time(fry_on, reader, key, told):
    assert next_act(replace(fry_on, verdict=replace(fry_on.verdict, key=key)), reader) == told


def test_a_bath_that_is_pumped_is_changed_right_after_the_service(fry_on, reader):
    verdict = replace(fry_on.verdict, key=VerdictKey.CHANGE_AFTER)
    pumped = replace(fry_on, verdict=verdict, card=replace(fry_on.card, by_hand=False))
    assert next_act(pumped, reader) == "Next: change the oil after Lunch, Mon 14:30."


def test_without_a_meter_in_use_nobody_is_told_to_read(fry_on, reader):
    assert "smell it" in next_act(replace(fry_on, metered=False), reader)


def test_an_entry_that_the_reason_asks_about_is_not_asked_about_twice(fry_on, reader):
    flag = fry_on.flags[0]
    reason = Doubted(code=Reason.DOUBTED, flag=flag)
    asks = replace(fry_on, verdict=replace(fry_on.verdict, reason=reason))
    assert why(asks, reader).startswith("21 % is 6.3 points higher than expected")
    assert questions(asks) == []
    assert questions(fry_on) == [flag]


def test_the_life_line_is_a_sentence_with_the_lowest_limit(fry_on, reader):
    lower = replace(fry_on.limits[0], tpc_pct=22.0)
    told = picture_in_words(replace(fry_on, limits=(*fry_on.limits, lower), forecast=()), reader)
    assert told == "Polar compounds about 15.3 % now (± 1.1). The limit is 22 %."


def test_oil_of_which_the_book_says_too_little_has_no_known_age(fry_on):
    assert age_known(fry_on)
    assert not age_known(replace(fry_on, tpc_sd_pct=6.0))


def test_a_fryer_that_is_not_in_use_has_no_verdict(fry_on, reader):
    assert verdict_words(replace(fry_on, in_use=False), reader) == "Out of use"


def test_a_fill_that_was_never_read_is_not_to_be_read_again(fry_on, reader):
    verdict = replace(fry_on.verdict, key=VerdictKey.MEASURE_AGAIN)
    unread = replace(fry_on, verdict=verdict, last_reading_at=None, last_reading_pct=None)
    assert verdict_words(unread, reader) == "Take the first reading"
    assert next_act(unread, reader) == "Next: take the first reading before Lunch, Mon 11:30."


def test_the_house_rule_is_told_where_it_asks_for_the_next_reading(fry_on, reader):
    assert "House rule" not in next_act(fry_on, reader)
    ruled = replace(fry_on, by_house_rule=True)
    assert next_act(ruled, reader) == "Next: take a reading by Wed 11:30. House rule: read every day."


def test_whoever_measured_is_told_to_measure_again_also_while_it_fries(fry_on, reader):
    running = replace(fry_on.forecast[0], begins_at=fry_on.at)
    again = replace(
        fry_on,
        forecast=(running, *fry_on.forecast[1:]),
        verdict=replace(fry_on.verdict, key=VerdictKey.MEASURE_AGAIN),
    )
    assert next_act(again, reader) == "Next: measure again now."
