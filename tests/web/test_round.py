"""The round: the readings of all fryers on one page, what follows a service on another."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from cast import SLUG, tablet_in
from django.core.exceptions import ValidationError
from django.urls import reverse
from forms import Page

from kettlewell import clock
from kettlewell.bridge.verdicts import RefusedPartError, record, record_together
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, entry_add, setting_add
from kettlewell.records.models import Entry
from kettlewell.web.reading.cautions import ONE_TAP

BY_SCRIPT = {"HX-Request": "true"}
SOUND = {"all_so": "yes", "tpc_pct": "12,5", "oil_temp_c": "170", "meter": "hand"}
ACTS = ("top_up", "care", "load")
MARK = {"top_up-unit": "mark"}
SKIMMED = {"skim-care": "skim"}
KEPT_FROM_DAY_TO_DAY = timedelta(days=2)
CHIPS = {"load0-product": "fries", "load0-unit": "portion"}


@pytest.fixture
def cooks(signed_in, cook):
    """The browser of a cook."""
    return signed_in(cook)


def at(name, *args):
    return reverse(name, args=[SLUG, *args])


def read(browser, fryer="F1", **values):
    """Send the row of a reading as the script does."""
    return browser.post(at("round-reading", fryer), {**SOUND, **values}, headers=BY_SCRIPT)


def done(browser, told, fryer="F1", *, by_script=True):
    """Send what was done at a fryer after a service."""
    return browser.post(at("round-acts", fryer), told, headers=BY_SCRIPT if by_script else None)


def text(answer):
    assert answer.status_code == 200
    return answer.content.decode()


def form_of(page, address):
    """Return what the form of a page to an address holds, as it was shown."""
    (form,) = [each for each in Page(page).forms if each.attributes.get("action") == address]
    return {attributes["name"]: attributes.get("value", "") for _tag, attributes in form.fields}


def entries(*kinds):
    return list(Entry.objects.filter(kind__in=kinds).order_by("seq"))


def payloads(*kinds):
    return [{"kind": entry.kind, **entry.payload} for entry in entries(*kinds)]


# ---- the readings


def test_all_fryers_stand_on_one_page_in_the_kitchens_order_and_who_is_not_read_is_named(cooks):
    page = text(cooks.get(at("round-readings")))
    assert page.index('id="row0"') < page.index('id="row1"')
    assert "Still to read: Fries (F1), Fish (F2)" in page
    read(cooks)
    assert "Still to read: Fish (F2)" in text(cooks.get(at("round-readings")))
    read(cooks, "F2")
    assert "All fryers have been read today." in text(cooks.get(at("round-readings")))


def test_a_row_is_saved_by_itself_and_answers_with_the_verdict_beside_it(cooks, cook):
    row = text(read(cooks))
    assert "<html" not in row
    assert row.count("data-row") == 1
    assert 'data-verdict="fry_on"' in row
    assert re.search(r"12\.5&nbsp;%.*170&nbsp;°C.*Cora Cook", row, re.DOTALL)
    assert '<p id="left" class="soft" role="status" hx-swap-oob="true">' in row
    (reading,) = entries("reading")
    assert reading.payload == {
        "fryer": "F1",
        "tpc_pct": "12.5",
        "oil_temp_c": "170",
        "meter": "hand",
        **dict.fromkeys(("no_food", "no_bubbles", "probe_clear", "steady"), "yes"),
    }
    assert [verdict.about for verdict in entries("verdict")] == [reading]
    assert reading.person == cook


def test_a_row_says_what_the_single_reading_says_of_the_same_number(cooks):
    """The same form, the same door: what one refuses or asks about, so does the other."""
    for wrong in (
        {"tpc_pct": "125"},
        {"tpc_pct": "65"},
        {"tpc_pct": "abc"},
        {"all_so": "no", "so": ["no_food", "no_bubbles", "probe_clear", "steady"]},
        {"all_so": ""},
    ):
        single = cooks.post(at("reading-at", "F1"), {**SOUND, **wrong}).context["form"]
        in_round = read(cooks, **wrong).context["row"].form
        assert single.errors == in_round.errors != {}
    assert entries("reading") == []


def test_a_refused_number_stays_in_its_row_with_what_is_wrong(cooks):
    row = text(read(cooks, tpc_pct="125", note="new meter"))
    assert 'value="125"' in row
    assert 'value="170"' in row
    assert 'value="new meter"' in row
    assert "At most 100." in row
    assert 'role="alert"' in row
    assert entries("reading") == []


def test_a_number_that_looks_wrong_is_asked_about_in_its_row_and_taken_on_yes(cooks):
    asked = text(read(cooks, tpc_pct="65"))
    assert "Is the figure right?" in asked
    assert '<button name="sure" value="on">' in asked
    assert entries("reading") == []
    text(read(cooks, tpc_pct="65", sure="on"))
    assert [entry.payload["tpc_pct"] for entry in entries("reading")] == ["65"]


def test_the_four_conditions_that_nobody_answered_are_asked_with_one_tap_for_all(cooks):
    asked = text(read(cooks, all_so=""))
    assert "Are all four OK? Tap one." in asked
    assert '<button name="all_so" value="yes">' in asked
    assert '<details class="aside" open>' in asked
    assert entries("reading") == []


def test_a_condition_that_is_not_so_is_told_in_its_row(cooks):
    lit = {"all_so": "no", "so": ["no_food", "probe_clear", "steady"]}
    assert 'data-verdict="measure_again"' in text(read(cooks, **lit))
    assert entries("reading")[0].payload["no_bubbles"] == "no"


def test_a_row_sent_twice_is_written_once_and_answered_alike(cooks):
    sent = {"entry_id": str(uuid7(clock.now())), "phone_now": clock.now().isoformat()}
    first, second = text(read(cooks, **sent)), text(read(cooks, **sent))
    assert len(entries("reading")) == len(entries("verdict")) == 1
    assert first.count("12.5&nbsp;%") == second.count("12.5&nbsp;%") == 1


def test_without_the_script_a_row_leads_back_to_the_round_at_that_row(cooks):
    answer = cooks.post(at("round-reading", "F2"), SOUND)
    assert answer.url == f"{at('round-readings')}#row1"
    assert "Still to read: Fries (F1)" in text(cooks.get(answer.url))


def test_without_the_script_a_refused_row_stands_in_the_whole_page_with_its_numbers(cooks):
    page = text(cooks.post(at("round-reading", "F2"), {**SOUND, "tpc_pct": "125"}))
    assert "<html" in page
    assert page.count('value="125"') == 1
    assert form_of(page, at("round-reading", "F1"))["tpc_pct"] == ""


def test_a_reading_of_earlier_days_leads_to_where_late_entries_are_told(cooks):
    days_ago = f"{clock.now() - KEPT_FROM_DAY_TO_DAY:%Y-%m-%dT%H:%M}"
    assert read(cooks, at=days_ago).headers["HX-Redirect"] == at("late")
    assert cooks.post(at("round-reading", "F2"), {**SOUND, "at": days_ago}).url == at("late")


def test_of_several_meters_the_one_that_somebody_used_last_is_chosen_for_them(
    cooks, marrowby, hand, signed_in
):
    setting_add(marrowby, "meters", "spare", {"name": "Spare meter"}, hand=hand)
    chosen = re.compile(r'name="meter" value="(\w+)"[^>]* checked')
    assert chosen.findall(text(cooks.get(at("round-readings")))) == []
    assert "This field is required" in text(read(cooks, meter=""))
    read(cooks, meter="spare")
    assert set(chosen.findall(text(cooks.get(at("round-readings"))))) == {"spare"}
    read(signed_in(hand.person), "F2", meter="hand")
    assert set(chosen.findall(text(cooks.get(at("round-readings"))))) == {"spare"}


def test_where_no_meter_is_in_use_the_senses_are_asked_instead(cooks, marrowby, hand):
    order = {"meter": "hand", "back": False}
    record(marrowby, Told(id=uuid7(hand.now), kind="meter_order", happened_at=hand.now, payload=order), hand)
    page = text(cooks.get(at("round-readings")))
    assert "tpc_pct" not in page
    assert at("act", "F1", "senses") in page


def test_oil_that_is_to_be_changed_is_told_with_its_caution_and_the_next_act(cooks):
    row = text(read(cooks, tpc_pct="29"))
    assert 'data-verdict="change_before"' in row
    assert "Hot oil burns. Switch it off first." in row
    (verdict,) = entries("verdict")
    assert at("settle", verdict.pk) in row


# ---- who may


@pytest.mark.parametrize("name", ["round-reading", "round-acts"])
def test_who_only_looks_writes_no_row(signed_in, inspector, marrowby, name):
    browser = signed_in(inspector)
    assert browser.get(at("round-readings")).status_code == 403
    assert browser.post(at(name, "F1"), {**SOUND, **MARK}, headers=BY_SCRIPT).status_code == 403
    assert entries("reading", *ACTS) == []


def test_on_a_tablet_the_row_is_written_by_who_signed_with_a_pin_and_after_that_by_nobody(
    on_tablet, cook, marrowby
):
    device = tablet_in(marrowby, "By the fryers")
    browser = on_tablet(device)
    browser.sign(cook)
    text(read(browser))
    (reading,) = entries("reading")
    assert (reading.person, reading.device) == (cook, device)
    browser.logout()
    answer = browser.post(at("round-reading", "F2"), SOUND, headers=BY_SCRIPT)
    assert (
        reverse("sign-in") in answer.headers["HX-Redirect"]
        or reverse("sign") in answer.headers["HX-Redirect"]
    )
    assert len(entries("reading")) == 1


# ---- after a service


def test_the_page_says_which_service_it_is_about_and_its_caution(cooks, after_dinner):
    page = text(cooks.get(at("round-service")))
    assert "After Dinner" in page
    assert ONE_TAP in page
    assert "Still to write down: Fries (F1), Fish (F2)" in page


def test_a_row_writes_the_entries_it_stands_for(cooks, after_dinner):
    row = text(done(cooks, {**MARK, **SKIMMED, **CHIPS, "load0-amount": "30"}))
    assert payloads(*ACTS) == [
        {"kind": "top_up", "fryer": "F1", "unit": "mark"},
        {"kind": "care", "fryer": "F1", "care": "skim"},
        {
            "kind": "load",
            "fryer": "F1",
            "product": "fries",
            "unit": "portion",
            "amount": "30",
            "mass_kg": "6",
        },
    ]
    for said in ("topped up to the mark", "skimmed", "Portions: 30"):
        assert said in row
    assert "Still to write down: Fish (F2)" in row


def test_what_is_not_ticked_and_an_amount_of_nothing_are_not_written(cooks, after_dinner):
    text(done(cooks, {**SKIMMED, **CHIPS, "load0-amount": "0"}))
    assert [entry.kind for entry in entries(*ACTS)] == ["care"]


def test_a_row_that_says_nothing_says_so(cooks, after_dinner):
    assert "Nothing is said here yet" in text(done(cooks, {**CHIPS, "load0-amount": ""}))
    assert entries(*ACTS) == []


def test_a_row_is_written_whole_or_not_at_all(cooks, after_dinner):
    """What is asked about in one part keeps the others from being written, and their ticks stay."""
    row = text(done(cooks, {**MARK, **SKIMMED, **CHIPS, "load0-amount": "9999"}))
    assert entries(*ACTS) == []
    assert "Is the amount right?" in row
    assert '<button name="load0-sure" value="on">' in row
    assert len(re.findall(r'type="checkbox"[^>]* checked', row)) == 2
    text(done(cooks, {**MARK, **SKIMMED, **CHIPS, "load0-amount": "9999", "load0-sure": "on"}))
    assert len(entries(*ACTS)) == 3


def test_entries_written_together_are_all_refused_with_the_one_that_cannot_be(marrowby, cook, db):
    now = clock.now()
    payloads = ({"fryer": "F1", "care": "skim"}, {"fryer": "F1", "care": "nothing-such"})
    tolds = [Told(id=uuid7(now), kind="care", happened_at=now, payload=payload) for payload in payloads]
    with pytest.raises(RefusedPartError) as refused:
        record_together(marrowby, tolds, Hand(person=cook, now=now))
    assert refused.value.part == 1
    assert isinstance(refused.value.error, ValidationError)
    assert entries("care") == []


def test_a_row_of_acts_sent_twice_is_written_once(cooks, after_dinner):
    shown = form_of(text(cooks.get(at("round-service"))), at("round-acts", "F1"))
    sent = {**shown, "phone_now": clock.now().isoformat()}
    first, second = text(done(cooks, sent)), text(done(cooks, sent))
    assert [entry.kind for entry in entries(*ACTS)] == ["top_up", "care", "care", "load"]
    assert re.findall(r"<li class=\"soft\">.*", first) == re.findall(r"<li class=\"soft\">.*", second)


def test_an_amount_beside_the_mark_is_asked_about(cooks, after_dinner):
    row = text(done(cooks, {**MARK, "top_up-measure": "jug", "top_up-amount": "2"}))
    assert "To the mark, or an amount?" in row
    assert entries("top_up") == []


def test_without_the_script_acts_lead_back_to_their_row_and_refused_ones_keep_theirs(cooks, after_dinner):
    answer = done(cooks, MARK, "F2", by_script=False)
    assert answer.url == f"{at('round-service')}?#row1"
    page = text(done(cooks, {**SKIMMED, **CHIPS, "load0-amount": "a lot"}, by_script=False))
    assert "<html" in page
    assert 'value="a lot"' in page
    assert entries("care") == []


def test_the_amount_starts_at_the_usual_load_in_the_unit_told_last(cooks, marrowby, hand, after_dinner):
    values = {
        "name": "Fries",
        "oil": "rapeseed",
        "oil_mass_kg": "16",
        "fries": ["fries"],
        "usual_load_kg": "8",
    }
    setting_add(marrowby, "fryers", "F1", values, hand=hand)

    def starts():
        shown = form_of(text(cooks.get(at("round-service"))), at("round-acts", "F1"))
        return shown["load0-unit"], shown["load0-amount"]

    assert starts() == ("portion", "40")
    text(done(cooks, {**CHIPS, "load0-unit": "kg", "load0-amount": "5"}, "F2"))
    assert starts() == ("kg", "8")


def test_the_measure_of_oil_is_that_of_ones_own_last_top_up(cooks, signed_in, owner, after_dinner):
    def measured(browser):
        return 'name="top_up-measure" value="jug"' in text(browser.get(at("round-service")))

    assert not measured(cooks)
    text(done(cooks, {"top_up-measure": "jug", "top_up-amount": "1,5"}))
    assert payloads("top_up") == [
        {"kind": "top_up", "fryer": "F1", "unit": "jug", "amount": "1.5", "mass_kg": "2.76"}
    ]
    assert measured(cooks)
    text(done(signed_in(owner), MARK, "F2"))
    assert measured(cooks)
    assert not measured(signed_in(owner))
    assert 'name="top_up-measure" value="pack"' in text(cooks.get(at("round-service") + "?oil=pack"))


def test_a_fryer_written_down_shows_it_and_starts_at_nothing_for_more(cooks, after_dinner):
    text(done(cooks, {**CHIPS, "load0-amount": "30"}))
    page = text(cooks.get(at("round-service")))
    assert "Portions: 30" in page
    assert form_of(page, at("round-acts", "F1"))["load0-amount"] == "0"
    assert form_of(page, at("round-acts", "F2"))["load0-amount"] != "0"


def test_what_was_done_happened_now_or_when_the_service_ended_as_is_chosen(cooks, after_dinner):
    shown = form_of(text(cooks.get(at("round-service") + "?at=ended")), at("round-acts", "F1"))
    text(done(cooks, {**MARK, **{name: shown[name] for name in ("service", "at")}}))
    text(done(cooks, MARK, "F2"))
    ended, now = entries("top_up")
    assert f"{ended.at:%H:%M}" == "20:30"
    assert now.at == clock.now()


def test_food_counts_for_the_oil_it_was_fried_in_though_that_was_changed_since(
    cooks, marrowby, hand, after_dinner
):
    now = clock.now()
    change = Told(id=uuid7(now), kind="change", happened_at=now, payload={"fryer": "F1"})
    entry_add(marrowby, change, replace(hand, now=now))
    text(done(cooks, {**MARK, **CHIPS, "load0-amount": "30"}))
    text(done(cooks, {**CHIPS, "load0-amount": "30"}, "F2"))
    of_changed, of_other = entries("load")
    assert f"{of_changed.at:%H:%M}" == "20:30"
    assert [of_other.at, *(entry.at for entry in entries("top_up"))] == [now, now]


def test_a_page_left_open_writes_of_its_own_service_not_of_the_one_that_began_since(
    cooks, monkeypatch, after_dinner
):
    shown = form_of(text(cooks.get(at("round-service"))), at("round-acts", "F1"))
    before = clock.now()
    monkeypatch.setenv(clock.SETTING, (before + timedelta(hours=15)).isoformat())  # the next day's lunch runs
    text(done(cooks, {**MARK, "service": shown["service"]}))
    (entry,) = entries("top_up")
    assert entry.at < before


def test_a_page_about_a_service_of_long_ago_is_refused(cooks, after_dinner):
    assert "This page is too old" in text(
        done(cooks, {**MARK, "service": "2001-01-01T00:00:00+00:00 Dinner"})
    )
    assert entries("top_up") == []


def test_while_a_service_runs_it_can_be_written_of_too(cooks, monkeypatch):
    monkeypatch.setenv(clock.SETTING, "2026-11-16T12:00:00+00:00")
    page = text(cooks.get(at("round-service")))
    assert "After Dinner" in page
    assert "?of=running" in page
    assert "runs until 14:30" in text(cooks.get(at("round-service") + "?of=running"))


def test_the_round_leads_to_what_is_due(cooks, monkeypatch, after_dinner):
    assert cooks.get(at("round")).url == at("round-service")
    for fryer in ("F1", "F2"):
        text(done(cooks, {**CHIPS, "load0-amount": "30"}, fryer))
    assert cooks.get(at("round")).url == at("round-readings")
    monkeypatch.setenv(clock.SETTING, "2026-11-16T09:00:00+00:00")
    assert cooks.get(at("round")).url == at("round-readings")


# ---- from a single reading


def test_after_a_single_reading_the_next_fryer_is_one_tap_away_until_all_are_read(cooks):
    answer = cooks.post(at("reading-at", "F1"), SOUND)
    page = text(cooks.get(answer.url))
    assert "Next fryer: Fish (F2)" in page
    assert f'href="{at("reading-at", "F2")}"' in page
    answer = cooks.post(at("reading-at", "F2"), SOUND)
    assert "Next fryer" not in text(cooks.get(answer.url))


def test_where_it_is_not_known_what_a_fryer_fries_it_is_chosen(cooks, marrowby, hand, after_dinner):
    bath = {"name": "Fries", "oil": "rapeseed", "oil_mass_kg": "16"}
    setting_add(marrowby, "fryers", "F1", bath, hand=hand)
    page = text(cooks.get(at("round-service")))
    shown = form_of(page, at("round-acts", "F1"))
    assert shown["load0-amount"] == "0"
    assert re.search(
        r'<select name="load0-product"[^>]*>\s*<option value="fries" selected>Frozen fries', page
    )
    text(done(cooks, {"load0-product": "fries", "load0-unit": "kg", "load0-amount": "4"}))
    assert [(entry.payload["product"], entry.payload["mass_kg"]) for entry in entries("load")] == [
        ("fries", "4")
    ]


def test_a_kitchen_without_foods_still_saves_what_was_done_with_the_oil(cooks, marrowby, hand, after_dinner):
    for fryer, name in (("F1", "Fries"), ("F2", "Fish")):
        bath = {"name": name, "oil": "rapeseed", "oil_mass_kg": "16"}
        setting_add(marrowby, "fryers", fryer, bath, hand=hand)
    setting_add(marrowby, "products", "fries", None, hand=hand)
    page = Page(text(cooks.get(at("round-service"))))
    rows = [form for form in page.forms if "/round/" in form.attributes.get("action", "")]
    assert [len(form.buttons) for form in rows] == [1, 1]
    text(done(cooks, SKIMMED))
    assert len(entries("care")) == 1
