"""Taking a reading at a fryer, and what was told."""

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from addresses import second_kitchen
from cast import PASSWORD, SLUG, tablet_in
from django.test import Client
from django.urls import reverse

from kettlewell import clock
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import setting_add
from kettlewell.records.models import Entry, Replay, Role
from kettlewell.records.people import SeatTerms, seat_set
from kettlewell.records.selectors import open_calls, open_changes

SOUND = {"all_so": "yes", "tpc_pct": "12,5", "oil_temp_c": "170", "meter": "hand"}
UNSENT = "What you sent last was not kept"
RECOMPUTED = "Updating"
CONDITIONS = ("no_food", "no_bubbles", "probe_clear", "steady")
LIT = {"all_so": "unknown", "so": ["no_food", "no_bubbles", "probe_clear"]}


@pytest.fixture
def cooks(signed_in, cook):
    """The browser of a cook."""
    return signed_in(cook)


def at(name, *args):
    return reverse(name, args=[SLUG, *args])


def read(browser, **values):
    return browser.post(at("reading-at", "F1"), {**SOUND, **values})


def last(kind):
    return Entry.objects.filter(kind=kind).order_by("-seq").first()


@pytest.mark.parametrize("typed", ["12,5", "12.5", " 12,50 % "])
def test_a_reading_with_comma_or_point_is_stored_and_leads_to_the_verdict(cooks, typed):
    answer = read(cooks, tpc_pct=typed)
    told = last("verdict")
    assert answer.url == at("told", told.pk)
    reading = last("reading")
    assert told.payload["answers"] == str(reading.pk)
    assert reading.payload == {
        "fryer": "F1",
        "tpc_pct": "12.5",
        "oil_temp_c": "170",
        "meter": "hand",
        "no_food": "yes",
        "no_bubbles": "yes",
        "probe_clear": "yes",
        "steady": "yes",
    }


def test_the_told_page_says_verdict_reason_until_when_and_how_to_undo(cooks):
    page = cooks.get(read(cooks).url).content.decode()
    reading = last("reading")
    assert "Fry on" in page
    assert "Valid until" in page
    assert f'href="{at("undo", reading.pk)}">Undo</a>' in page
    assert f'href="{at("line")}"' in page


def test_the_fryers_are_to_be_picked_most_urgent_first(cooks):
    read(cooks, tpc_pct="29")
    page = cooks.get(at("reading")).content.decode()
    assert page.index(at("reading-at", "F1")) < page.index(at("reading-at", "F2"))


def test_the_one_meter_is_chosen_by_itself(cooks):
    page = cooks.get(at("reading-at", "F1")).content.decode()
    assert re.search(r'<input type="hidden" name="meter" value="hand"[^>]*>', page)


def test_a_condition_that_nobody_knows_asks_for_another_reading(cooks):
    read(cooks, **LIT)
    assert last("reading").payload["steady"] == "unknown"
    assert last("verdict").payload["verdict"] == "measure_again"


@pytest.mark.parametrize("lit", [["no_food"], []])
def test_what_was_not_lit_is_asked_about_once(cooks, lit):
    answer = read(cooks, all_so="", so=lit, tpc_pct="14,5")
    assert last("reading") is None
    assert set(answer.context["form"].errors) == {"all_so"}


def test_pictures_that_are_all_lit_say_all_four(cooks):
    read(cooks, all_so="", so=list(CONDITIONS))
    assert {last("reading").payload[name] for name in CONDITIONS} == {"yes"}


def test_what_is_not_lit_is_not_so_where_that_was_said(cooks):
    read(cooks, all_so="no", so=["no_food"])
    told = last("reading").payload
    assert [told[name] for name in CONDITIONS] == ["yes", "no", "no", "no"]


def test_all_four_lit_and_others_not_so_is_asked_again(cooks):
    answer = read(cooks, all_so="no", so=list(CONDITIONS))
    assert last("reading") is None
    assert "all_so" in answer.context["form"].errors


def test_wrong_input_is_shown_again_with_its_values_and_the_error_at_its_field(cooks):
    answer = read(cooks, tpc_pct="abc", oil_temp_c="171,5", note="new meter")
    page = answer.content.decode()
    assert answer.status_code == 200
    assert last("reading") is None
    assert 'value="abc"' in page
    assert 'value="171,5"' in page
    assert 'value="new meter"' in page
    assert list(answer.context["form"].errors) == ["tpc_pct"]


def test_a_reading_sent_twice_is_written_once_and_answered_alike(cooks):
    sent = {"entry_id": str(uuid7(clock.now())), "phone_now": clock.now().isoformat()}
    first, second = read(cooks, **sent), read(cooks, **sent)
    assert first.url == second.url
    assert Entry.objects.filter(kind="reading").count() == 1


def test_the_error_of_the_phones_clock_is_written_down(cooks):
    read(cooks, phone_now=(clock.now() - timedelta(hours=2)).isoformat())
    assert last("reading").clock_error_s == pytest.approx(-7200, abs=60)


@pytest.mark.parametrize("days", [-365, -2, 2, 365])
def test_where_phone_and_server_lie_days_apart_nothing_is_written_and_nothing_typed_is_lost(cooks, days):
    """A server without a clock battery wakes in another year: a reading filed there would be missed."""
    answer = read(cooks, phone_now=(clock.now() + timedelta(days=days)).isoformat())
    assert "set the clock that is wrong" in answer.content.decode()
    assert 'value="12' in answer.content.decode()
    assert last("reading") is None


def test_a_clock_that_went_back_is_said_on_every_screen(cooks, monkeypatch):
    said = "bear times that have not come"
    read(cooks)
    assert said not in cooks.get(reverse("line", args=[SLUG])).content.decode()
    then = clock.now() - timedelta(days=400)
    monkeypatch.setattr(clock, "now", lambda: then)
    for screen in ("line", "reading", "meters", "book"):
        assert said in cooks.get(reverse(screen, args=[SLUG])).content.decode(), screen


@pytest.mark.parametrize("damaged", [{"entry_id": "7"}, {"phone_now": "soon"}, {"phone_now": "2026-01-01"}])
def test_a_damaged_form_is_refused_in_a_sentence(cooks, damaged):
    answer = read(cooks, **damaged)
    assert answer.status_code == 200
    assert "Open " in str(answer.context["form"].non_field_errors())
    assert last("reading") is None


def test_a_time_that_has_not_come_is_refused_at_its_field(cooks):
    answer = read(cooks, at="2999-01-01T10:00")
    assert "at" in answer.context["form"].errors


def test_a_note_is_kept_apart(cooks):
    read(cooks, note="Smells of fish")
    assert "note" in last("reading").private
    assert "note" not in last("reading").payload


def test_without_a_reading_the_standing_verdict_and_the_senses_are_offered(cooks):
    read(cooks)
    page = cooks.get(at("reading-at", "F1") + "?without").content.decode()
    assert "Fry on" in page
    assert at("act", "F1", "senses") in page
    assert at("act", "F1", "call") in page


def test_a_forgotten_tap_on_the_conditions_is_one_error_and_not_four(cooks):
    answer = read(cooks, all_so="", tpc_pct="14,5")
    assert list(answer.context["form"].errors) == ["all_so"]


def test_the_chef_is_called_with_one_tap_and_answers_once(cooks, marrowby):
    assert at("act", "F1", "call") in cooks.get(at("reading-at", "F1")).content.decode()
    assert cooks.post(at("act", "F1", "call")).url == at("line")
    call = open_calls(marrowby)[0]
    assert cooks.get(at("answer-call", call.pk)).status_code == 200
    for _ in range(2):
        assert cooks.post(at("answer-call", call.pk), {"note": "Changed"}).url == at("line")
    assert open_calls(marrowby) == []
    assert Entry.objects.filter(kind="answer").count() == 1


def test_a_change_by_hand_says_switch_it_off_when_it_may_be_drained_and_who_takes_over(
    cooks, owner, signed_in
):
    cooks.post(at("reading-at", "F2"), SOUND)
    page = cooks.get(read(cooks, tpc_pct="29").url).content.decode()
    if last("verdict").payload["verdict"] == "measure_again":
        page = cooks.get(read(cooks, tpc_pct="29").url).content.decode()
    assert last("verdict").payload["verdict"] == "change_before"
    line, fryer = (cooks.get(address).content.decode() for address in (at("line"), at("fryer", "F1")))
    for said in (page, line, fryer):
        verdict, caution = said.index(", switch it off"), said.index("Drained only at 40 °C or below")
        assert verdict < caution < said.index("Next: switch it off now")
        assert "it may be cool enough to drain from about" in said
        assert "You are not marked as trained to drain oil: call Olive Owner." in said
    assert "not marked as trained" not in signed_in(owner).get(at("line")).content.decode()
    assert "the work can go to Fish" in page
    assert "Only someone trained to drain does it" in page
    assert f'action="{at("settle", last("verdict").pk)}"' in page


def done(drainer, **said):
    """Return what the form sends that asks what was done: with an id for it, and one for a fresh fill."""
    ids = {name: str(uuid7(clock.now())) for name in ("entry_id", "fill_id")}
    return {"drained_by": str(drainer.pk), **ids, **said}


def test_what_was_done_is_written_by_a_trained_drainer_and_offers_the_change(cooks, owner, marrowby):
    spoil(cooks)
    verdict = open_changes(marrowby)["F1"]
    sent = done(owner, oil_done="drained", food_done="held")
    for _ in range(2):
        assert cooks.post(at("settle", verdict.pk), sent).url in (
            at("act", "F1", "change"),
            at("entry", sent["entry_id"]),
        )
    assert open_changes(marrowby) == {}
    assert last("settled").payload["verdict"] == str(verdict.pk)
    assert Entry.objects.filter(kind="settled").count() == 1


def test_drained_and_filled_again_is_told_once_and_on_one_page(cooks, owner, marrowby):
    spoil(cooks)
    verdict = open_changes(marrowby)["F1"]
    sent = done(owner, oil_done="refilled", food_done="none")
    told = cooks.post(at("settle", verdict.pk), sent)
    assert told.url == at("told", last("verdict").pk)
    assert last("verdict").payload["verdict"] == "fry_on"
    assert last("settled").payload["oil_done"] == "drained"
    assert last("change").payload == {"fryer": "F1", "oil": "rapeseed", "drained_by": str(owner.pk)}
    assert last("change").at == last("settled").at
    assert open_changes(marrowby) == {}
    cooks.post(at("settle", verdict.pk), sent)
    assert Entry.objects.filter(kind__in=["settled", "change"], fryer="F1").count() == 2


def test_why_the_oil_went_so_far_is_asked_with_what_was_done_and_may_be_left_out(cooks, marrowby):
    spoil(cooks)
    address = at("settle", open_changes(marrowby)["F1"].pk)
    assert "Crumbs not skimmed or filtered" in cooks.get(address).content.decode()
    said = {"oil_done": "kept", "food_done": "none", "cause": ["long", "crumbs"]}
    assert cooks.post(address, said).status_code == 302
    assert last("settled").payload["cause"] == ["long", "crumbs"]
    page = cooks.get(at("entry", last("settled").pk)).content.decode()
    assert "Cause: Fried too long on it, Crumbs not skimmed or filtered." in page


def test_of_a_fresh_fill_that_cannot_be_nothing_is_written(cooks, marrowby):
    spoil(cooks)
    verdict = open_changes(marrowby)["F1"]
    answer = cooks.post(at("settle", verdict.pk), {"oil_done": "refilled", "food_done": "none"})
    assert list(answer.context["form"].errors) == ["drained_by"]
    assert (last("settled"), last("change")) == (None, None)


def test_the_chef_may_decide_otherwise_and_says_why(cooks, marrowby):
    spoil(cooks)
    address = at("settle", open_changes(marrowby)["F1"].pk)
    said = {"oil_done": "chef_decided", "food_done": "none"}
    assert list(cooks.post(address, said).context["form"].errors) == ["note"]
    assert cooks.post(address, {**said, "note": "Smoke came from the grill."}).status_code == 302
    assert open_changes(marrowby) == {}


def test_nobody_untrained_is_offered_or_taken_as_drainer(cooks, cook, owner, marrowby):
    spoil(cooks)
    address = at("settle", open_changes(marrowby)["F1"].pk)
    page = cooks.get(address).content.decode()
    assert str(owner.pk) in page
    assert str(cook.pk) not in page
    answer = cooks.post(address, {"oil_done": "drained", "food_done": "none", "drained_by": str(cook.pk)})
    assert list(answer.context["form"].errors) == ["drained_by"]
    assert last("settled") is None


def test_drained_oil_needs_a_drainer_or_a_word_about_who_it_was(cooks, marrowby):
    spoil(cooks)
    address = at("settle", open_changes(marrowby)["F1"].pk)
    said = {"oil_done": "drained", "food_done": "none"}
    assert list(cooks.post(address, said).context["form"].errors) == ["drained_by"]
    assert cooks.post(address, {**said, "note": "The firm that fetches it"}).status_code == 302


def test_a_seat_that_has_ended_drains_no_more(cooks, area_manager, marrowby, hand):
    spoil(cooks)
    address = at("settle", open_changes(marrowby)["F1"].pk)
    trained = SeatTerms(role=Role.AREA_MANAGER, trained_to_drain=True)
    seat_set(marrowby, area_manager, trained, hand=hand)
    assert str(area_manager.pk) in cooks.get(address).content.decode()
    seat_set(marrowby, area_manager, replace(trained, ends_on=date(2020, 1, 1)), hand=hand)
    assert str(area_manager.pk) not in cooks.get(address).content.decode()


def test_an_older_verdict_says_that_it_was_told_then(cooks):
    older = read(cooks).url
    spoil(cooks)
    assert "This was the verdict then." in cooks.get(older).content.decode()


@pytest.mark.parametrize("name", ["reading", "reading-at", "acts", "act", "settle", "answer-call"])
def test_an_inspector_sees_what_was_told_and_writes_nothing(signed_in, cooks, inspector, marrowby, name):
    spoil(cooks)
    cooks.post(at("act", "F1", "call"))
    told = last("verdict").pk
    args = {
        "reading": (),
        "act": ("F1", "skim"),
        "settle": (told,),
        "answer-call": (last("call").pk,),
    }.get(name, ("F1",))
    browser = signed_in(inspector)
    assert browser.get(at(name, *args)).status_code == 403
    page = browser.get(at("told", told))
    assert page.status_code == 200
    assert "Say what was done" not in page.content.decode()


def spoil(browser):
    """Write that the oil of F1 is spoiled, and return the verdict."""
    browser.post(at("act", "F1", "senses"), {"spoiled": "yes", "signs": ["smell"]})
    return last("verdict").pk


def test_a_verdict_is_marked_wherever_it_stands_while_a_replay_runs(cooks, cook, marrowby, hand):
    """At the fryer, on its own page, in the day book and in the list of kitchens, until that is done."""
    second = second_kitchen(marrowby, hand.person, hand.now)
    seat_set(second, cook, SeatTerms(role=Role.COOK), hand=hand)
    told = read(cooks).url
    pages = [
        told,
        at("entry", last("verdict").pk),
        at("entry", last("reading").pk),
        at("settle", spoil(cooks)),
        at("reading-at", "F1") + "?without",
        reverse("kitchens"),
    ]
    assert [page for page in pages if RECOMPUTED in cooks.get(page).content.decode()] == []
    now = clock.now()
    Replay.objects.create(kitchen=marrowby, since=now, taken_at=now)
    assert [page for page in pages if RECOMPUTED not in cooks.get(page).content.decode()] == []


def test_a_verdict_that_did_not_know_of_something_late_says_so_for_good(cooks, marrowby):
    now = clock.now()
    replay = Replay.objects.create(kitchen=marrowby, since=now, taken_at=now)
    read(cooks)
    replay.delete()
    page = cooks.get(at("entry", last("verdict").pk)).content.decode()
    assert RECOMPUTED not in page
    assert "It did not know yet of something that was written down late." in page


def signed_in_anew(browser, answer):
    """Sign in at the page that an answer leads to, and return the page one comes to."""
    assert answer.url.startswith(reverse("sign-in"))
    sent = {"username": "cook@marrowby.test", "password": PASSWORD}
    return browser.post(answer.url, sent, follow=True)


@pytest.mark.parametrize("name", ["reading-at", "acts"])
def test_what_is_sent_after_the_session_ended_is_said_to_be_lost_where_it_came_from(cook, name):
    browser, came_from = Client(), at(name, "F1")
    sent = {**SOUND, "care": "skim"}
    kind = "reading" if name == "reading-at" else "care"
    address = came_from if kind == "reading" else at("act", "F1", kind)
    answer = browser.post(address, sent, headers={"referer": f"http://testserver{came_from}"})
    page = signed_in_anew(browser, answer)
    assert last(kind) is None
    assert page.redirect_chain[-1][0].partition("?")[0] == came_from
    assert UNSENT in page.content.decode()
    assert read(browser).status_code == 302
    assert UNSENT not in browser.get(came_from).content.decode()


@pytest.mark.parametrize("referer", ["", "https://elsewhere.test/k/marrowby-test/"])
def test_who_comes_from_nowhere_or_elsewhere_is_led_to_the_line(owner, cook, marrowby, referer):
    device = tablet_in(marrowby, "By the fryers")
    for address in (at("tablet-retire", device.pk), at("settle", device.pk)):
        answer = Client().post(address, headers={"referer": referer})
        assert signed_in_anew(Client(), answer).redirect_chain[-1][0].partition("?")[0] == at("line")


def test_a_part_asked_for_after_the_session_ended_leads_the_whole_page_to_the_sign_in(cook):
    headers = {"hx-request": "true", "hx-current-url": f"http://testserver{at('fryer', 'F1')}"}
    answer = Client().get(at("what-if", "F1"), headers=headers)
    assert answer.status_code == 200
    assert answer.content == b""
    assert answer["HX-Redirect"] == f"{reverse('sign-in')}?next={at('fryer', 'F1')}"


def test_what_was_done_is_asked_only_after_a_verdict_to_change(cooks):
    read(cooks)
    assert last("verdict").payload["verdict"] == "fry_on"
    address = at("settle", last("verdict").pk)
    assert cooks.get(address).status_code == 404
    assert cooks.post(address, {"oil_done": "kept", "food_done": "none"}).status_code == 404
    assert last("settled") is None


def test_every_error_in_the_summary_leads_to_its_field(cooks):
    page = read(cooks, all_so="", tpc_pct="abc", oil_temp_c="hot").content.decode()
    summary = page[page.index('role="alert"') :]
    links = re.findall(r'<a href="#(\w+)"', summary[: summary.index("</ul>")])
    assert links == ["id_all_so", "id_oil_temp_c", "id_tpc_pct"]
    assert [link for link in links if f' id="{link}"' not in page] == []


def test_after_a_note_of_the_senses_a_reading_is_asked_for_only_where_there_is_a_meter(cooks, marrowby, hand):
    def sniffed():
        answer = cooks.post(at("act", "F1", "senses"), {"spoiled": "no"})
        return cooks.get(answer.url).content.decode()

    assert at("reading-at", "F1") in sniffed()
    setting_add(marrowby, "meters", "hand", None, hand=hand)
    page = sniffed()
    assert at("reading-at", "F1") not in page
    assert at("act", "F1", "senses") in page
