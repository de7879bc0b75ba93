"""The look-back after a failed check: which verdicts may not stand, and settling them one by one."""

import html
import re
from datetime import timedelta

import pytest
from addresses import READING
from django.urls import reverse

from kettlewell.records.ledger import setting_add
from kettlewell.records.models import Entry
from kettlewell.records.settings import settings_of

pytestmark = pytest.mark.usefixtures("after_dinner")
SETTLED = {"stands": "not", "oil_done": "drained", "food_done": "served", "note": "Nobody complained."}


@pytest.fixture
def failed(checked, write):
    """A meter found right six days ago and 3 points too low now; between, one reading near the limit."""
    write("change", {"fryer": "F1"}, ago=6.5)
    checked("18", ago=6)
    write("reading", {**READING, "tpc_pct": "10"}, ago=5)
    write("reading", {**READING, "tpc_pct": "18.5"}, ago=1)
    return checked("15")


@pytest.fixture
def doubtful(failed):
    """The verdict on the reading near the limit."""
    return Entry.objects.get(kind="verdict", about__payload__tpc_pct="18.5")


@pytest.fixture
def settled(owner, failed, doubtful, send):
    """How that verdict was settled: it stands."""
    send(owner, "relied", {"stands": "stands"}, failed.pk, doubtful.pk)
    return last()


def parts(text):
    """Return the look-back's doubtful verdicts, and those that are folded away."""
    doubtful, _, folded = text.partition("<main")[2].partition("<details")
    return doubtful, folded


def last():
    return Entry.objects.filter(kind="relied").order_by("-seq").first()


def test_it_says_how_many_verdicts_rest_on_the_meter_and_how_many_may_not_stand(cook, failed, page):
    text = page(cook, "look-back", failed.pk)
    assert re.search(
        r"Since the good check of [^.]+, 2 verdicts used this meter\. One was probably wrong\.", text
    )


def test_each_doubtful_verdict_is_told_anew_on_both_ways_the_meter_may_have_gone(
    cook, failed, doubtful, page
):
    text = page(cook, "look-back", failed.pk)
    row, _ = parts(text)
    assert "You read 18.5 %; the verdict was “Change after this service”." in row
    assert reverse("told", args=("marrowby-test", doubtful.pk)) in row
    drift, step = re.findall(r"<td>([\d.]+) ± [\d.]+ %</td>", row)
    assert 20 < float(step) <= float(drift) < 22.5
    assert "Change before frying" in row
    assert len(re.findall(r"<strong>(?:over |under )?[\d.]+ %</strong>", row)) == 2


def test_where_another_verdict_would_be_told_today_it_says_which_one_is_judged(
    marrowby, hand, cook, failed, page
):
    house = settings_of(marrowby)["limits"]["house"]
    since = Entry.objects.get(kind="reading", payload__tpc_pct="18.5").at - timedelta(minutes=1)
    setting_add(marrowby, "limits", "house", {**house, "value": "17"}, hand=hand, counts_from=since)
    told = "You read 18.5 %; the verdict was “Change after this service”."
    today = (
        "By what is written of that day now it would be: Change before frying; that is what is judged here."
    )
    assert f"{told} {today}" in page(cook, "look-back", failed.pk)


def test_a_limit_set_since_leaves_a_verdict_of_the_past_what_it_was(marrowby, hand, cook, failed, page):
    house = settings_of(marrowby)["limits"]["house"]
    setting_add(marrowby, "limits", "house", {**house, "value": "17"}, hand=hand)
    assert "“Change after this service”. By what is written" not in page(cook, "look-back", failed.pk)


def test_verdicts_that_stand_are_folded_away(cook, failed, page):
    _, folded = parts(page(cook, "look-back", failed.pk))
    assert "You read 10 %;" in folded
    assert "Read 18.5 %." not in folded


def test_a_reading_undone_after_the_check_is_not_looked_back_at(cook, failed, page, undo):
    page(cook, "look-back", failed.pk)
    undo(Entry.objects.get(kind="reading", payload__tpc_pct="18.5"))
    text = page(cook, "look-back", failed.pk)
    assert "You read 10 %;" in text
    assert "Read 18.5 %." not in text


def test_the_screen_of_the_meters_counts_what_waits_there(cook, failed, page):
    text = page(cook)
    assert "Review 1 verdict from when the meter was off<" in text
    assert reverse("look-back", args=("marrowby-test", failed.pk)) in text


def test_a_verdict_is_settled_with_who_and_what(owner, cook, failed, doubtful, page, send):
    address = reverse("relied", args=("marrowby-test", failed.pk, doubtful.pk))
    assert address in page(owner, "look-back", failed.pk)
    answer = html.unescape(
        send(owner, "relied", {**SETTLED, "entry_id": ""}, failed.pk, doubtful.pk).content.decode()
    )
    assert last().payload == {
        "fryer": "F1",
        "verdict": str(doubtful.pk),
        "check": str(failed.pk),
        "stands": "not",
        "oil_done": "drained",
        "food_done": "served",
    }
    row, _ = parts(answer)
    for told in ("was wrong: the meter was off", "Olive Owner", "Nobody complained."):
        assert told in row, told
    assert address not in answer
    assert "Look back: " not in page(cook)
    assert "Look back<" in page(cook)


def test_that_it_does_not_stand_is_taken_with_what_was_done_alone(owner, failed, doubtful, send):
    text = html.unescape(send(owner, "relied", {"stands": "not"}, failed.pk, doubtful.pk).content.decode())
    assert text.count("Say what was done.") >= 2
    assert last() is None
    send(owner, "relied", {"stands": "unknown"}, failed.pk, doubtful.pk)
    assert last().payload["stands"] == "unknown"


def test_a_verdict_is_settled_once(owner, failed, doubtful, settled, page, send):
    assert settled.about == doubtful
    again = send(owner, "relied", SETTLED, failed.pk, doubtful.pk)
    assert "Somebody settled this verdict already." in again.content.decode()
    assert "Somebody settled this verdict already." in page(owner, "relied", failed.pk, doubtful.pk)
    assert Entry.objects.filter(kind="relied").count() == 1


def test_after_a_check_that_was_undone_nothing_is_settled_and_its_look_back_says_so(
    owner, failed, doubtful, page, send, undo
):
    undo(failed)
    text = page(owner, "look-back", failed.pk)
    assert "This check was corrected or undone." in text
    assert "Was it right?" not in text
    assert send(owner, "relied", SETTLED, failed.pk, doubtful.pk).status_code == 404
    assert last() is None


def test_what_was_settled_after_a_check_counts_for_its_correction_and_for_no_other(
    owner, failed, settled, page, write, checked
):
    assert settled.payload["stands"] == "stands"
    other = checked("15.1")
    assert "Was it right?" in parts(page(owner, "look-back", other.pk))[0]
    better = {**failed.payload, "readings": ["15.2"]}
    corrected = write("meter_check", better, replaces=failed.pk, private={"reason": b"Misread."})
    assert "Was it right?" not in parts(page(owner, "look-back", corrected.pk))[0]


@pytest.mark.parametrize("who", ["cook", "inspector"])
def test_others_read_the_look_back_and_settle_nothing(who, request, failed, doubtful, page, send):
    person = request.getfixturevalue(who)
    text = page(person, "look-back", failed.pk)
    assert "Nobody has settled this yet." in text
    assert "Was it right?" not in text
    assert send(person, "relied", SETTLED, failed.pk, doubtful.pk).status_code == 403
    assert last() is None


def test_only_verdicts_that_rest_on_the_meter_are_settled(owner, failed, write, send):
    write("reading", READING)
    later = Entry.objects.filter(kind="verdict").order_by("-seq").first()
    assert send(owner, "relied", SETTLED, failed.pk, later.pk).status_code == 404


def test_a_check_before_which_nothing_was_read_has_nothing_to_look_back_at(cook, checked, page):
    check = checked("15")
    assert "No verdict rests on this meter" in page(cook, "look-back", check.pk)


def test_what_was_done_is_no_answer_where_the_verdict_stands_and_can_be_taken_back(
    owner, failed, doubtful, send
):
    refused = send(owner, "relied", {**SETTLED, "stands": "stands"}, failed.pk, doubtful.pk)
    only = ["Only if the verdict was wrong."]
    assert refused.context["form"].errors == {"oil_done": only, "food_done": only}
    assert 'name="oil_done" value=""' in refused.content.decode()
    assert last() is None
    nothing = {"stands": "stands", "oil_done": "", "food_done": ""}
    send(owner, "relied", nothing, failed.pk, doubtful.pk)
    assert "oil_done" not in last().payload
