"""From nothing to the first verdict, and the settings of a kitchen afterwards."""

from dataclasses import replace
from gettext import NullTranslations

import pytest
from cast import SETTINGS
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from django.utils.translation import override

from kettlewell.bridge.settings import settings_change
from kettlewell.bridge.setups import check_setup, setup_of
from kettlewell.bridge.verdicts import record
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Told, setting_add
from kettlewell.records.models import Kitchen
from kettlewell.records.settings import settings_of
from kettlewell.web.setup.forms import FORMS, OilForm, ProductForm
from kettlewell.web.setup.known import defaults_shown, limits_shown, places

EVERY_DAY = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
SETTINGS_BY_THING = {thing: {key: values} for (thing, key), values in SETTINGS.items()}
READING = {"fryer": "F1", "tpc_pct": "12", "oil_temp_c": "170"}
SOUND = dict.fromkeys(("no_food", "no_bubbles", "probe_clear", "steady"), "yes")


@pytest.fixture
def browser(signed_in, owner):
    return signed_in(owner)


def at(name, kitchen, *args):
    return reverse(name, args=[kitchen.slug, *args])


def read(kitchen, hand, **more):
    payload = {**READING, **SOUND, **more}
    told = Told(id=uuid7(hand.now), kind="reading", happened_at=hand.now, payload=payload)
    return record(kitchen, told, hand)


def values_of(kitchen, thing, key):
    return settings_of(Kitchen.objects.get(pk=kitchen.pk))[thing][key]


def test_another_fryer_like_one_there_is_takes_all_but_number_and_name(browser, marrowby, hand):
    values = {**SETTINGS["fryers", "F1"], "set_temp_c": "168", "draining": "pump", "usual_load_kg": "7"}
    setting_add(marrowby, "fryers", "F1", values, hand=hand)
    address = at("thing-new", marrowby, "fryers") + "?like=F1"
    assert address in browser.get(at("thing", marrowby, "fryers", "F1")).content.decode()
    form = browser.get(address).context["form"]
    shown = {name: form[name].value() for name in form.fields}
    assert (shown["key"], shown["name"]) == (None, None)
    sent = {name: value for name, value in shown.items() if value is not None}
    answer = browser.post(address, {**sent, "key": "F9", "name": "Ninth", "another": "yes"})
    assert answer.url == at("thing-new", marrowby, "fryers") + "?like=F9"
    assert values_of(marrowby, "fryers", "F9") == {**values, "name": "Ninth"}
    assert browser.get(at("thing-new", marrowby, "fryers") + "?like=F8").status_code == 404


def test_a_fryer_is_edited_though_nobody_has_said_how_it_is_drained(browser, marrowby, hand):
    """The question stays open there, and among what is missing."""
    values = {name: said for name, said in SETTINGS["fryers", "F1"].items() if name != "draining"}
    setting_add(marrowby, "fryers", "F1", {**values, "set_temp_c": "168"}, hand=hand)
    form = browser.get(at("thing", marrowby, "fryers", "F1")).context["form"]
    shown = {name: form[name].value() for name in form.fields}
    sent = {name: value for name, value in shown.items() if value is not None}
    answer = browser.post(at("thing", marrowby, "fryers", "F1"), {**sent, "name": "Chips"})
    assert answer.status_code == 302
    assert values_of(marrowby, "fryers", "F1")["name"] == "Chips"
    assert "draining" not in values_of(marrowby, "fryers", "F1")


def test_the_limits_of_another_place_are_shown_with_all_that_was_typed_kept(browser, marrowby):
    """Nothing is judged or stored yet, not even what could not be stored."""
    seq = Kitchen.objects.get().head_seq
    sent = {"name": "", "jurisdiction": "FR", "timezone": "Europe/Paris", "risk": "much", "jug_l": "1,5"}
    answer = browser.post(at("thing", marrowby, "kitchen", "own"), {**sent, "show": "yes"})
    page = answer.content.decode()
    assert "not above 25 %" in page
    assert 'role="alert"' not in page
    assert {name: answer.context["form"][name].value() for name in sent} == sent
    assert Kitchen.objects.get().head_seq == seq


def test_the_kitchens_page_shows_the_limits_of_its_place(browser, marrowby, hand):
    values = {**SETTINGS["kitchen", ""], "jurisdiction": "FR"}
    setting_add(marrowby, "kitchen", "", values, hand=hand)
    assert "not above 25 %" in browser.get(at("thing", marrowby, "kitchen", "own")).content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize(("place", "hinted"), [("GB", True), ("JP", True), ("AT", True), ("FR", False)])
def test_a_limit_of_ones_own_is_advised_where_none_of_the_place_judges_the_oil(place, hinted):
    headers = {"HX-Request": "true"}
    page = Client().get(reverse("set-up"), {"jurisdiction": place}, headers=headers).content.decode()
    assert ("set a limit of your own" in page) is hinted


def test_the_kitchen_screen_gives_units_and_says_what_is_assumed(browser, marrowby):
    """A weight of oil stands in litres too, at the oil's own weight of a litre or at 0.92 kg."""
    page = browser.get(at("kitchen", marrowby)).content.decode()
    for told in (
        '<td data-label="Oil at the cold-fill mark">16 kg (17.4 l)</td>',
        '<td data-label="Set temperature">175 °C (assumed)</td>',
        "<dt>Oil in a pack</dt><dd>9.2 kg</dd>",
        "<dt>Polar compounds when fresh</dt><dd>4 % (assumed)</dd>",
        "<dt>Oil taken up by a kg of food</dt><dd>0.07 kg (assumed)</dd>",
        "<dt>Coldest oil it may be read in</dt><dd>40 °C (assumed)</dd>",
        "<dt>How is it drained?</dt><dd>By hand, once the oil is cold (assumed)</dd>",
        "<dt>Your jug</dt><dd>2 litres</dd>",
    ):
        assert told in page, told


def test_the_kitchen_screen_has_a_row_and_one_edit_link_for_each_thing(browser, marrowby):
    page = browser.get(at("kitchen", marrowby)).content.decode()
    for thing, of_thing in settings_of(marrowby).items():
        for key in of_thing:
            edit = f'href="{at("thing", marrowby, thing, key or "own")}"'
            assert page.count(edit) == (thing in FORMS), (thing, key)
    assert page.count("<tr>") == page.count("</tr>")
    assert "<form" not in page[page.index("<main") : page.index("</main>")]


def test_what_may_stay_empty_is_marked_and_its_usual_value_told(browser, marrowby):
    """The source is a tap away, not beside the field."""
    page = browser.get(at("thing", marrowby, "oils", "rapeseed")).content.decode()
    assert page.count("(optional)") == len(OilForm.base_fields) - 2  # name and kind
    beside, _tap, table = page.partition("Usual values, and where they come from")
    assert "from memory" not in beside
    assert "polar compounds 5 % when fresh; ages 1.2 times as fast as rapeseed oil" in table
    assert "0.92 kg at 20 °C" in table
    kitchen = browser.get(at("thing", marrowby, "kitchen", "own")).content.decode()
    assert "common practice, no source" in kitchen.partition("where they come from")[2]


def test_the_kitchen_screen_says_that_the_own_limit_decides_where_no_other_does(browser, marrowby, hand):
    values = {**SETTINGS["kitchen", ""], "jurisdiction": "GB"}
    setting_add(marrowby, "kitchen", "", values, hand=hand)
    assert "your own limit decides" in browser.get(at("kitchen", marrowby)).content.decode()


def test_the_kitchen_screen_leads_to_each_of_its_parts(browser, marrowby):
    page = browser.get(at("kitchen", marrowby)).content.decode()
    for thing in ("fryers", "oils", "products", "meters", "reference_lots", "services", "limits", "kitchen"):
        assert page.index(f'href="#{thing}"') < page.index(f'id="{thing}"')


def test_history_keeps_old_values_and_an_old_verdict_its_settings(browser, marrowby, hand):
    before = read(marrowby, hand).verdict
    sent = {
        "name": "Fries, left",
        "oil": "rapeseed",
        "oil_mass_kg": "14,5",
        "unit": "kg",
        "set_temp_c": "171",
        "draining": "pump",
        "fries": ["fries"],
    }
    answer = browser.post(at("thing", marrowby, "fryers", "F1"), sent)
    assert answer.url == at("kitchen", marrowby) + "#fryers"
    assert values_of(marrowby, "fryers", "F1")["oil_mass_kg"] == "14.5"
    page = browser.get(at("thing", marrowby, "fryers", "F1")).content.decode()
    assert "Oil at the cold-fill mark: 16 kg (17.4 l);" in page
    assert "Oil at the cold-fill mark: 14.5 kg (15.8 l);" in page
    assert "Olive Owner" in page
    fresh = Kitchen.objects.get(pk=marrowby.pk)
    then, now = setup_of(fresh, at_seq=before.seq), setup_of(fresh)
    assert [setup.kitchen.fryers[0].oil_mass_kg for setup in (then, now)] == [16, 14.5]


OWN = {"name": "M", "timezone": "Europe/London"}
METER = {
    "name": "Hand meter",
    "resolution_pct": "0,5",
    "largest_error_pct": "2",
    "min_oil_temp_c": "40",
    "max_oil_temp_c": "150",
}
DINNER = {"name": "Dinner", "days": EVERY_DAY}
TPC = "total polar compounds"
SOYA = {"name": "Soya", "kind": "soya"}
BOTTLE = {"name": "Lot 7", "tpc_pct": "18", "expanded_u_pct": "0,6"}


@pytest.mark.parametrize(
    ("thing", "sent", "field", "says"),
    [
        ("limits/house", {"quantity": TPC, "value": "5000"}, "value", "At most 1000."),
        ("kitchen/own", {**OWN, "risk": "0,6"}, "risk", "At most 0.5."),
        ("kitchen/own", {**OWN, "risk": "0"}, "risk", "More than 0."),
        ("kitchen/own", {**OWN, "jug_l": "101"}, "jug_l", "At most 100."),
        ("oils/rapeseed", {**SOYA, "density_kg_per_l": "0,2"}, "density_kg_per_l", "At least 0.5."),
        ("oils/", {**SOYA, "name": "RAPE-SEED"}, "name", "Another one is called so, or nearly so"),
        ("meters/hand", {**METER, "min_oil_temp_c": "200"}, "max_oil_temp_c", "below the coldest"),
        ("meters/hand", {**METER, "max_oil_temp_c": "20"}, "max_oil_temp_c", "below the coldest"),
        ("kitchen/own", {**OWN, "permissible_pct": "0"}, "permissible_pct", "More than 0."),
        ("kitchen/own", {**OWN, "permissible_pct": "4,5"}, "permissible_pct", "At most 4."),
        ("kitchen/own", {**OWN, "laboratory_price": "-1"}, "laboratory_price", "At least 0."),
        ("reference_lots/", {**BOTTLE, "tpc_pct": "0"}, "tpc_pct", "More than 0."),
        ("reference_lots/", {**BOTTLE, "coverage_factor": "0"}, "coverage_factor", "At least 1."),
        ("reference_lots/", {**BOTTLE, "expanded_u_pct": ""}, "expanded_u_pct", "This field is required."),
        ("reference_lots/", {**BOTTLE, "opened": "2026-02-30"}, "opened", "Enter a valid date."),
        ("reference_lots/", {**BOTTLE, "opened": "2999-01-01"}, "opened", "This day has not come yet."),
        (
            "reference_lots/",
            {**BOTTLE, "opened": "2026-10-01", "best_before": "2026-09-30"},
            "opened",
            "after “best before”",
        ),
        ("meters/hand", {**METER, "in_use_since": "soon"}, "in_use_since", "Enter a valid date."),
        ("services/dinner", {**DINNER, "from": "18:00", "to": "18:00"}, "to", "ends when it begins"),
        (
            "services/dinner",
            {**DINNER, "from": "14:00", "to": "18:00"},
            "to",
            "“Lunch” and “Dinner” are both",
        ),
    ],
)
@pytest.mark.usefixtures("marrowby")
def test_what_cannot_be_is_said_beside_its_field_and_is_not_written(browser, thing, sent, field, says):
    """In the words of the form, not of a kitchen's file; what was typed stays."""
    kitchen = Kitchen.objects.get()
    sort, key = thing.split("/")
    address = at("thing", kitchen, sort, key) if key else at("thing-new", kitchen, sort)
    answer = browser.post(address, sent)
    form = answer.context["form"]
    assert list(form.errors) == [field]
    assert says in form.errors[field][0]
    assert says in answer.content.decode()
    assert {name: form[name].value() for name in sent} == sent
    assert Kitchen.objects.get().head_seq == kitchen.head_seq


def test_numbers_are_written_in_the_language_of_the_reader(browser, marrowby):
    address = at("thing", marrowby, "kitchen", "own")
    german = {"headers": {"accept-language": "de"}}
    assert 'value="0,05"' in browser.get(address, **german).content.decode()
    assert "Höchstens 0,5." in browser.post(address, {**OWN, "risk": "0.6"}, **german).content.decode()


def test_countries_stand_where_the_reader_looks_for_them():
    with override("de"):
        names = [name for _code, name in places()]
    assert names.index("Norwegen") < names.index("Österreich") < names.index("Polen")


class Shouted(NullTranslations):
    """A language of capitals."""

    def gettext(self, message):
        return message.upper()


def test_remarks_and_sources_are_told_in_the_language_of_the_reader(reader):
    shouting = replace(reader, catalogue=Shouted())
    told = [limit.remark for limit in limits_shown("FR", shouting)]
    told += [one.source for thing in ("oils", "products") for one in defaults_shown(thing, shouting)]
    assert any("THREE SECONDARY SOURCES AGREE ON THE NUMBER" in text for text in told)
    assert "WEAR: AS BREADED CHICKEN; UPTAKE: FROM MEMORY" in told
    assert [text for text in told if text != text.upper()] == []


def test_no_word_of_the_file_reaches_a_form(marrowby):
    """Whatever else does not fit together is said in one sentence of ours."""
    things = {**SETTINGS_BY_THING, "fryers": {"F1": {"name": "F1", "oil": "none", "oil_mass_kg": "9"}}}
    sentence = "does not go together with the other settings"
    with override("en"), pytest.raises(ValidationError, match=sentence):
        check_setup(things)


@pytest.mark.parametrize(
    ("thing", "key"), [("oils", "rapeseed"), ("products", "fries"), ("fryers", "F1"), ("limits", "house")]
)
def test_what_is_needed_stays(browser, marrowby, hand, thing, key):
    read(marrowby, hand)
    answer = browser.post(at("thing", marrowby, thing, key), {"remove": "yes"})
    assert answer.status_code == 200
    assert 'role="alert"' in answer.content.decode()
    if thing == "fryers":
        assert at("act", marrowby, "F1", "order") in answer.content.decode()
    assert key in settings_of(Kitchen.objects.get())[thing]


def test_what_a_reading_names_in_the_last_moment_stays(browser, marrowby, hand, monkeypatch):
    def later(*args):
        read(marrowby, hand, meter="hand")
        return settings_change(*args)

    monkeypatch.setattr("kettlewell.web.setup.views.settings_change", later)
    page = browser.post(at("thing", marrowby, "meters", "hand"), {"remove": "yes"}).content.decode()
    assert "The day book speaks of it, so it stays." in page
    assert "hand" in settings_of(Kitchen.objects.get())["meters"]


@pytest.mark.parametrize(("thing", "key"), [("fryers", "F2"), ("meters", "hand"), ("services", "dinner")])
def test_what_nobody_needs_can_go(browser, marrowby, thing, key):
    browser.post(at("thing", marrowby, thing, key), {"remove": "yes"})
    assert key not in settings_of(Kitchen.objects.get())[thing]


@pytest.mark.parametrize("thing", ["oils", "products", "meters", "reference_lots", "services", "fryers"])
def test_a_thing_is_added(browser, marrowby, thing):
    sent = {
        "oils": {"name": "Soya oil", "kind": "soya"},
        "products": {"name": "Onion rings", "kind": "other"},
        "meters": {**METER, "name": "Second"},
        "reference_lots": {**BOTTLE, "opened": "2026-10-01"},
        "services": {"name": "Brunch", "days": ["sun"], "from": "09:00", "to": "11:00"},
        "fryers": {
            "key": "F3",
            "name": "Rings",
            "oil": "rapeseed",
            "oil_mass_kg": "9",
            "set_temp_c": "175",
            "draining": "hand",
        },
    }[thing]
    assert browser.post(at("thing-new", marrowby, thing), sent).status_code == 302
    added = settings_of(Kitchen.objects.get())[thing]
    assert list(added.values())[-1]["name"] == sent["name"]
    assert list(added)[-1] in {"soya-oil", "onion-rings", "second", "lot-7", "brunch", "F3"}


def test_a_thing_may_be_called_new(browser, marrowby):
    """Its address is not the one where things are added."""
    browser.post(at("thing-new", marrowby, "oils"), {"name": "New", "kind": "soya"})
    browser.post(at("thing", marrowby, "oils", "new"), {"name": "New", "kind": "olive"})
    assert values_of(marrowby, "oils", "new")["kind"] == "olive"


def figures(kitchen):
    (meter,) = setup_of(Kitchen.objects.get(pk=kitchen.pk)).kitchen.meters
    return meter.resolution_pct, meter.largest_error_pct, meter.min_oil_temp_c, meter.max_oil_temp_c


def test_the_figures_of_a_meter_are_asked_for_and_wide_ones_of_ours_taken_where_nobody_knows(
    browser, marrowby
):
    address = at("thing", marrowby, "meters", "hand")
    answer = browser.post(address, {"name": "Hand meter", "min_oil_temp_c": "50"})
    assert set(answer.context["form"].errors) == {"resolution_pct", "largest_error_pct", "max_oil_temp_c"}
    browser.post(address, {"name": "Hand meter", "min_oil_temp_c": "50", "untold": "on"})
    assert figures(marrowby) == (1, 3, 50, 180)
    page = browser.get(at("kitchen", marrowby)).content.decode()
    for told in ("3 % (ours, wide)", "1 % (ours, wide)", "<dd>50 °C</dd>", "<dd>180 °C (ours, wide)</dd>"):
        assert told in page, told
    assert browser.get(address).context["form"]["untold"].value() is True


def test_a_meter_written_down_without_figures_before_they_were_asked_for_answers_as_it_did(
    browser, marrowby, hand
):
    setting_add(marrowby, "meters", "hand", {"name": "Hand meter"}, hand=hand)
    assert figures(marrowby) == (0.5, 2, 40, 200)
    assert "<dd>40 °C (assumed)</dd>" in browser.get(at("kitchen", marrowby)).content.decode()


def test_a_bottle_is_warmed_to_the_temperature_on_its_label_if_it_is_told(browser, marrowby, hand):
    """One written down before it was asked for counts as read at 50 °C, as it did then."""
    setting_add(
        marrowby, "reference_lots", "old", {**BOTTLE, "expanded_u_pct": "0.6", "name": "Old"}, hand=hand
    )
    browser.post(at("thing-new", marrowby, "reference_lots"), BOTTLE)
    browser.post(at("thing-new", marrowby, "reference_lots"), {**BOTTLE, "name": "Lot 8", "read_at_c": "45"})
    lots = setup_of(Kitchen.objects.get(pk=marrowby.pk)).kitchen.reference_lots
    assert {lot.key: lot.at_c for lot in lots} == {"old": 50, "lot-7": None, "lot-8": 45}


def checked(kitchen, hand, **more):
    payload = {"meter": "hand", "lot": "lot-7", "readings": ["18.5"], **more}
    told = Told(id=uuid7(hand.now), kind="meter_check", happened_at=hand.now, payload=payload)
    return record(kitchen, told, hand)


@pytest.fixture
def bottle(browser, marrowby):
    sent = {**BOTTLE, "opened": "2026-10-01", "best_before": "2027-03-31"}
    browser.post(at("thing-new", marrowby, "reference_lots"), sent)
    marrowby.refresh_from_db()


@pytest.mark.usefixtures("bottle")
def test_a_bottle_of_reference_oil_is_shown_with_what_is_assumed_and_keeps_its_history(browser, marrowby):
    browser.post(at("thing", marrowby, "reference_lots", "lot-7"), {**BOTTLE, "tpc_pct": "18,2"})
    page = browser.get(at("thing", marrowby, "reference_lots", "lot-7")).content.decode()
    for said in ("Value on the bottle: 18 %", "Value on the bottle: 18.2 %", "Best before: 31 Mar 2027"):
        assert said in page, said
    assert "2 (assumed)" in browser.get(at("kitchen", marrowby)).content.decode()


@pytest.mark.usefixtures("bottle")
def test_bottle_and_meter_of_a_check_stay(browser, marrowby, hand):
    checked(marrowby, hand)
    for thing, key in (("reference_lots", "lot-7"), ("meters", "hand")):
        page = browser.post(at("thing", marrowby, thing, key), {"remove": "yes"}).content.decode()
        assert "The day book speaks of it, so it stays." in page
        assert key in settings_of(Kitchen.objects.get())[thing]


def test_what_a_meter_may_be_off_by_and_a_sample_costs_is_the_kitchens_own(browser, marrowby):
    assert "A meter may be off by" in browser.get(at("kitchen", marrowby)).content.decode()
    browser.post(
        at("thing", marrowby, "kitchen", "own"), {**OWN, "permissible_pct": "1,5", "laboratory_price": "42,5"}
    )
    kitchen = setup_of(Kitchen.objects.get(pk=marrowby.pk)).kitchen
    assert (kitchen.permissible_pct, str(kitchen.laboratory_price)) == (1.5, "42.5")


def test_a_house_may_read_every_day(browser, marrowby):
    browser.post(at("thing", marrowby, "kitchen", "own"), {**OWN, "readings": "daily"})
    assert setup_of(Kitchen.objects.get(pk=marrowby.pk)).kitchen.readings == "daily"
    assert "On every day that a fryer fries" in browser.get(at("kitchen", marrowby)).content.decode()


def test_removing_is_asked_about_first(browser, marrowby):
    """The button that removes comes to light with a question."""
    page = browser.get(at("thing", marrowby, "fryers", "F2")).content.decode()
    asked = page[page.index("<details", page.index("</form>", page.index("Save"))) :]
    assert asked.index("<summary>") < asked.index('name="remove"') < asked.index("</details>")


@pytest.mark.parametrize("who", ["cook", "inspector"])
def test_others_see_and_change_nothing(who, request, signed_in, marrowby):
    browser = signed_in(request.getfixturevalue(who))
    page = browser.get(at("kitchen", marrowby)).content.decode()
    for values in SETTINGS.values():
        assert values.get("name", "") in page
    assert at("thing", marrowby, "fryers", "F1") not in page
    for path in (reverse("set-up"), at("thing", marrowby, "fryers", "F1")):
        assert browser.post(path, {}).status_code == 403
    step = f"{reverse('set-up')}?kitchen={marrowby.slug}&step=oil"
    assert browser.get(step).status_code == 403


def test_a_limit_of_the_house_is_added(signed_in, owner, marrowby):
    address = reverse("thing-new", args=(marrowby.slug, "limits"))
    sent = {"quantity": "total polar compounds", "value": "23,5", "reason": "Our own"}
    assert signed_in(owner).post(address, sent).status_code == 302
    limits = settings_of(Kitchen.objects.get(pk=marrowby.pk))["limits"]
    assert ("total polar compounds", "23.5") in {(one["quantity"], one["value"]) for one in limits.values()}


@pytest.mark.parametrize(
    ("ticked", "further", "kept"),
    [
        ([], "", "unknown"),
        (["none"], "", []),
        (["egg", "fish"], "", ["egg", "fish"]),
        (["egg"], "meat,  buckwheat", ["egg", "meat", "buckwheat"]),
    ],
)
def test_allergens_are_some_or_none_or_not_known(ticked, further, kept):
    form = ProductForm(
        {"name": "Pie", "kind": "other", "allergens": ticked, "further": further}, things={}, key="pie"
    )
    assert form.is_valid()
    assert form.values().get("allergens", "unknown") == kept
    shown = ProductForm(initial={"allergens": None if kept == "unknown" else kept}, things={}, key="pie")
    assert (shown["allergens"].value() or []) == ticked
    assert (shown["further"].value() or "") == further.replace("  ", " ")


def test_what_food_holds_outweighs_a_tick_at_none():
    form = ProductForm({"name": "Pie", "kind": "other", "allergens": ["none", "egg"]}, things={}, key="pie")
    assert form.is_valid()
    assert form.values()["allergens"] == ["egg"]


def test_allergens_typed_before_they_were_a_list_are_ticked_and_told_in_the_readers_language(
    browser, marrowby, hand
):
    values = {**SETTINGS["products", "fries"], "allergens": ["Eggs", "weizen", "house spice"]}
    setting_add(marrowby, "products", "fries", values, hand=hand)
    form = browser.get(at("thing", marrowby, "products", "fries")).context["form"]
    assert form["allergens"].value() == ["egg", "gluten"]
    assert form["further"].value() == "house spice"
    german = {"headers": {"accept-language": "de"}}
    assert (
        "Schalenfrüchte" in browser.get(at("thing", marrowby, "products", "fries"), **german).content.decode()
    )
