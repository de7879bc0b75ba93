"""Someone who owns the database changes the day book: verify says what was done, and where."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.db.models import F

from kettlewell import clock
from kettlewell.records.canonical import sha256
from kettlewell.records.chain import Break, Fault
from kettlewell.records.ledger import document, private_erase, setting_add
from kettlewell.records.models import Device, Entry, Kitchen, Private, Role, Seat
from kettlewell.records.people import SeatTerms, device_add, device_retire, seat_remove, seat_set
from kettlewell.records.settings import written_of
from kettlewell.records.verify import kitchens, set_back, strays, verify

FAR = 1_000_000
NO_TEXT = b"\xff"


@pytest.fixture
def book(marrowby, write, drop_triggers):
    """Six readings of which each has a note; the triggers are gone."""
    entries = [write(private={"note": f"note {number}".encode()}) for number in range(6)]
    assert verify(marrowby) is None
    drop_triggers()
    return entries


def found(kitchen):
    return verify(Kitchen.objects.get(pk=kitchen.pk))


def rows_of(*entries):
    return Entry.objects.filter(pk__in=[entry.pk for entry in entries])


def cut_out(entry):
    Private.objects.filter(entry=entry)._raw_delete("default")
    rows_of(entry)._raw_delete("default")


def move(entries, by):
    """Give entries other numbers, on a way round the rule of one entry each number."""
    rows_of(*entries).update(seq=F("seq") + FAR)
    rows_of(*entries).update(seq=F("seq") - FAR + by)


def as_kept(content):
    """Bytes that are no text are kept as text all the same."""
    return "CAST(%s AS TEXT)" if content == NO_TEXT else "%s"


def hashed_anew(entry):
    entry.refresh_from_db()
    rows_of(entry).update(hash=sha256(document(entry)))


EDITS = {
    "payload": {"payload": {"fryer": "F1", "tpc_pct": "9"}},
    "payload as a number": {"payload": {"fryer": "F1", "tpc_pct": 15.5}},
    "payload emptied": {"payload": {}},
    "fryer": {"fryer": "F2"},
    "kind": {"kind": "laboratory"},
    "time": {"happened_at": clock.now() - timedelta(days=3)},
    "received": {"received_at": clock.now() - timedelta(days=3)},
    "clock": {"clock_error_s": Decimal(60)},
    "person": {"person": None},
    "version": {"version": "0"},
    "previous": {"previous": "ab" * 32},
    "hash": {"hash": "ab" * 32},
    "digest of the note": {"private": {"note": "ab" * 32}},
    "note forgotten": {"private": {}},
    "note of another shape": {"private": ["note"]},
    "when it truly happened": {"at": clock.now() - timedelta(days=3)},
    "what it waits for": {"asks": True},
}


@pytest.mark.parametrize("place", [0, 2, 5], ids=["first", "middle", "last"])
@pytest.mark.parametrize("edit", EDITS)
def test_an_edited_entry_is_named(marrowby, book, edit, place):
    entry = book[place]
    rows_of(entry).update(**EDITS[edit])
    assert found(marrowby) == Break(seq=entry.seq, entry=str(entry.id), fault=Fault.EDITED)


@pytest.mark.parametrize("place", [0, 2, 5], ids=["first", "middle", "last"])
def test_an_edited_entry_with_its_hash_made_anew_is_named(marrowby, book, place):
    entry = book[place]
    rows_of(entry).update(payload={"fryer": "F1", "tpc_pct": "9"})
    hashed_anew(entry)
    assert found(marrowby) == Break(seq=entry.seq, entry=str(entry.id), fault=Fault.EDITED)


def test_the_very_first_entry_of_the_book_is_guarded_too(marrowby, book):
    first = Entry.objects.filter(kitchen=marrowby).first()
    cut_out(first)
    assert found(marrowby) == Break(seq=1, entry="", fault=Fault.REMOVED)


@pytest.mark.parametrize("renumbered", [False, True])
@pytest.mark.parametrize("place", [0, 3])
def test_a_removed_entry_is_missed_at_its_place(marrowby, book, place, renumbered):
    cut_out(book[place])
    if renumbered:
        move(book[place + 1 :], -1)
    assert found(marrowby) == Break(seq=book[place].seq, entry="", fault=Fault.REMOVED)


@pytest.mark.parametrize("kept", [5, 3, 0])
def test_a_tail_cut_off_is_missed_where_it_began(marrowby, book, kept):
    for entry in book[kept:]:
        cut_out(entry)
    assert found(marrowby) == Break(seq=book[kept].seq, entry="", fault=Fault.REMOVED)


def test_a_tail_cut_off_with_the_head_moved_back_needs_a_head_noted_elsewhere(marrowby, book):
    """What verify cannot see, as its page says: this is why heads are printed."""
    cut_out(book[5])
    Kitchen.objects.filter(pk=marrowby.pk).update(head_seq=book[4].seq, head_hash=book[4].hash)
    assert found(marrowby) is None


@pytest.mark.parametrize("chained", [False, True])
@pytest.mark.parametrize("place", [0, 3])
def test_an_entry_squeezed_in_is_named(marrowby, book, place, chained):
    move(book[place:], 1)
    after = book[place]
    forged = Entry.objects.get(pk=after.pk)
    forged.pk, forged.seq, forged.private = uuid4(), after.seq, {}
    forged.hash = sha256(document(forged))
    forged.save(force_insert=True)
    if chained:
        rows_of(after).update(previous=forged.hash)
    assert found(marrowby) == Break(seq=forged.seq, entry=str(forged.id), fault=Fault.INSERTED)


def test_an_entry_added_behind_the_head_is_named(marrowby, book):
    last = book[-1]
    forged = Entry.objects.get(pk=last.pk)
    forged.pk, forged.seq, forged.previous, forged.private = uuid4(), last.seq + 1, last.hash, {}
    forged.hash = sha256(document(forged))
    forged.save(force_insert=True)
    assert found(marrowby) == Break(seq=forged.seq, entry=str(forged.id), fault=Fault.INSERTED)


@pytest.mark.parametrize(("one", "other"), [(0, 1), (2, 4), (4, 5), (0, 5)])
def test_entries_in_another_order_are_named_at_the_first(marrowby, book, one, other):
    first, second = book[one], book[other]
    apart = second.seq - first.seq
    rows_of(first).update(seq=FAR)
    rows_of(second).update(seq=first.seq)
    rows_of(first).update(seq=first.seq + apart)
    assert found(marrowby) == Break(seq=first.seq, entry=str(second.id), fault=Fault.REORDERED)


def test_an_entry_given_another_number_alone_is_found(marrowby, book):
    rows_of(book[2]).update(seq=FAR)
    finding = found(marrowby)
    assert (finding.seq, finding.fault) == (book[2].seq, Fault.REORDERED)


@pytest.mark.parametrize(
    "change", [{"content": b"another note"}, {"salt": b"x" * 32}, {"salt": None}, {"field": "name"}]
)
def test_an_edited_note_is_named(marrowby, book, change):
    Private.objects.filter(entry=book[3]).update(**change)
    assert found(marrowby) == Break(seq=book[3].seq, entry=str(book[3].id), fault=Fault.EDITED)


def test_a_note_taken_out_with_its_row_is_named(marrowby, book):
    Private.objects.filter(entry=book[3])._raw_delete("default")
    assert found(marrowby) == Break(seq=book[3].seq, entry=str(book[3].id), fault=Fault.EDITED)


def test_a_note_added_later_is_named(marrowby, book):
    Private.objects.create(entry=book[3], field="reason", salt=b"", content=b"never said")
    assert found(marrowby) == Break(seq=book[3].seq, entry=str(book[3].id), fault=Fault.EDITED)


def test_an_erased_note_is_as_it_should_be(marrowby, book, hand):
    private_erase(marrowby, book[1:4], hand)
    assert found(marrowby) is None


def test_an_entry_taken_to_another_kitchen_is_missed_here_and_named_there(marrowby, book):
    other = Kitchen.objects.create(slug="another")
    rows_of(book[2]).update(kitchen=other, seq=1)
    assert found(marrowby) == Break(seq=book[2].seq, entry="", fault=Fault.REMOVED)
    assert found(other) == Break(seq=1, entry=str(book[2].id), fault=Fault.INSERTED)


@pytest.mark.sqlite
@pytest.mark.parametrize(
    ("column", "content"),
    [
        ("happened_at", '"{'),
        ("received_at", '"{'),
        ("clock_error_s", "abc"),
        ("person_id", "zz"),
        ("payload", "{"),
        ("payload", "[" * 100_000),
        ("payload", "[" * 100_000 + "]" * 100_000),
        ("private", "7"),
        ("id", "zz"),
        ("hash", NO_TEXT),
        ("previous", NO_TEXT),
        ("kind", NO_TEXT),
    ],
)
def test_what_cannot_even_be_read_is_named(marrowby, book, sql, column, content):
    """SQLite keeps any text in any column."""
    entry = book[2]
    ((number, before),) = sql(f"SELECT rowid, {column} FROM records_entry WHERE id = %s", entry.id.hex)
    write_over = f"UPDATE records_entry SET {column} = {as_kept(content)} WHERE rowid = %s"
    sql("PRAGMA ignore_check_constraints = ON")
    sql(write_over, content, number)
    named = content if column == "id" else str(entry.id)
    assert found(marrowby) == Break(seq=entry.seq, entry=named, fault=Fault.EDITED)
    sql(write_over, before, number)
    sql("PRAGMA ignore_check_constraints = OFF")
    assert found(marrowby) is None


@pytest.mark.sqlite
def test_an_entry_whose_number_is_none_is_missed_at_its_place(marrowby, book, sql):
    """Text comes behind all numbers."""
    sql("UPDATE records_entry SET seq = 'zz' WHERE id = %s", book[2].id.hex)
    finding = found(marrowby)
    assert (finding.seq, finding.fault) == (book[2].seq, Fault.REORDERED)


@pytest.mark.sqlite
@pytest.mark.parametrize(
    ("column", "content"),
    [
        ("salt", "text"),
        ("content", "text"),
        ("content", 99_999_999_999),
        ("salt", 99_999_999_999),
        ("field", NO_TEXT),
    ],
)
def test_a_note_that_cannot_even_be_read_is_named(marrowby, book, sql, column, content):
    sql(
        f"UPDATE records_private SET {column} = {as_kept(content)} WHERE entry_id = %s",
        content,
        book[2].id.hex,
    )
    assert found(marrowby) == Break(seq=book[2].seq, entry=str(book[2].id), fault=Fault.EDITED)


def test_an_edit_before_what_cannot_be_read_is_named_first(marrowby, book):
    rows_of(book[4]).update(private=7)
    rows_of(book[1]).update(fryer="F2")
    assert found(marrowby) == Break(seq=book[1].seq, entry=str(book[1].id), fault=Fault.EDITED)


def test_a_note_that_went_without_a_word_is_named(marrowby, book):
    """As privacy would have it erased, but no entry says that it was."""
    Private.objects.filter(entry=book[3]).update(content=None, salt=None)
    assert found(marrowby) == Break(seq=book[3].seq, entry=str(book[3].id), fault=Fault.ERASED)


def test_an_old_limit_put_back_by_the_kitchens_row_is_named(marrowby, book, hand):
    """One UPDATE of a row that no trigger guards, and the kitchen would go by yesterday's limit."""
    old = Kitchen.objects.get(pk=marrowby.pk)
    last = setting_add(marrowby, "limits", "house", {"value": "20"}, hand=hand)
    assert found(marrowby) is None
    Kitchen.objects.filter(pk=marrowby.pk).update(
        settings_seq=old.settings_seq, settings_hash=old.settings_hash
    )
    assert found(marrowby) == Break(seq=last.seq, entry=str(last.id), fault=Fault.SETTINGS)


@pytest.mark.parametrize(
    "way",
    [
        lambda seat: seat.update(role=Role.OWNER),
        lambda seat: seat.update(trained_to_drain=True),
        lambda seat: seat.update(ends_on=clock.now().date()),
        lambda seat: seat.delete(),
    ],
    ids=["role", "trained", "last day", "taken away"],
)
def test_a_seat_that_the_day_book_did_not_give_is_named(marrowby, cook, write, way):
    write()
    assert found(marrowby) is None
    way(Seat.objects.filter(kitchen=marrowby, person=cook))
    given = Entry.objects.get(kitchen=marrowby, payload__key=str(cook.pk))
    assert found(marrowby) == Break(seq=given.seq, entry=str(cook.pk), fault=Fault.SEATS)


def test_a_seat_of_someone_the_day_book_never_named_is_named(marrowby, stranger):
    Seat.objects.create(kitchen=marrowby, person=stranger, role=Role.OWNER)
    assert found(marrowby) == Break(seq=0, entry=str(stranger.pk), fault=Fault.SEATS)


def test_who_left_and_came_back_has_the_seat_of_the_day_book(marrowby, cook, hand):
    seat_remove(marrowby, cook, hand=hand)
    seat_set(marrowby, cook, SeatTerms(role=Role.OWNER), hand=hand)
    assert found(marrowby) is None


def test_entries_whose_kitchen_is_gone_are_found(marrowby, book, sql):
    """A row that cannot be read counts as gone."""
    assert strays() == []
    if connection.vendor == "sqlite":
        sql("PRAGMA defer_foreign_keys = ON")
        sql("UPDATE records_kitchen SET id = 'zz'")
    else:
        sql("ALTER TABLE records_entry DISABLE TRIGGER ALL")
        sql("SET session_replication_role = replica")
        sql("DELETE FROM records_kitchen")
    assert (kitchens(), strays()) == ([], [str(marrowby.pk)])
    if connection.vendor == "sqlite":
        sql("UPDATE records_kitchen SET id = %s", marrowby.pk.hex)


@pytest.mark.sqlite
@pytest.mark.parametrize("written", [True, False])
def test_a_head_that_is_no_number_cannot_be_read(marrowby, write, sql, written):
    sql("PRAGMA ignore_check_constraints = ON")
    kitchen = marrowby if written else Kitchen.objects.create(slug="empty")
    sql("UPDATE records_kitchen SET head_seq = 'abc' WHERE id = %s", kitchen.pk.hex)
    assert found(kitchen) == Break(seq=0, entry="", fault=Fault.UNREADABLE)
    sql("UPDATE records_kitchen SET head_seq = %s WHERE id = %s", kitchen.head_seq, kitchen.pk.hex)
    sql("PRAGMA ignore_check_constraints = OFF")


@pytest.mark.parametrize("head_seq", [0, 3])
def test_a_head_set_back_without_its_hash_is_named(marrowby, write, head_seq):
    last = write()
    Kitchen.objects.filter(pk=marrowby.pk).update(head_seq=head_seq)
    assert found(marrowby) is not None
    Kitchen.objects.filter(pk=marrowby.pk).update(head_seq=last.seq)
    assert found(marrowby) is None


def test_an_empty_book_is_whole(db):
    assert verify(Kitchen.objects.create(slug="empty")) is None


def test_a_head_read_before_others_wrote_raises_no_alarm(marrowby, write):
    early = Kitchen.objects.get(pk=marrowby.pk)
    write()
    assert verify(early) is None


def written_after(write, hand, marrowby, seconds):
    """Write two entries of which the second is received some seconds after the first; return its number."""
    write()
    later = replace(hand, now=clock.now() + timedelta(seconds=seconds))
    return setting_add(marrowby, "limits", "house", {"value": "20"}, hand=later).seq


@pytest.mark.parametrize(("seconds", "is_told"), [(60, False), (0, False), (-30, False), (-31, True)])
def test_a_clock_that_ran_backwards_between_two_entries_is_told(marrowby, write, hand, seconds, is_told):
    """A form that waits for its turn was received a little before what is written before it."""
    seq = written_after(write, hand, marrowby, seconds)
    back = [(seq, timedelta(seconds=-seconds))] if is_told else []
    assert set_back(marrowby, upto_seq=seq) == back
    assert set_back(marrowby, upto_seq=seq - 1) == []
    assert found(marrowby) is None


@pytest.fixture
def tablets(marrowby, hand):
    """Two tablets of the kitchen, the second retired."""
    both = [device_add(marrowby, name, hand=hand) for name in ("By the pass", "At the door")]
    device_retire(both[1], hand=hand)
    assert found(marrowby) is None
    return both


@pytest.mark.parametrize(
    ("place", "change"),
    [
        (0, {"name": "At the door"}),
        (0, {"retired_at": clock.now()}),
        (0, {"kitchen": None}),
        (1, {"retired_at": None}),
        (1, {"name": "By the pass"}),
    ],
    ids=["name", "retired", "another kitchen", "back in use", "name of a retired one"],
)
def test_a_tablet_that_is_not_what_the_day_book_says_is_named(marrowby, tablets, place, change):
    tablet = tablets[place]
    changed = {"kitchen": Kitchen.objects.create(slug="another")} if "kitchen" in change else change
    Device.objects.filter(pk=tablet.pk).update(**changed)
    last = written_of(marrowby, "tablets").filter(payload__key=str(tablet.pk)).last()
    assert found(marrowby) == Break(seq=last.seq, entry=str(tablet.pk), fault=Fault.TABLETS)


def test_a_tablet_whose_row_is_gone_is_named(marrowby, tablets):
    tablets[0].delete()
    assert found(marrowby).fault is Fault.TABLETS


def test_a_tablet_from_before_tablets_were_written_down_is_no_fault_until_it_is_retired(marrowby, hand):
    old = Device.objects.create(kitchen=marrowby, name="By the pass")
    assert found(marrowby) is None
    device_retire(old, hand=hand)
    assert found(marrowby) is None
    Device.objects.filter(pk=old.pk).update(retired_at=None)
    assert found(marrowby).fault is Fault.TABLETS


@pytest.mark.sqlite
def test_a_tablet_that_cannot_be_read_is_named(marrowby, tablets, sql):
    sql("UPDATE records_device SET name = CAST(%s AS TEXT) WHERE id = %s", NO_TEXT, tablets[0].pk.hex)
    assert found(marrowby).fault is Fault.TABLETS


@pytest.mark.sqlite
def test_a_kitchen_whose_id_stands_in_capitals_cannot_be_read(marrowby, sql):
    """Its entries are not found by it."""
    sql("PRAGMA defer_foreign_keys = ON")
    sql("UPDATE records_kitchen SET id = upper(id)")
    assert [verify(kitchen) for kitchen in kitchens()] == [Break(seq=0, entry="", fault=Fault.UNREADABLE)]
    sql("UPDATE records_kitchen SET id = lower(id)")


def test_an_erased_note_whose_salt_stands_is_named(marrowby, book, hand):
    """By salt and digest somebody could still guess what it said."""
    private_erase(marrowby, book[1:2], hand)
    Private.objects.filter(entry=book[1]).update(salt=b"x" * 32)
    assert found(marrowby) == Break(seq=book[1].seq, entry=str(book[1].id), fault=Fault.EDITED)
