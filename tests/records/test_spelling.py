"""The same value in another spelling is found: three such edits once turned a verdict."""

import pytest

from kettlewell import clock
from kettlewell.records.models import Entry, StoredBelief
from kettlewell.records.spelling import damage, misspelt

pytestmark = pytest.mark.sqlite


def found():
    return {(table, column) for table, column, _row in misspelt()}


@pytest.fixture
def edited(write, sql, drop_triggers):
    """Write an entry and its correction, drop the triggers, and edit what stands there."""
    wrong = write()
    write(replaces=wrong.id, private={"reason": b"slip"})
    drop_triggers()

    def edit(column, expression, table="records_entry", where="1"):
        sql(f"UPDATE {table} SET {column} = {expression} WHERE {where}")

    return edit


def test_what_the_program_writes_is_spelt_as_it_writes(write):
    write()
    assert Entry.objects.exists()
    assert found() == set()


@pytest.mark.parametrize(
    ("column", "expression"),
    [
        ("at", "strftime('%Y-%m-%d %H:%M:%S', at, '-23 hours', '-59 minutes') || '-23:59'"),
        ("at", "at || '+00:00'"),
        ("at", "replace(at, ' ', 'T')"),
        ("received_at", "received_at || 'Z'"),
        ("replaces_id", "upper(replaces_id)"),
        ("person_id", "substr(person_id, 1, 8) || '-' || substr(person_id, 9)"),
        ("asks", "-1"),
        ("seq", "seq + 0.5"),
    ],
)
def test_another_spelling_of_the_same_is_found(edited, column, expression):
    where = f"{column} IS NOT NULL" if column != "replaces_id" else "replaces_id GLOB '*[a-f]*'"
    edited(column, expression, where=where)
    assert found() >= {("records_entry", column)}
    if column.endswith("_id"):  # what refers to nothing would fail as the test ends
        edited(column, f"lower(replace({column}, '-', ''))")
        assert found() == set()


def test_what_refers_to_nothing_is_found(edited, sql):
    assert list(damage()) == []
    (person,) = {row[0] for row in sql("SELECT person_id FROM records_entry WHERE person_id IS NOT NULL")}
    edited("person_id", f"'{'0' * 32}'", where="person_id IS NOT NULL")
    assert "refers to nothing in records_person" in next(damage())
    edited("person_id", f"'{person}'", where="person_id IS NOT NULL")
    assert list(damage()) == []


def test_a_training_that_is_no_yes_is_found(edited):
    edited("trained_to_drain", "-1", table="records_seat")
    assert found() == {("records_seat", "trained_to_drain")}


def test_a_last_day_that_is_none_is_found(edited):
    edited("ends_on", "'soon'", table="records_seat")
    assert found() == {("records_seat", "ends_on")}


RESPELT = {
    "no blanks": lambda text: text.replace(": ", ":"),
    "a line more": lambda text: text + "\n",
    "escaped": lambda text: text.replace('"F', '"\\u0046').replace('"n', '"\\u006e'),
    "a name twice": lambda text: text.replace("{", '{"fryer": "F2", "note": "", ', 1),
    "bytes": lambda text: text.encode(),
}


@pytest.mark.parametrize("column", ["payload", "private"])
@pytest.mark.parametrize("way", RESPELT)
def test_json_in_another_spelling_is_found(write, sql, drop_triggers, column, way):
    """Of two values of one name SQLite asks by the first, and the program reads the last."""
    entry = write(private={"note": b"a note"})
    ((before,),) = sql(f"SELECT {column} FROM records_entry WHERE id = %s", entry.id.hex)
    after = RESPELT[way](before)
    assert after != before
    drop_triggers()
    sql(f"UPDATE records_entry SET {column} = %s WHERE id = %s", after, entry.id.hex)
    assert found() == {("records_entry", column)}


@pytest.mark.parametrize("content", ["{", "[" * 100_000, b"\xff"])
def test_json_that_cannot_be_read_is_found(write, sql, drop_triggers, content):
    entry = write()
    drop_triggers()
    sql("PRAGMA ignore_check_constraints = ON")
    sql("UPDATE records_entry SET payload = CAST(%s AS TEXT) WHERE id = %s", content, entry.id.hex)
    sql("PRAGMA ignore_check_constraints = OFF")
    assert found() == {("records_entry", "payload")}


@pytest.mark.parametrize(
    ("table", "column", "expression"),
    [
        ("records_kitchen", "slug", "CAST(slug AS BLOB)"),
        ("records_person", "name", "CAST(name AS BLOB)"),
        ("records_private", "content", "CAST(content AS TEXT)"),
    ],
)
def test_text_kept_as_bytes_and_bytes_as_text_are_found(edited, table, column, expression):
    edited(column, expression, table=table)
    assert found() == {(table, column)}


def test_a_stored_belief_of_a_time_in_another_zone_is_found(marrowby, sql):
    """It would be taken for one of an earlier time, and know what came later."""
    now = clock.now()
    StoredBelief.objects.create(kitchen=marrowby, covers_to=now, day=now.date(), last_seq=1, content=b"x")
    assert found() == set()
    sql("UPDATE records_storedbelief SET covers_to = covers_to || '+00:00'")
    assert found() == {("records_storedbelief", "covers_to")}
