"""The meters: their screen, the guided check and what it found, and who may do what."""

import html
import re

import pytest
from addresses import BOTTLE
from django.urls import reverse

from kettlewell import clock
from kettlewell.bridge.verdicts import record
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, setting_add
from kettlewell.records.models import Entry

WHICH = {"meter": "hand", "lot": "bottle"}
CHECK = {**WHICH, "reading_1": "18", "reading_2": "18,5", "reading_3": "18", "oil_temp_c": "50"}


def last(kind):
    return Entry.objects.filter(kind=kind).order_by("-seq").first()


def said(response):
    return html.unescape(response.content.decode())


def test_a_meter_says_what_its_last_check_decided_how_probably_and_when_next(cook, checked, page):
    checked("18", ago=5)
    text = page(cook)
    assert "Fit for use" in text
    assert "It reads right (± 0.4 points)." in text
    assert re.search(r"The chance that it is off by more than 1 point is [\d.]+ %\.", text)
    assert re.search(r"Check it by \w+ \d+ \w+\.", text)
    assert "1 check" not in text
    assert "One check, on" in text
    assert 'class="mark mark-chart"' in text


def test_a_meter_never_checked_is_to_be_checked_now(cook, bottle, page):
    text = page(cook)
    assert "Not checked yet" in text
    assert "Check it now. It has never been checked." in text
    assert reverse("meter-check", args=("marrowby-test",)) + "?meter=hand" in text


def test_without_a_reference_oil_no_check_is_offered_and_the_screen_says_what_is_lacking(
    marrowby, cook, owner, page
):
    text = page(cook)
    assert "There is no reference oil yet" in text
    assert "Check this meter" not in text
    assert "Set up the kitchen" in page(owner)
    assert "A check needs a meter, and a bottle of reference oil" in page(cook, "meter-check")


def test_a_reading_is_worth_what_the_meters_doubt_leaves_of_the_limit(cook, checked, page):
    checked("18", ago=5)
    text = page(cook)
    assert re.search(r"Fry up to \d\d(\.\d)? % on this meter", text)
    assert "There are too few readings" in text
    assert "A laboratory sample would not help with this oil at present: you could not use it longer." in text
    behind = text[text.index("The numbers behind it") :]
    assert "the value on the bottle" in behind


def test_a_meter_found_off_is_not_said_to_be_good_up_to_a_reading(cook, checked, page):
    checked("21.5", ago=5)
    text = page(cook)
    assert "Do not rely on it until then." in text
    assert "Fry up to" not in text


def test_a_kitchen_without_meters_says_so(marrowby, hand, cook, page):
    setting_add(marrowby, "meters", "hand", None, hand=hand)
    assert "There is no meter yet." in page(cook)
    assert "There is no meter yet." in page(cook, "compare")


def test_a_check_is_written_with_commas_and_told_at_once(cook, bottle, send):
    answer = send(cook, "meter-check", CHECK, query="?meter=hand")
    assert last("meter_check").payload == {
        "meter": "hand",
        "lot": "bottle",
        "readings": ["18", "18.5", "18"],
        "oil_temp_c": "50",
        "adjusted": False,
    }
    assert "Fit for use" in said(answer)
    assert "It reads 0.2 points too high" in said(answer)
    assert "Check it by" in said(answer)


def test_nothing_typed_is_lost_where_a_reading_cannot_be(cook, bottle, send):
    answer = send(cook, "meter-check", {**CHECK, "reading_2": "185"})
    text = said(answer)
    assert "Nothing was stored yet" in text
    for name, value in (("reading_1", "18"), ("reading_2", "185"), ("oil_temp_c", "50")):
        assert re.search(rf'name="{name}" value="{value}"', text)
    assert last("meter_check") is None


def test_i_dont_know_is_an_answer_to_the_temperature_and_silence_is_none(cook, bottle, send):
    asked = {**WHICH, "reading_1": "18"}
    assert "tick “I don't know”" in said(send(cook, "meter-check", asked))
    both = {**asked, "oil_temp_c": "50", "temp_unknown": "on"}
    assert "Which is it?" in said(send(cook, "meter-check", both))
    assert last("meter_check") is None
    answer = send(cook, "meter-check", {**asked, "temp_unknown": "on"})
    assert "oil_temp_c" not in last("meter_check").payload
    assert "was not noted, so this check says less" in said(answer)


def test_once_the_only_bottle_was_removed_unused_the_screens_say_that_there_is_none(
    marrowby, owner, cook, bottle, page, signed_in
):
    signed_in(owner).post(reverse("thing", args=(marrowby.slug, "reference_lots", "bottle")), {"remove": "y"})
    assert "There is no reference oil yet" in page(cook)
    assert "A check needs a meter, and a bottle of reference oil" in page(cook, "meter-check")


def test_the_bottle_opened_last_is_chosen_beforehand_and_one_removed_is_not_offered(
    marrowby, hand, cook, bottle, page
):
    setting_add(
        marrowby, "reference_lots", "newer", {**BOTTLE, "name": "Newer", "opened": "2026-10-01"}, hand=hand
    )
    text = page(cook, "meter-check")
    assert re.search(r'name="lot" value="newer"[^>]* checked', text)
    assert 'value="bottle"' in text
    setting_add(marrowby, "reference_lots", "bottle", None, hand=hand)
    assert 'value="bottle"' not in page(cook, "meter-check")


def test_what_the_address_says_of_meter_and_bottle_counts_only_where_the_kitchen_has_them(cook, bottle, page):
    text = page(cook, "meter-check", meter="<b>", lot="none-such")
    assert "<b>" not in text
    assert 'name="meter" value="hand"' in text


def test_a_meter_found_off_is_adjusted_and_read_again(cook, bottle, send, page):
    off = send(cook, "meter-check", {**CHECK, "reading_1": "20", "reading_2": "20", "reading_3": "20"})
    text = said(off)
    assert "Adjust it" in text
    assert "Look back at its verdicts" in text
    assert "Read it again after adjusting" in page(cook)
    (again,) = re.findall(r'href="([^"]+)">Read it again after adjusting', text)
    query = "?" + again.partition("?")[2]
    assert "Read it again after adjusting" in page(
        cook, "meter-check", **dict(part.split("=") for part in query[1:].split("&"))
    )
    left = said(send(cook, "meter-check", CHECK, query=query))
    assert last("meter_check").payload["adjusted"] is True
    assert "Fit for use" in left
    assert "Look back at its verdicts" not in left
    found = Entry.objects.filter(kind="meter_check").order_by("seq").first()
    assert "checked again since" in page(cook, "meter-found", found.pk)


def test_a_check_that_is_not_clear_is_repeated(cook, bottle, send):
    unclear = said(send(cook, "meter-check", {**WHICH, "reading_1": "19", "temp_unknown": "on"}))
    assert "Repeat the check" in unclear
    assert 'href="/k/marrowby-test/meters/check/?meter=hand&lot=bottle"' in unclear


def test_a_meter_too_far_off_is_taken_out_by_whoever_answers_for_the_kitchen(
    cook, owner, checked, page, send
):
    check = checked("24")
    assert "Take it out of use" in page(cook, "meter-found", check.pk)
    assert "Whoever answers for the kitchen takes it out of use." in page(cook, "meter-found", check.pk)
    order = reverse("meter-order", args=("marrowby-test",))
    assert order not in page(cook, "meter-found", check.pk)
    assert order in page(owner, "meter-found", check.pk)
    send(owner, "meter-order", {"meter": "hand", "back": "no"})
    assert last("meter_order").payload == {"meter": "hand", "back": False}
    text = page(cook)
    assert "Out of use" in text
    assert order not in text
    assert "Put it back in use" in page(owner)
    send(owner, "meter-order", {"meter": "hand", "back": "yes"})
    assert last("meter_order").payload["back"] is True
    assert "Out of use" not in page(cook)


@pytest.mark.parametrize("data", [{}, {"meter": "hand"}, {"meter": "no-such", "back": "no"}])
def test_an_order_that_says_too_little_is_not_written(owner, bottle, send, data):
    assert "Nothing was stored" in said(send(owner, "meter-order", data))
    assert last("meter_order") is None


@pytest.mark.parametrize("who", ["cook", "inspector"])
def test_a_meter_is_ordered_and_a_comparison_taken_over_by_nobody_else(who, request, bottle, send):
    person = request.getfixturevalue(who)
    for name in ("meter-order", "adopt"):
        assert send(person, name, {"meter": "hand", "back": "no"}).status_code == 403
    assert last("meter_order") is None


def test_an_inspector_reads_and_is_offered_nothing_to_write(inspector, checked, page):
    check = checked("20")
    assert "Check this meter" not in page(inspector)
    assert "<form" not in page(inspector).partition("<main")[2]
    found = page(inspector, "meter-found", check.pk)
    assert "Adjust it" in found
    assert "Read it again" not in found


def test_a_check_that_did_not_happen_says_so(marrowby, cook, checked, page, signed_in):
    check = checked("18")
    told = Told(
        id=uuid7(clock.now()),
        kind="undone",
        happened_at=clock.now(),
        payload={},
        replaces=check.pk,
        private={"reason": b"slip"},
    )
    record(marrowby, told, Hand(person=cook, now=clock.now()))
    assert "This check was corrected or undone." in page(cook, "meter-found", check.pk)
    assert "Not checked yet" in page(cook)


def test_a_check_is_corrected_with_its_readings_there(cook, checked, page, send):
    check = checked("18")
    text = page(cook, "correct", check.pk)
    assert 'name="reading_3" value="18"' in text
    sent = {**CHECK, "why": "number", "reason": "Misread"}
    send(cook, "correct", sent, check.pk)
    assert last("meter_check").payload["readings"] == ["18", "18.5", "18"]
    assert last("meter_check").replaces == check


def test_what_a_check_changed_at_the_fryers_is_told_with_it(cook, checked, write, page):
    write("change", {"fryer": "F1"}, ago=3)
    check = checked("24")
    answers = list(check.answers.values_list("pk", flat=True))
    text = page(cook, "meter-found", check.pk)
    assert answers
    for pk in answers:
        assert reverse("told", args=("marrowby-test", pk)) in text


def test_a_meter_to_be_checked_stands_among_what_is_due_today(cook, bottle, checked, page):
    due = page(cook, "line").partition("Due today")[2]
    assert "Hand meter" in due
    assert "It has never been checked." in due
    checked("18")
    assert "Hand meter" not in page(cook, "line").partition("Due today")[2]


def test_a_meter_out_of_use_is_not_due_and_no_reading_is_offered_without_another(
    cook, owner, bottle, write, send, page
):
    write("change", {"fryer": "F1"}, ago=1)
    assert "Take a reading" in page(cook, "line")
    send(owner, "meter-order", {"meter": "hand", "back": "no"})
    text = page(cook, "line")
    assert "Hand meter" not in text
    assert "Take a reading" not in text
    assert "Smell it and look at it" in text
