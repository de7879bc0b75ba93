"""Settings have a history: any day's can be read again."""

from contextlib import suppress
from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kettlewell.records.ledger import setting_add
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.settings import kitchen_name, settings_of, written_of

F1 = {"name": "Fries", "oil": "rapeseed", "oil_mass_kg": "20", "set_temp_c": "185"}


class Rolled(Exception):  # noqa: N818 - raised to roll a transaction back, not an error
    pass


def test_a_setting_holds_until_the_next_and_the_old_one_can_be_read_again(marrowby, hand):
    before = settings_of(marrowby)["fryers"]["F1"]
    entry = setting_add(marrowby, "fryers", "F1", {**before, "oil_mass_kg": "20"}, hand=hand)
    assert settings_of(marrowby)["fryers"]["F1"]["oil_mass_kg"] == "20"
    assert settings_of(marrowby, at_seq=entry.seq)["fryers"]["F1"]["oil_mass_kg"] == "20"
    assert settings_of(marrowby, at_seq=entry.seq - 1)["fryers"]["F1"] == before
    assert settings_of(marrowby, at_seq=1) == {
        "people": settings_of(marrowby)["people"],
    }
    assert settings_of(marrowby, at_seq=0) == {}


def test_a_removed_thing_is_gone_and_was_there(marrowby, hand):
    entry = setting_add(marrowby, "fryers", "F2", None, hand=hand)
    assert list(settings_of(marrowby)["fryers"]) == ["F1"]
    assert list(settings_of(marrowby, at_seq=entry.seq - 1)["fryers"]) == ["F1", "F2"]
    of_it = [one.payload for one in written_of(marrowby, "fryers") if one.payload["key"] == "F2"]
    assert [payload.get("removed", False) for payload in of_it] == [False, True]


def test_a_setting_counts_from_the_time_it_is_given(marrowby, hand):
    then = hand.now - timedelta(days=2)
    entry = setting_add(marrowby, "fryers", "F1", F1, hand=hand, counts_from=then)
    assert (entry.at, entry.received_at) == (then, hand.now)
    assert settings_of(marrowby)["fryers"]["F1"] == F1


def test_what_is_told_late_of_an_earlier_time_leaves_what_was_set_since(marrowby, hand):
    newer = {**F1, "set_temp_c": "180"}
    setting_add(marrowby, "fryers", "F1", newer, hand=hand, counts_from=hand.now - timedelta(days=1))
    setting_add(marrowby, "fryers", "F1", F1, hand=hand, counts_from=hand.now - timedelta(days=3))
    assert settings_of(marrowby)["fryers"]["F1"] == newer
    counted = [one.payload["values"] for one in written_of(marrowby, "fryers") if one.payload["key"] == "F1"]
    assert counted[1:] == [F1, newer]


def test_no_setting_counts_from_a_time_to_come(marrowby, hand):
    later = hand.now + timedelta(minutes=1)
    with pytest.raises(ValidationError) as refused:
        setting_add(marrowby, "fryers", "F1", F1, hand=hand, counts_from=later)
    assert list(refused.value.error_dict) == ["counts_from"]
    assert not Entry.objects.filter(at__gt=hand.now).exists()


def test_what_is_no_setting_changes_none(marrowby, write):
    before = settings_of(marrowby)
    entry = write()
    assert settings_of(marrowby, at_seq=entry.seq) == before


def test_a_setting_taken_back_with_its_transaction_is_not_remembered(marrowby, hand):
    """The next one gets the same number."""
    for name in ("Never", "Now"):
        with suppress(Rolled), transaction.atomic():
            kitchen = Kitchen.objects.get(pk=marrowby.pk)
            setting_add(kitchen, "kitchen", "", {"name": name}, hand=hand)
            assert kitchen_name(kitchen) == name
            if name == "Never":
                raise Rolled
    assert kitchen_name(Kitchen.objects.get(pk=marrowby.pk)) == "Now"


CHANGES = st.lists(
    st.tuples(
        st.sampled_from(["oils", "fryers", "limits"]),
        st.sampled_from(["a", "b"]),
        st.none() | st.dictionaries(st.sampled_from(["name", "value"]), st.sampled_from(["1", "2"])),
    ),
    max_size=8,
)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(CHANGES)
def test_settings_as_of_any_entry_are_what_was_set_up_to_it(db, hand, changes):
    kitchen = Kitchen.objects.create(slug=f"k{Kitchen.objects.count()}")
    expected, seen = {}, []
    for thing, key, values in changes:
        entry = setting_add(kitchen, thing, key, values, hand=hand)
        if values is None:
            expected.pop((thing, key), None)
        else:
            expected[thing, key] = values
        seen.append((entry.seq, dict(expected)))
    for seq, as_of in seen:
        found = settings_of(kitchen, at_seq=seq)
        assert {(thing, key): v for thing, keys in found.items() for key, v in keys.items()} == as_of
