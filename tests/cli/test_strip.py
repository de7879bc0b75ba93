"""One fryer's strip and the whole report are laid out as lines."""

from dataclasses import replace

from answers import answer_of

from kettlewell.cli.report import report
from kettlewell.cli.screen import Weight
from kettlewell.cli.strip import strip
from kettlewell.core.limits import LimitNote, LimitStatus, NoteCode

WIDTH = 80


def texts(lines):
    return [line.text for line in lines]


def test_urgency_is_told_by_words_and_weight(change_before, fry_on, kitchen, reader):
    urgent = list(strip(change_before, kitchen, reader, width=WIDTH))
    calm = list(strip(fry_on, kitchen, reader, width=WIDTH))
    assert (urgent[1].text, urgent[1].weight) == ("DO NOT FRY, SWITCH IT OFF", Weight.REVERSED)
    assert (calm[1].text, calm[1].weight) == ("Fry on", Weight.PLAIN)
    assert urgent[0].text.startswith("━━ Fish (F2) ━ Battered fish ━")
    assert calm[0].text.startswith("── Fries (F1) ─ Frozen fries ─")


def test_a_strip_holds_reason_life_next_act_and_the_picture_in_words(fry_on, kitchen, reader):
    told = texts(strip(fry_on, kitchen, reader, width=WIDTH))
    assert (
        "Chance of going over the 24 % limit by the end of Lunch (Mon 14:30): under 1 %. "
        "A reading of 19.5 % or more would change this, and so would oil that smells or looks spoiled."
    ) in told
    assert "Good for about 4 more services. Expect to change the oil before Lunch on Fri." in told
    assert "Next: take a reading by Wed 11:30." in told
    assert (
        "Polar compounds about 15.3 % now (± 1.1). The limit is 24 %. "
        "After the next 3 services about 16.5; 17.7; 18.9."
    ) in told
    assert ("Please check: 21 % is 6.3 points higher than expected. Was the probe wet? (log.csv:12)") in told


def test_a_fryer_that_can_take_over_is_named(change_before, kitchen, reader):
    told = texts(strip(change_before, kitchen, reader, width=WIDTH))
    assert "While it cools, the work can go to Fries (F1)." in told


def test_whoever_is_not_trained_to_drain_is_told_whom_to_call_before_the_oil_is(
    change_before, fry_on, kitchen, reader
):
    told = "If you are not trained to drain oil, call the chef."
    assert told in texts(strip(change_before, kitchen, reader, width=WIDTH))
    assert told not in texts(strip(fry_on, kitchen, reader, width=WIDTH))


def test_a_report_tells_all_fryers_in_the_order_given_and_each_caution_once(
    change_before, fry_on, kitchen, reader
):
    lines = list(report(answer_of(change_before, fry_on), kitchen, reader, width=WIDTH))
    told = texts(lines)
    assert told[:3] == [
        "Two baths (invented), Sun 15 Nov 2026, 21:30",
        "Do not fry, switch it off: Fish",
        "Fry on: Fries",
    ]
    assert len([line for line in told if line.startswith("Never water on burning oil")]) == 1
    assert told.count("Judged: polar compounds, limit 24 %.") == 1
    assert told[-1].endswith("The program advises; the person in charge answers.")


def test_a_limit_of_one_fryer_names_it_and_a_warning_stands_in_its_strip(
    change_before, fry_on, kitchen, reader
):
    limit = replace(fry_on.limits[0].limit, quantity="oil temperature", value=180.0, unit="degC")
    kept, warning = (
        LimitNote(limit=limit, status=status, code=code, set_temp_c=set_temp_c)
        for status, code, set_temp_c in (
            (LimitStatus.KEPT, NoteCode.KEPT, 175.0),
            (LimitStatus.WARNING, NoteCode.TOO_HOT, 185.0),
        )
    )
    hot = replace(fry_on, notes=(kept, warning))
    told = texts(report(answer_of(change_before, hot), kitchen, reader, width=WIDTH))
    too_hot = "Set to 185 °C: oil temperature may not be above 180 °C. Turn it down."
    assert "Fries (F1): Kept: set to 175 °C (oil temperature, limit 180 °C)." in told
    assert told.index(too_hot) < told.index("Limits")


def test_a_fryer_that_is_not_in_use_has_neither_life_nor_picture(fry_on, kitchen, reader):
    told = [line.text for line in strip(replace(fry_on, in_use=False), kitchen, reader, width=80)]
    assert "Out of use" in told
    assert not [line for line in told if "Services left" in line or "Next" in line]
