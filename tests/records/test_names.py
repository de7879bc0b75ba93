"""People are called as the last entry on their names says: whoever edits their rows is found."""

import pytest

from kettlewell.bridge.people import Newcomer, Renewal, person_admit, seat_change
from kettlewell.records.ledger import setting_add
from kettlewell.records.models import Entry, Kitchen, Person, Role
from kettlewell.records.names import misnamed
from kettlewell.records.people import SeatTerms, person_erase, seat_remove, seat_set


@pytest.fixture
def quay(owner, hand):
    """Another kitchen of the same owner."""
    kitchen = Kitchen.objects.create(slug="quay")
    seat_set(kitchen, owner, SeatTerms(role=Role.OWNER), hand=hand)
    setting_add(kitchen, "kitchen", "", {"name": "Quay", "timezone": "Europe/London"}, hand=hand)
    return kitchen


def found():
    return list(misnamed())


def called(person, name):
    Person.objects.filter(pk=person.pk).update(name=name)


def test_people_as_the_program_wrote_them_are_called_as_it_says(cook, area_manager, inspector, stranger):
    assert found() == []


def test_swapped_names_are_found(marrowby, cook, area_manager):
    called(cook, area_manager.name)
    called(area_manager, cook.name)
    assert found() == [(key, True) for key in sorted([str(cook.pk), str(area_manager.pk)])]


@pytest.mark.parametrize("name", ["Cora Crook", "", "cora cook", "Cora Cook "])
def test_a_person_renamed_without_an_entry_is_found(cook, name):
    called(cook, name)
    assert found() == [(str(cook.pk), True)]


def test_a_person_renamed_by_the_program_is_called_as_it_says_and_no_more_as_before(marrowby, cook, hand):
    seat_change(marrowby, cook, SeatTerms(role=Role.COOK), hand=hand, renewal=Renewal(name="Cora Cookson"))
    assert found() == []
    called(cook, "Cora Cook")
    assert found() == [(str(cook.pk), True)]


@pytest.mark.parametrize("name", ["Cora Crook", "Cora Cook"], ids=["another", "the older"])
def test_who_works_in_two_kitchens_is_called_as_both_say_last(marrowby, quay, cook, hand, name):
    seat_set(quay, cook, SeatTerms(role=Role.COOK), hand=hand)
    seat_change(quay, cook, SeatTerms(role=Role.COOK), hand=hand, renewal=Renewal(name="Cora Cookson"))
    assert found() == []
    called(cook, name)
    assert found() == [(str(cook.pk), True)]


def test_the_name_a_kitchen_knew_before_it_was_left_is_no_fault_and_no_excuse(marrowby, quay, cook, hand):
    seat_set(quay, cook, SeatTerms(role=Role.COOK), hand=hand)
    seat_remove(quay, cook, hand=hand)
    seat_change(marrowby, cook, SeatTerms(role=Role.COOK), hand=hand, renewal=Renewal(name="Cora Cookson"))
    assert found() == []
    called(cook, "Cora Cook")
    assert found() == [(str(cook.pk), True)]


def test_who_was_erased_is_no_fault_and_is_called_nothing_ever_after(marrowby, cook, hand):
    person_erase(marrowby, cook, hand=hand)
    assert found() == []
    called(cook, "Cora Cook")
    assert found() == [(str(cook.pk), True)]


def test_who_was_erased_in_one_kitchen_keeps_the_name_of_the_other(marrowby, quay, cook, hand):
    seat_set(quay, cook, SeatTerms(role=Role.COOK), hand=hand)
    person_erase(marrowby, cook, hand=hand)
    assert found() == []
    called(cook, "")
    assert found() == [(str(cook.pk), True)]


def test_who_left_one_kitchen_and_was_then_erased_in_the_last_is_no_fault(marrowby, quay, cook, hand):
    """The account is closed, though the kitchen that was left still has the name."""
    seat_set(quay, cook, SeatTerms(role=Role.COOK), hand=hand)
    seat_remove(quay, cook, hand=hand)
    person_erase(marrowby, cook, hand=hand)
    assert Person.objects.get(pk=cook.pk).name == ""
    assert found() == []


def test_who_left_and_came_back_after_erasing_has_the_new_name(marrowby, hand, cook):
    person_erase(marrowby, cook, hand=hand)
    newcomer = Newcomer(sign_in="cora", name="Cora Again", password="chips at the harbour")
    again = person_admit(marrowby, newcomer, SeatTerms(role=Role.COOK), hand=hand)
    assert found() == []
    called(again, "Cora Cook")
    assert found() == [(str(again.pk), True)]


@pytest.mark.sqlite
def test_a_person_whose_row_is_gone_though_entries_name_it_is_found(marrowby, cook, write, hand, sql):
    sql("PRAGMA defer_foreign_keys = ON")
    ((row,),) = sql("SELECT count(*) FROM records_person")
    kept = Person.objects.get(pk=cook.pk)
    sql("DELETE FROM records_person WHERE id = %s", cook.pk.hex)
    assert found() == [(str(cook.pk), False)]
    kept.save(force_insert=True)
    assert (found(), Person.objects.count()) == ([], row)


@pytest.mark.sqlite
def test_a_name_that_is_no_text_is_found(cook, sql):
    sql("UPDATE records_person SET name = CAST(%s AS TEXT) WHERE id = %s", b"\xff", cook.pk.hex)
    assert found() == [(str(cook.pk), False)]


@pytest.mark.parametrize(
    "change",
    [{"payload": []}, {"payload": {"thing": "people", "key": ["x"]}}, {"private": 7}],
    ids=["no payload", "no person", "no digests"],
)
def test_a_setting_that_cannot_be_read_as_one_tells_no_name(cook, drop_triggers, change):
    """Its chain is found broken; of the name nothing is said."""
    drop_triggers()
    Entry.objects.filter(payload__key=str(cook.pk)).update(**change)
    assert found() == []


@pytest.mark.sqlite
@pytest.mark.parametrize("content", [99_999_999_999, b"\xff"])
def test_a_kept_name_that_cannot_be_read_is_another_one(cook, drop_triggers, sql, content):
    drop_triggers()
    entry = Entry.objects.get(payload__key=str(cook.pk))
    sql("UPDATE records_private SET content = %s WHERE entry_id = %s", content, entry.pk.hex)
    assert found() == [(str(cook.pk), True)]
