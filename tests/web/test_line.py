"""The line, the page of a fryer, and what-if."""

import html
import re
from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from cast import SETTINGS
from django.conf import settings
from django.urls import reverse

from kettlewell import clock
from kettlewell.bridge.standing import standing
from kettlewell.bridge.verdicts import record
from kettlewell.core.outlook.values import VerdictKey
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, setting_add
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.people import device_add
from kettlewell.telling import reader
from kettlewell.telling.verdicts import picture_in_words
from kettlewell.web.line import strips
from kettlewell.web.line.facts import why_not_now

SOUND = {"no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}
SPOILED = {"fryer": "F2", "spoiled": True, "signs": ["smell"]}
LARGEST_PAGE = 150_000


@pytest.fixture
def write(marrowby, cook):
    """Return a way to write an entry ``ago`` hours ago, by a cook."""

    def written(kind, payload, *, ago=0.0, note=""):
        now = clock.now()
        told = Told(
            id=uuid7(now),
            kind=kind,
            happened_at=now - timedelta(hours=ago),
            payload=payload,
            private={"note": note.encode()} if note else {},
        )
        return record(marrowby, told, Hand(person=cook, now=now))

    return written


@pytest.fixture
def filled(write):
    """Both fryers filled three days ago and read since."""
    for fryer in ("F1", "F2"):
        write("change", {"fryer": fryer}, ago=72)
        write("reading", {"fryer": fryer, "tpc_pct": "9", "oil_temp_c": "170", **SOUND}, ago=20)


@pytest.fixture
def page(marrowby, signed_in):
    """Return a way to read a page as someone."""

    def text(person, name="line", *args, language="en-gb", **query):
        response = signed_in(person).get(
            reverse(name, args=(marrowby.slug, *args)), query, headers={"accept-language": language}
        )
        assert response.status_code == 200
        assert len(response.content) < LARGEST_PAGE
        return html.unescape(response.content.decode())

    return text


def test_most_urgent_fryer_stands_first(cook, filled, write, page):
    assert page(cook).count('<li class="strip"') == 2
    write("senses", SPOILED)
    strips = page(cook).split('<li class="strip"')[1:]
    assert "Fish (F2)" in strips[0]
    assert 'data-verdict="change_before"' in strips[0]
    assert "Fries (F1)" in strips[1]


def test_sentence_says_what_the_life_line_shows(marrowby, cook, filled, page):
    text = page(cook)
    now = clock.now()
    words = reader("Europe/London", now, locale="en-gb")
    for assessment in standing(Kitchen.objects.get(pk=marrowby.pk), now).assessments:
        said = picture_in_words(assessment, words)
        assert re.search(rf"<desc[^>]*>{re.escape(said)}</desc>", text)
        assert f"<p>{said}</p>" in text


def test_reason_stands_with_every_verdict_but_fry_on(cook, filled, write, page):
    write("senses", SPOILED)
    assert "It smells or looks spoiled" in page(cook)


def test_at_a_glance_spoiled_oil_is_told_as_spoiled_and_not_by_its_number(cook, filled, write, page):
    write("senses", SPOILED)
    [figures] = re.findall(r'class="figures"><span>([^<]*)</span>', page(cook).partition("Fries (F1)")[0])
    assert figures == "smells or looks spoiled"


def test_open_change_offers_to_say_what_was_done(marrowby, cook, filled, write, page):
    verdict = write("senses", SPOILED).verdict
    assert reverse("settle", args=(marrowby.slug, verdict.pk)) in page(cook)


def test_open_call_stands_on_top_until_it_is_answered(marrowby, cook, filled, write, page):
    call = write("call", {"fryer": "F1"}, note="It foams").entry
    answering = page(cook, "answer-call", call.pk)
    assert "It foams" in answering
    assert "Cora Cook" in answering
    text = page(cook)
    assert text.index("Chef called: Fries") < text.index('<li class="strip"')
    assert reverse("answer-call", args=(marrowby.slug, call.pk)) in text
    write("answer", {"fryer": "F1", "call": str(call.pk)})
    assert "Chef called" not in page(cook)


def test_question_leads_to_the_entry_it_asks_about(marrowby, cook, filled, write, page):
    doubted = {"fryer": "F1", "tpc_pct": "21", "oil_temp_c": "170", **SOUND, "steady": "no"}
    entry = write("reading", doubted).entry
    text = page(cook)
    assert "Please check" in text
    assert reverse("entry", args=(marrowby.slug, entry.pk)) in text


def test_a_thermostat_that_is_off_is_asked_about_on_the_line_and_at_its_fryer(marrowby, cook, write, page):
    noon = clock.now().astimezone(ZoneInfo("Europe/London")).replace(hour=12, minute=30)
    for day in (1, 2, 3, 4):
        ago = (clock.now() - noon) / timedelta(hours=1) + 24 * day
        write("reading", {"fryer": "F1", "tpc_pct": "9", "oil_temp_c": "190", **SOUND}, ago=ago)
    for text in (page(cook), page(cook, "fryer", "F1")):
        assert "hotter than the fryer is set to" in text
    assert "hotter than" not in page(cook, "fryer", "F2")


def test_kitchen_without_an_answer_says_why_and_where_to_mend_it(marrowby, owner, page):
    for fryer in ("F1", "F2"):
        setting_add(marrowby, "fryers", fryer, None, hand=Hand(person=owner, now=clock.now()))
    text = page(owner)
    assert "There is no fryer yet" in text
    assert reverse("kitchen", args=(marrowby.slug,)) in text


def test_inspector_sees_the_line_and_no_acts(inspector, cook, filled, write, page):
    write("senses", SPOILED)
    write("call", {"fryer": "F1"})
    for act in ("Take a reading", "Say what was done", "/answer/"):
        assert act in page(cook)
        assert act not in page(inspector)
    assert "Call the chef" not in page(inspector, "fryer", "F1")


def test_fryer_out_of_use_says_so_and_asks_for_no_reading(cook, filled, write, page):
    write("order", {"fryer": "F1", "back": False})
    strip = next(one for one in page(cook).split('<li class="strip"') if "Fries (F1)" in one)
    assert "Out of use" in strip
    assert "Take a reading" not in strip


def test_fryer_page_tells_the_wall_card_and_the_last_entries(cook, filled, page):
    text = page(cook, "fryer", "F1")
    assert "For Hand meter (hand), not checked yet." in text
    assert "Reading below" in text
    assert "Fries (F1) read: 9 %, the oil at 170 °C." in text
    assert text.count('role="img"') == 2


def test_past_fills_are_a_page_of_their_own(cook, filled, write, page):
    assert "/fryers/F1/fills/" in page(cook, "fryer", "F1")
    assert "No fill of this fryer has ended" in page(cook, "fills", "F1")
    write("change", {"fryer": "F1"}, ago=1)
    assert page(cook, "fills", "F1").count("<tr>") == 2


def test_kitchen_without_a_meter_has_its_charts_and_asks_for_the_senses(marrowby, owner, cook, filled, page):
    """Also of readings taken while there was a meter."""
    setting_add(marrowby, "meters", "hand", None, hand=Hand(person=owner, now=clock.now()))
    text = page(cook, "fryer", "F1")
    assert text.count('role="img"') == 2
    assert "mark-reading" in text
    assert "Take a reading" not in text
    assert "Smell it and look at it" in text


def test_fryer_that_was_never_read_asks_for_its_first_reading(cook, write, page):
    text = page(cook)
    assert text.count("Take the first reading") == 2
    assert re.search(r"Next: (take the first reading before |take a reading now)", text)
    assert not re.search(r"(Measure|read) again", text)
    assert "Take the first reading" in page(cook, "reading")
    for fryer in ("F1", "F2"):
        write("reading", {"fryer": fryer, "tpc_pct": "9", "oil_temp_c": "170", **SOUND, "steady": "no"})
    assert page(cook).count("Measure again") == 2


def test_level_that_topping_up_leads_to_is_told_only_below_the_limit(marrowby, owner, cook, filled, page):
    assert "Would level off" not in page(cook, "fryer", "F1")
    high = {**SETTINGS["limits", "house"], "value": "80"}
    setting_add(marrowby, "limits", "house", high, hand=Hand(person=owner, now=clock.now()))
    assert "Would level off" in page(cook, "fryer", "F1")


def test_within_a_verdict_the_fryer_whose_next_act_is_due_first_stands_first(fry_on):
    later = replace(fry_on, fryer="F1", read_by=fry_on.read_by + timedelta(days=1))
    sooner = replace(fry_on, fryer="F2")
    urgent = replace(later, fryer="F3", verdict=replace(fry_on.verdict, key=VerdictKey.MEASURE_AGAIN))
    idle = replace(sooner, fryer="F4", in_use=False)
    assert [one.fryer for one in strips.in_order([urgent, later, sooner, idle])] == ["F3", "F2", "F1", "F4"]


def test_fryer_that_is_not_there_is_not_found(marrowby, cook, signed_in):
    for name in ("fryer", "what-if"):
        assert signed_in(cook).get(reverse(name, args=(marrowby.slug, "F9"))).status_code == 404


def test_fryer_without_an_answer_leads_to_the_line_that_says_why(marrowby, owner, signed_in):
    for service in ("lunch", "dinner"):
        setting_add(marrowby, "services", service, None, hand=Hand(person=owner, now=clock.now()))
    response = signed_in(owner).get(reverse("fryer", args=(marrowby.slug, "F1")), follow=True)
    assert response.redirect_chain[0][0] == reverse("line", args=(marrowby.slug,))
    assert "no services yet" in response.content.decode()


def test_what_if_shows_another_forecast_and_stores_nothing(cook, filled, page):
    before = Entry.objects.count()
    text = page(cook, "what-if", "F1", load_kg="55,5", set_temp_c="190")
    supposed, now = text.split("As it is now")
    after = r"After the next 3 services about [\d.; ]+"
    assert re.findall(after, supposed)[-1] != re.findall(after, now)[-1]
    assert Entry.objects.count() == before


@pytest.mark.parametrize(("off_pct", "said"), [(-0.6, "reads 0.6 points low"), (1.0, "reads 1 point high")])
def test_a_fryer_says_where_its_meter_is_why_now_is_not_the_reading(fry_on, reader, off_pct, said):
    assert said in why_not_now(replace(fry_on, reads_off_pct=off_pct), reader)
    assert "15.3 % now" in why_not_now(replace(fry_on, reads_off_pct=off_pct), reader)
    assert why_not_now(fry_on, reader) == ""


def test_what_if_starts_from_today_and_unchanged_it_shows_today(marrowby, cook, filled, page):
    fields = dict(re.findall(r'name="(\w+)" value="([\d.]+)"', page(cook, "fryer", "F1")))
    assert fields.keys() >= {"set_temp_c", "load_kg", "top_up_kg"}
    supposed, now = page(cook, "what-if", "F1", **fields).split("As it is now")
    after = r"After the next 3 services about [\d.; ]+"
    assert re.findall(after, supposed)[-1] == re.findall(after, now)[-1]


def test_what_if_says_at_the_field_which_amount_cannot_be(cook, filled, page):
    text = page(cook, "what-if", "F1", top_up_kg="50", load_kg="900")
    assert "As it is now" not in text
    assert text.count('aria-invalid="true"') == 2


def test_what_if_swaps_only_the_forecast_for_a_page_that_asks(marrowby, cook, filled, signed_in):
    address = reverse("what-if", args=(marrowby.slug, "F1"))
    response = signed_in(cook).get(address, {"load_kg": "30"}, headers={"HX-Request": "true"})
    assert "<html" not in response.content.decode()
    assert "Supposed" in response.content.decode()


def test_what_if_of_an_impossible_temperature_says_so(cook, filled, page):
    text = page(cook, "what-if", "F1", set_temp_c="500")
    assert "Supposed" not in text
    assert 'role="alert"' in text


def test_german_reader_sees_german_numbers(cook, filled, write, page):
    write("reading", {"fryer": "F1", "tpc_pct": "12.5", "oil_temp_c": "170", **SOUND})
    assert re.search(r"\b12,5 %", page(cook, "fryer", "F1", language="de"))


def test_a_tablet_that_looks_again_by_itself_is_not_at_work(marrowby, owner, hand, on_tablet):
    """Its quarter of an hour runs on, so that who walked away is signed out."""
    tablet = on_tablet(device_add(marrowby, "By the fryers", hand=hand))
    tablet.sign(owner)
    line = reverse("line", args=(marrowby.slug,))
    tablet.get(line)
    prolonged = [
        settings.SESSION_COOKIE_NAME in tablet.get(line, headers=headers).cookies
        for headers in ({}, {"HX-Trigger": "line"})
    ]
    assert prolonged == [True, False]


def test_what_is_due_now_has_the_time_of_now(cook, filled, write, page, monkeypatch):
    """Verdicts are told of the next full minute; nothing on the line runs ahead of the clock."""
    write("senses", SPOILED)
    monkeypatch.setenv("KETTLEWELL_NOW", "2026-11-16T12:30:20+00:00")
    due = re.findall(r"<time>(\d\d:\d\d)</time>", page(cook))
    assert "12:30" in due
    assert "12:31" not in due
