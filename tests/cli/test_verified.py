"""What verify tells of day books, sentence by sentence."""

from dataclasses import replace
from datetime import timedelta

import pytest

from kettlewell import clock
from kettlewell.bridge.demo import demo_kitchen
from kettlewell.cli.verified import verified
from kettlewell.records.ledger import setting_add
from kettlewell.records.models import Entry, Kitchen, LostTrigger, Person, Role, Seat
from kettlewell.telling import reader


@pytest.fixture
def told():
    """Return what verify tells now, and which of it stands."""

    def lines():
        return {line.text: stands for line, stands in verified(reader("UTC", clock.now(), locale="en"))}

    return lines


def written(entry):
    return f"{reader('UTC', clock.now(), locale='en').date(entry.received_at)} UTC"


def test_a_whole_book_is_told_with_its_last_entry_and_when_that_was_written(marrowby, told):
    last = Entry.objects.get(kitchen=marrowby, seq=marrowby.head_seq)
    assert told() == {
        f"Marrowby test canteen: whole up to entry {last.seq}, written {written(last)}."
        f" Head: {marrowby.head_hash}": True
    }


def test_a_kitchen_in_whose_book_nothing_stands_is_whole(db, told):
    Kitchen.objects.create(slug="empty")
    assert told() == {"empty: nothing was written yet.": True}


def test_where_an_entry_was_edited_the_chain_is_told_unbroken_up_to_the_one_before(
    marrowby, told, drop_triggers
):
    before = Entry.objects.get(kitchen=marrowby, seq=4)
    drop_triggers()
    Entry.objects.filter(kitchen=marrowby, seq__in=(5, 8)).update(fryer="F9")
    sentence = (
        f"{marrowby.slug}: the chain is unbroken up to entry 4, written {written(before)} (head then:"
        f" {before.hash}). Of what follows nothing is said."
    )
    assert [(text, stands) for text, stands in told().items() if "chain" in text] == [(sentence, False)]


def test_where_the_first_entry_was_edited_nothing_is_told_unbroken(marrowby, told, drop_triggers):
    drop_triggers()
    Entry.objects.filter(kitchen=marrowby, seq=1).update(received_at=clock.now() - timedelta(days=9))
    assert [text for text in told() if text.startswith(f"{marrowby.slug}: ")] == [
        f"{marrowby.slug}: entry 1 was edited ({Entry.objects.get(seq=1).pk})."
    ]


def test_where_only_a_seat_is_wrong_the_whole_chain_is_told_unbroken(marrowby, cook, told):
    Seat.objects.filter(person=cook).update(role=Role.AREA_MANAGER)
    last = Entry.objects.filter(kitchen=marrowby).last()
    sentence = f"unbroken up to its last entry, {last.seq}, written {written(last)}. Head: {last.hash}"
    assert any(sentence in text for text in told())


def test_a_clock_that_ran_backwards_is_told_and_no_fault(marrowby, hand, told):
    for now in (clock.now(), clock.now() - timedelta(hours=26, minutes=3)):
        setting_add(marrowby, "limits", "house", {"value": "20"}, hand=replace(hand, now=now))
    sentence = (
        f"{marrowby.slug}: entry {marrowby.head_seq} was received 26 h 3 min before the entry it follows:"
        " the server's clock was put back, or was wrong before."
    )
    assert told()[sentence]
    assert all(told().values())


def test_nothing_is_told_of_the_clock_past_the_first_fault(marrowby, hand, told, drop_triggers):
    for now in (clock.now(), clock.now() - timedelta(hours=26)):
        setting_add(marrowby, "limits", "house", {"value": "20"}, hand=replace(hand, now=now))
    drop_triggers()
    Entry.objects.filter(kitchen=marrowby, seq=marrowby.head_seq).update(fryer="F9")
    assert not any("clock" in text for text in told())


def test_the_demo_was_written_in_the_order_of_its_clock(db, told):
    demo_kitchen(clock.now())
    assert all(told().values())
    assert not any("clock" in text for text in told())


def test_a_person_renamed_in_the_table_is_told_by_table_and_id(marrowby, cook, told):
    Person.objects.filter(pk=cook.pk).update(name="Cora Crook")
    sentence = f"records_person: person {cook.pk} has another name than the day book says."
    assert told()[sentence] is False


def test_a_trigger_that_a_start_found_missing_is_told_ever_after(marrowby, told):
    LostTrigger.objects.create(name="records_entry_no_update", found_at=clock.now())
    sentence = (
        "records_entry_no_update was gone or changed when the server started on Sun 15 Nov 2026, 21:30 UTC,"
        " and was renewed. Before that the database did not guard the day book."
    )
    assert told()[sentence]


@pytest.mark.sqlite
def test_a_day_book_that_was_not_brought_up_to_date_yet_is_verified(marrowby, told, sql):
    sql("DROP TABLE records_losttrigger")
    assert list(told().values()) == [True]


@pytest.mark.sqlite
def test_a_kitchen_whose_address_is_no_text_is_told_all_the_same(marrowby, told, sql):
    Kitchen.objects.create(slug="quay")
    sql("UPDATE records_kitchen SET slug = CAST(slug AS BLOB) WHERE id = %s", marrowby.pk.hex)
    sentence = "records_kitchen, row 1: slug is not written as the program writes it. Somebody edited it."
    assert told()[sentence] is False
    assert any(text.startswith("Marrowby test canteen: whole") for text in told())
