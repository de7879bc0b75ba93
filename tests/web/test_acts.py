"""The other acts at a fryer, each through its screen."""

from datetime import datetime, timedelta

import pytest
from cast import SLUG
from django.urls import reverse

from kettlewell import clock
from kettlewell.bridge.verdicts import record
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Told, setting_add
from kettlewell.records.models import Entry
from kettlewell.records.settings import settings_of
from kettlewell.web.entry.forms import FORMS
from kettlewell.web.reading.views import BY_ONE_FORM

SENT = {
    "laboratory": ({"tpc_pct": "21,4", "u_pct": "0,5"}, {"tpc_pct": "21.4", "u_pct": "0.5"}),
    "senses": ({"spoiled": "no", "signs": ["foam"]}, {"spoiled": False, "signs": ["foam"]}),
    "top_up": ({"unit": "jug", "amount": "1,5"}, {"unit": "jug", "amount": "1.5", "mass_kg": "2.76"}),
    "care": ({"care": "skim"}, {"care": "skim"}),
    "change": ({}, {}),
    "move": ({"into": "F2", "mass_kg": "3"}, {"into": "F2", "mass_kg": "3"}),
    "store": ({}, {}),
    "return": ({}, {}),
    "load": (
        {"product": "fries", "unit": "portion", "amount": "10"},
        {"product": "fries", "unit": "portion", "amount": "10", "mass_kg": "2"},
    ),
    "hot_hours": ({"hot_h": "3,25", "oil_temp_c": "175"}, {"hot_h": "3.25", "oil_temp_c": "175"}),
    "order": ({"back": "no"}, {"back": False}),
    "closed": (
        {"until": "2999-01-07T10:00", "whole": "no"},
        {"until": "2999-01-07T10:00:00.000000Z"},
    ),
    "complaint": ({"complained_of": ["taste"]}, {"complained_of": ["taste"]}),
    "call": ({}, {}),
}


@pytest.fixture
def cooks(signed_in, cook):
    """The browser of a cook."""
    return signed_in(cook)


def at(name, *args):
    return reverse(name, args=[SLUG, *args])


def last(kind):
    return Entry.objects.filter(kind=kind).order_by("-seq").first()


def test_every_kind_has_its_screen():
    assert set(SENT) == BY_ONE_FORM


@pytest.mark.parametrize("kind", SENT)
def test_a_kind_is_stored_through_its_screen_and_twice_is_once(cooks, kind):
    typed, stored = SENT[kind]
    if kind == "return":
        cooks.post(at("act", "F1", "store"))
    address = at("act", "F1", kind)
    assert cooks.get(address).status_code == 200
    sent = {**typed, "entry_id": str(uuid7(clock.now()))}
    answers = [cooks.post(address, sent) for _ in range(2)]
    assert {answer.status_code for answer in answers} == {302}
    assert answers[0].url == answers[1].url
    assert cooks.get(answers[0].url).status_code == 200
    assert Entry.objects.filter(kind=kind).count() == 1
    assert last(kind).payload == {"fryer": "F1", **stored}


def test_the_whole_kitchen_is_closed_and_its_end_corrected(cooks):
    cooks.post(at("act", "F1", "closed"), {"until": "2999-07-07T10:00", "whole": "yes"})
    assert last("closed").payload == {"until": "2999-07-07T09:00:00.000000Z"}
    address = at("correct", last("closed").pk)
    page = cooks.get(address).content.decode()
    assert 'value="2999-07-07T10:00"' in page
    cooks.post(address, {"until": "2999-07-08T10:00", "whole": "yes", "reason": "a day more"})
    assert last("closed").payload == {"until": "2999-07-08T09:00:00.000000Z"}


def test_what_was_written_can_be_undone_from_the_next_page(cooks):
    answer = cooks.post(at("act", "F1", "care"), {"care": "skim"}, follow=True)
    assert f'href="{at("undo", last("care").pk)}">Undo</a>' in answer.content.decode()


def test_undo_is_offered_only_of_what_can_be_undone(cooks):
    cooks.post(at("act", "F1", "call"))
    answer = cooks.post(at("answer-call", last("call").pk), {"note": "Coming"}, follow=True)
    page = answer.content.decode()
    assert "The call from Fries (F1) was answered." in page
    assert at("undo", last("answer").pk) not in page


def test_skimming_filtering_and_a_top_up_to_the_mark_take_one_tap(cooks):
    tiles = [tile for _, group in cooks.get(at("acts", "F1")).context["groups"] for tile in group]
    one_tap = [tile for tile in tiles if tile.entry_id]
    for tile in one_tap:
        assert cooks.post(tile.url, {**tile.told, "entry_id": str(tile.entry_id)}).status_code == 302
    assert [entry.payload.get("care") or entry.payload["unit"] for entry in written()] == [
        "mark",
        "skim",
        "filter",
    ]


def written():
    return Entry.objects.filter(kind__in=["care", "top_up"]).order_by("seq")


def test_every_tile_leads_somewhere(cooks):
    tiles = [tile for _, group in cooks.get(at("acts", "F1")).context["groups"] for tile in group]
    assert {cooks.get(tile.url).status_code for tile in tiles} == {200}


def test_a_fryer_out_of_use_is_offered_to_be_put_back(cooks):
    cooks.post(at("act", "F1", "order"), {"back": "no"})
    assert "Put it back in use" in cooks.get(at("acts", "F1")).content.decode()


def test_spoiled_oil_is_to_be_changed_before_frying(cooks):
    answer = cooks.post(at("act", "F1", "senses"), {"spoiled": "yes", "signs": ["smell", "smoke"]})
    told = last("verdict")
    assert answer.url == at("told", told.pk)
    assert told.payload["verdict"] == "change_before"


def test_only_the_measures_of_this_kitchen_are_offered(cooks, marrowby, hand):
    setting_add(marrowby, "oils", "rapeseed", {"name": "Rapeseed oil", "kind": "rapeseed"}, hand=hand)
    units = [unit for unit, _ in cooks.get(at("act", "F1", "top_up")).context["form"].fields["unit"].choices]
    assert units == ["mark", "jug", "kg", "l"]
    answer = cooks.post(at("act", "F1", "top_up"), {"unit": "pack", "amount": "1"})
    assert list(answer.context["form"].errors) == ["unit"]


@pytest.mark.parametrize(
    ("kind", "sent", "wrong"),
    [
        ("top_up", {"unit": "kg", "amount": "99"}, "amount"),
        ("top_up", {"unit": "kg"}, "amount"),
        ("load", {"product": "fries", "unit": "basket", "amount": "3"}, "unit"),
        ("load", {"product": "fries", "amount": "3"}, "unit"),
        ("hot_hours", {"hot_h": "25"}, "hot_h"),
        ("move", {"into": "F1"}, "into"),
        ("senses", {}, "spoiled"),
        ("laboratory", {"tpc_pct": "101"}, "tpc_pct"),
    ],
)
def test_wrong_input_is_shown_again_and_nothing_is_stored(cooks, kind, sent, wrong):
    answer = cooks.post(at("act", "F1", kind), {**sent, "note": "kept"})
    assert list(answer.context["form"].errors) == [wrong]
    assert 'value="kept"' in answer.content.decode()
    assert last(kind) is None


def test_a_slip_of_the_pen_is_asked_about_and_written_once_the_cook_is_sure(cooks):
    sent = {"product": "fries", "unit": "kg", "amount": "1500"}
    asked = cooks.post(at("act", "F1", "load"), sent)
    assert list(asked.context["form"].errors) == ["amount"]
    assert 'name="sure"' in asked.content.decode()
    assert last("load") is None
    cooks.post(at("act", "F1", "load"), {**sent, "sure": "on"})
    assert last("load").payload["amount"] == "1500"


def test_nobody_is_asked_whether_he_is_sure_of_what_is_usual(cooks):
    assert 'name="sure"' not in cooks.get(at("act", "F1", "load")).content.decode()
    wrong = cooks.post(at("act", "F1", "load"), {"product": "fries", "unit": "basket", "amount": "3"})
    assert 'name="sure"' not in wrong.content.decode()


def test_food_of_an_unknown_amount_stays_unknown(cooks):
    cooks.post(at("act", "F1", "load"), {"product": "fries", "unit": "portion", "amount": ""})
    assert last("load").payload == {"fryer": "F1", "product": "fries"}


def test_an_earlier_time_is_read_by_the_clocks_of_the_kitchen(cooks):
    cooks.post(at("act", "F1", "care"), {"care": "skim", "at": "2026-07-01T12:00"})
    assert last("care").happened_at.isoformat() == "2026-07-01T11:00:00+00:00"
    assert last("care").clock_error_s is None


CLOCKS_BACK = "2025-10-26T01:30"


@pytest.mark.parametrize("told", ["2025-10-26T00:30:20+00:00", "2025-10-26T01:30:20+00:00"])
def test_an_entry_of_the_hour_that_comes_twice_keeps_its_time_when_it_is_corrected(
    cooks, marrowby, hand, told
):
    """On 26 October 2025 the kitchen's clocks showed half past one twice."""
    skimmed = {"fryer": "F1", "care": "skim"}
    happened_at = datetime.fromisoformat(told)
    record(marrowby, Told(id=uuid7(hand.now), kind="care", happened_at=happened_at, payload=skimmed), hand)
    form = cooks.get(at("correct", last("care").pk)).context["form"]
    assert form["at"].value() == CLOCKS_BACK
    sent = {"care": "filter", "at": CLOCKS_BACK, "reason": "It was filtered"}
    assert cooks.post(at("correct", last("care").pk), sent).status_code == 302
    assert last("care").payload["care"] == "filter"
    assert last("care").at == last("care").replaces.at


def test_a_new_entry_of_the_hour_that_comes_twice_is_taken_as_the_first(cooks):
    cooks.post(at("act", "F1", "care"), {"care": "skim", "at": CLOCKS_BACK})
    assert last("care").happened_at.isoformat() == "2025-10-26T00:30:00+00:00"


def test_a_time_that_the_clocks_skipped_is_refused_in_plain_words(cooks):
    answer = cooks.post(at("act", "F1", "care"), {"care": "skim", "at": "2026-03-29T01:30"})
    assert answer.context["form"].errors["at"] == [
        "There was no such time: the clocks were put forward. Give another."
    ]


@pytest.mark.parametrize(
    ("kind", "caution"),
    [
        ("move", "The oil takes its allergens along"),
        ("care", "A shared filter carries oil and allergens"),
        ("care", "let all of it dry before oil goes in"),
        ("change", "Only someone trained to drain does it"),
        ("change", "A fresh fill alone does not clear allergens"),
        ("return", "Every surface rinsed and dry before oil goes in"),
        ("load", "Another food than usual takes up the allergens"),
        ("load", "Wet or icy food makes hot oil boil over"),
        ("laboratory", "with a dry metal ladle"),
        ("top_up", "cool running water at once"),
        ("senses", "Do not lean over hot oil"),
    ],
)
def test_a_caution_stands_where_it_belongs(cooks, kind, caution):
    if kind == "return":
        cooks.post(at("act", "F1", "store"))
    assert caution in cooks.get(at("act", "F1", kind)).content.decode()


@pytest.mark.parametrize("asked", ["care=anything", "care=../skim", "back=%00", "care=", "back=1&care=skim"])
def test_what_no_tile_asks_for_is_left_out(cooks, asked):
    kind = "care" if asked.startswith("care") else "order"
    assert cooks.get(f"{at('act', 'F1', kind)}?{asked}").status_code == 200


def test_of_care_only_the_caution_of_what_was_tapped_is_shown(cooks):
    page = cooks.get(at("act", "F1", "care") + "?care=skim").content.decode()
    assert "Hot crumbs can smoulder" in page
    assert "A shared filter carries" not in page


@pytest.mark.parametrize(
    ("before", "kind", "why"),
    [
        ((), "return", "no oil of this fryer is kept"),
        (("store", "return"), "return", "no oil of this fryer is kept"),
        (("store",), "store", "this fryer is empty"),
        (("store",), "move", "this fryer is empty"),
    ],
)
def test_what_cannot_have_been_done_is_refused(cooks, before, kind, why):
    for act in before:
        assert cooks.post(at("act", "F1", act)).status_code == 302
    written = Entry.objects.filter(kind=kind).count()
    assert why in cooks.post(at("act", "F1", kind), {"into": "F2", "mass_kg": "3"}).content.decode()
    assert Entry.objects.filter(kind=kind).count() == written


def test_oil_moved_into_a_full_bath_needs_its_amount_and_into_an_empty_one_none(cooks):
    full = cooks.post(at("act", "F1", "move"), {"into": "F2"})
    assert list(full.context["form"].errors) == ["mass_kg"]
    cooks.post(at("act", "F2", "store"))
    assert cooks.post(at("act", "F1", "move"), {"into": "F2"}).status_code == 302
    assert last("move").payload == {"fryer": "F1", "into": "F2"}


def test_a_move_of_all_that_fits_is_corrected_without_an_amount_though_its_bath_is_full_now(cooks):
    cooks.post(at("act", "F2", "store"))
    cooks.post(at("act", "F1", "move"), {"into": "F2", "note": "by pump"})
    said = {"into": "F2", "note": "by hand", "reason": "Wrong note"}
    assert cooks.post(at("correct", last("move").pk), said).status_code == 302
    assert last("move").payload == {"fryer": "F1", "into": "F2"}
    assert last("move").replaces is not None


def test_a_move_is_corrected_into_the_bath_that_was_really_empty(marrowby, hand, cooks):
    things = settings_of(marrowby)["fryers"]["F2"]
    setting_add(marrowby, "fryers", "F3", {**things, "name": "Spare"}, hand=hand)
    for fryer in ("F2", "F3"):
        cooks.post(at("act", fryer, "store"), {})
    cooks.post(at("act", "F1", "move"), {"into": "F2"})
    said = {"into": "F3", "reason": "Into the spare one"}
    assert cooks.post(at("correct", last("move").pk), said).status_code == 302
    assert last("move").payload["into"] == "F3"


def test_an_amount_moved_into_a_full_bath_cannot_be_corrected_to_none(cooks):
    cooks.post(at("act", "F1", "move"), {"into": "F2", "mass_kg": "3"})
    answer = cooks.post(at("correct", last("move").pk), {"into": "F2", "reason": "Not known"})
    assert list(answer.context["form"].errors) == ["mass_kg"]


def test_who_drained_a_bath_by_hand_can_be_said_with_the_change(cooks, owner, cook):
    page = cooks.get(at("act", "F2", "change")).content.decode()
    assert str(owner.pk) in page
    assert str(cook.pk) not in page
    cooks.post(at("act", "F2", "change"), {"drained_by": str(owner.pk)})
    assert last("change").payload["drained_by"] == str(owner.pk)


def test_solid_fat_is_melted_slowly(cooks, marrowby, hand):
    setting_add(marrowby, "oils", "rapeseed", {"name": "Palm fat", "kind": "palm-olein"}, hand=hand)
    assert (
        "Fat that is solid when cold: melt it slowly" in cooks.get(at("act", "F1", "change")).content.decode()
    )


@pytest.mark.parametrize("kind", ["reading", "settled", "setting", "verdict", "undone", "nothing"])
def test_what_has_no_form_of_its_own_is_not_there(cooks, kind):
    assert cooks.post(at("act", "F1", kind)).status_code == 404


@pytest.mark.parametrize("name", ["reading-at", "acts"])
def test_a_fryer_that_is_not_there_is_not_found(cooks, name):
    assert cooks.get(at(name, "F9")).status_code == 404


def test_an_entry_can_be_shown_in_its_form_again_to_be_corrected(cooks, monkeypatch):
    """One after the other: at the same moment oil would leave its bath before it came into it."""
    begun = clock.now()
    for minutes, (kind, (typed, stored)) in enumerate(SENT.items()):
        monkeypatch.setenv(clock.SETTING, (begun + timedelta(minutes=minutes)).isoformat())
        cooks.post(at("act", "F1", kind), typed)
        entry = last(kind)
        if kind in FORMS and kind != "answer":
            page = cooks.get(at("correct", entry.pk))
            assert page.status_code == 200
            assert all(page.context["form"].initial[name] is not None for name in stored)


def test_a_boil_out_asks_where_the_oil_went_unless_the_bath_is_empty(cooks):
    asked = cooks.post(at("act", "F1", "care"), {"care": "boil-out"})
    assert asked.url == at("boiled-out", "F1")
    page = cooks.get(asked.url).content.decode()
    assert at("act", "F1", "change") in page
    assert at("act", "F1", "store") in page
    cooks.post(at("act", "F1", "store"))
    assert cooks.post(at("act", "F1", "care"), {"care": "boil-out"}).url == at("fryer", "F1")
