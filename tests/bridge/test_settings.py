"""A setting is refused by field, whoever sets it: here without a form."""

from datetime import timedelta

import pytest
from cast import SETTINGS
from django.core.exceptions import ValidationError
from django.utils.translation import override

from kettlewell.bridge.settings import RefusedChangeError, SettingChange, settings_change
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Told, entry_add
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.settings import settings_of

F3 = {"name": "Rings", "oil": "rapeseed", "oil_mass_kg": "9", "set_temp_c": "175"}
LOT = {"name": "Lot 7", "tpc_pct": "18", "expanded_u_pct": "0.6"}
BRUNCH = {"name": "Brunch", "days": ["sun"], "from": "09:00", "to": "11:00"}


def change(kitchen, hand, *changes, **more):
    with override("en"):
        return settings_change(kitchen, changes, hand, **more)


def added(thing, values, key=""):
    return SettingChange(thing=thing, values=values, key=key, new=True)


def settings_entries():
    return Entry.objects.filter(kind="setting").count()


@pytest.mark.parametrize(
    ("thing", "key", "values", "field"),
    [
        ("fryers", "F1", {"oil_mass_kg": "0"}, "oil_mass_kg"),
        ("fryers", "F1", {"oil_mass_kg": "heavy"}, "oil_mass_kg"),
        ("fryers", "F1", {"oil_mass_kg": ""}, "oil_mass_kg"),
        ("fryers", "F1", {"minimum_mass_kg": "17"}, "minimum_mass_kg"),
        ("fryers", "F1", {"set_temp_c": "301"}, "set_temp_c"),
        ("fryers", "F1", {"set_temp_c": "160", "standby_temp_c": "161"}, "standby_temp_c"),
        ("fryers", "F1", {"set_temp_c": "", "standby_temp_c": "176"}, "standby_temp_c"),
        ("fryers", "F1", {"oil": "none"}, "oil"),
        ("fryers", "F1", {"fries": ["fries", "none"]}, "fries"),
        ("fryers", "F1", {"draining": "by magic"}, "draining"),
        ("fryers", "F1", {"name": "fish"}, "name"),
        ("oils", "rapeseed", {"kind": "butter"}, "kind"),
        ("oils", "rapeseed", {"name": ""}, "name"),
        ("meters", "hand", {"min_oil_temp_c": "200"}, "max_oil_temp_c"),
        ("meters", "hand", {"resolution_pct": "11"}, "resolution_pct"),
        ("services", "lunch", {"to": "11:30"}, "to"),
        ("services", "lunch", {"to": "18:00"}, "to"),
        ("services", "lunch", {"fryers": ["F9"]}, "fryers"),
        ("fryers", "F1", {"name": "Left\u202e"}, "name"),
        ("fryers", "F1", {"name": "\u200b\u200b"}, "name"),
        ("fryers", "F1", {"name": "Left\r\nFry on"}, "name"),
        ("fryers", "F1", {"usual_load_kg": "3000"}, "usual_load_kg"),
        ("kitchen", "", {"name": "\x1b[1AMarrowby"}, "name"),
        ("limits", "house", {"reason": "r" * 501}, "reason"),
        ("kitchen", "", {"risk": "0.6"}, "risk"),
        ("limits", "house", {"value": "0"}, "value"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(marrowby, hand, thing, key, values, field):
    before = settings_entries()
    with pytest.raises(RefusedChangeError) as refused:
        change(marrowby, hand, SettingChange(thing=thing, key=key, values={**SETTINGS[thing, key], **values}))
    assert list(refused.value.error_dict) == [field]
    assert settings_entries() == before


@pytest.mark.parametrize(
    ("opened", "refused_as"),
    [("2999-01-01", "This day has not come yet."), ("2026-02-01", "This lies after")],
)
def test_a_bottle_was_opened_on_a_day_that_can_be(marrowby, hand, opened, refused_as):
    lot = {**LOT, "opened": opened, "best_before": "2026-01-31"}
    if opened.startswith("2999"):
        lot["best_before"] = "2999-12-31"
    with pytest.raises(ValidationError, match=refused_as):
        change(marrowby, hand, added("reference_lots", lot))


@pytest.mark.parametrize("key", ["f1", "F 3", "", "F" * 21, "Fries"])
def test_a_fryer_has_a_mark_of_its_own(marrowby, hand, key):
    with pytest.raises(RefusedChangeError) as refused:
        change(marrowby, hand, added("fryers", F3, key))
    assert list(refused.value.error_dict) == ["key"]


def test_other_things_get_a_key_from_their_name_that_nothing_else_answers_to(marrowby, hand):
    keys = change(
        marrowby,
        hand,
        added("meters", {"name": "Second"}),
        added("services", BRUNCH),
        added("services", {**BRUNCH, "days": ["sat"]}),
    )
    assert keys == ["second", "brunch", "brunch-2"]
    assert list(settings_of(marrowby)["services"]) == ["lunch", "dinner", "brunch", "brunch-2"]


def test_changes_are_written_together_or_not_at_all_and_the_one_at_fault_is_named(marrowby, hand):
    before = settings_entries()
    with pytest.raises(RefusedChangeError) as refused:
        change(marrowby, hand, added("oils", {"name": "Soya"}), added("fryers", {**F3, "oil": "soja"}, "F3"))
    assert refused.value.number == 1
    assert settings_entries() == before


def test_one_change_may_name_what_another_brings(marrowby, hand):
    change(marrowby, hand, added("oils", {"name": "Soya"}), added("fryers", {**F3, "oil": "soya"}, "F3"))
    assert settings_of(marrowby)["fryers"]["F3"]["oil"] == "soya"


def test_what_is_as_it_was_is_not_written_again(marrowby, hand):
    before = settings_entries()
    change(marrowby, hand, SettingChange(thing="fryers", key="F1", values=SETTINGS["fryers", "F1"]))
    assert settings_entries() == before


def test_what_is_no_longer_there_is_not_brought_back_by_a_change(marrowby, hand):
    change(marrowby, hand, SettingChange(thing="services", key="dinner", values=None))
    with pytest.raises(ValidationError, match="no longer set up"):
        change(
            marrowby,
            hand,
            SettingChange(thing="services", key="dinner", values=SETTINGS["services", "dinner"]),
        )


@pytest.mark.parametrize(
    ("thing", "key", "said"),
    [
        ("fryers", "F1", "Take it out of use instead"),
        ("meters", "hand", "The day book speaks of it"),
        ("oils", "rapeseed", "In use at: F1, F2"),
        ("products", "fries", "In use at: F1, F2"),
        ("limits", "house", "give a limit of your own"),
    ],
)
def test_what_is_in_use_cannot_be_removed(marrowby, hand, thing, key, said):
    sound = dict.fromkeys(("no_food", "no_bubbles", "probe_clear", "steady"), "yes")
    reading = {"fryer": "F1", "tpc_pct": "12", "meter": "hand", **sound}
    entry_add(marrowby, Told(id=uuid7(hand.now), kind="reading", happened_at=hand.now, payload=reading), hand)
    with pytest.raises(ValidationError, match=said):
        change(marrowby, hand, SettingChange(thing=thing, key=key, values=None))
    assert key in settings_of(Kitchen.objects.get(pk=marrowby.pk))[thing]


def test_a_change_of_the_past_has_to_go_together_with_what_was_set_since(marrowby, hand):
    then = hand.now - timedelta(days=1)
    change(marrowby, hand, SettingChange(thing="services", key="dinner", values=None))
    evening = {"name": "Evening", "days": ["sun"], "from": "18:00", "to": "20:00"}
    with pytest.raises(RefusedChangeError) as refused:  # dinner was still served then
        change(marrowby, hand, added("services", evening), counts_from=then)
    assert list(refused.value.error_dict) == ["to"]
    change(marrowby, hand, added("services", evening))
    supper = {**evening, "name": "Supper", "days": ["sun"], "from": "20:30", "to": "21:30"}
    change(marrowby, hand, added("services", supper), counts_from=then)
    late = {**supper, "name": "Late", "from": "17:00", "to": "17:30"}
    change(marrowby, hand, added("services", late), counts_from=then)
    assert list(settings_of(marrowby)["services"]) == ["lunch", "supper", "late", "evening"]


def test_a_thing_of_the_past_takes_no_key_that_was_given_since(marrowby, hand):
    change(marrowby, hand, added("fryers", F3, "F3"))
    then = hand.now - timedelta(days=1)
    with pytest.raises(RefusedChangeError) as refused:
        change(marrowby, hand, added("fryers", {**F3, "name": "Old"}, "F3"), counts_from=then)
    assert list(refused.value.error_dict) == ["key"]


def test_what_was_as_it_is_told_late_is_not_written_again(marrowby, hand):
    hotter = {**SETTINGS["fryers", "F1"], "set_temp_c": "185"}
    change(marrowby, hand, SettingChange(thing="fryers", key="F1", values=hotter))
    before = settings_entries()
    as_it_was = SettingChange(thing="fryers", key="F1", values=SETTINGS["fryers", "F1"])
    change(marrowby, hand, as_it_was, counts_from=hand.now - timedelta(days=1))
    assert settings_entries() == before


def test_a_change_may_count_from_a_time_that_is_past(marrowby, hand):
    then = hand.now - timedelta(days=1)
    hotter = {**SETTINGS["fryers", "F1"], "set_temp_c": "185"}
    change(marrowby, hand, SettingChange(thing="fryers", key="F1", values=hotter), counts_from=then)
    last = Entry.objects.filter(kind="setting").latest("seq")
    assert (last.at, last.payload["values"]["set_temp_c"]) == (then, "185")
    with pytest.raises(ValidationError, match="has not come yet"):
        change(
            marrowby,
            hand,
            SettingChange(thing="fryers", key="F1", values=hotter),
            counts_from=hand.now + timedelta(minutes=1),
        )
