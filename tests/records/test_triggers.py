"""What the database itself refuses, whoever speaks to it."""

import hashlib
import threading
from contextlib import contextmanager

import pytest
from django.core.management import call_command
from django.core.management.sql import emit_post_migrate_signal
from django.db import DatabaseError, connection, connections, models, transaction
from django.db.migrations.loader import MigrationLoader

from kettlewell import clock
from kettlewell.records import triggers
from kettlewell.records.models import Entry, Kitchen, LostTrigger, Private

COLUMNS = [field.column for field in Entry._meta.concrete_fields]
PROMISES = {
    "synchronous": 2,
    "journal_mode": "wal",
    "recursive_triggers": 1,
    "foreign_keys": 1,
    "secure_delete": 1,
}
COPIES = {"id": "%s", "seq": "seq + 1", "previous": "hash", "replaces_id": "NULL"}


@contextmanager
def refused(sentence=triggers.REFUSED):
    with pytest.raises(DatabaseError, match=sentence), transaction.atomic():
        yield


def key(entry):
    return entry.pk.hex if connection.vendor == "sqlite" else str(entry.pk)


def copied(**changes):
    """Return the end of an INSERT of a row like another one."""
    parts = [changes.get(column, column) for column in COLUMNS]
    return f"({', '.join(COLUMNS)}) SELECT {', '.join(parts)} FROM records_entry WHERE id = %s"


def present(of=connection):
    with of.cursor() as cursor:
        if of.vendor == "sqlite":
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        else:
            cursor.execute(
                "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled = 'O'"
                " AND tgname LIKE 'records_%%'"
            )
        return {name for (name,) in cursor.fetchall()}


@pytest.mark.parametrize("column", COLUMNS)
def test_no_column_of_an_entry_is_changed(write, sql, column):
    entry = write()
    with refused():
        sql(f"UPDATE records_entry SET {column} = {column} WHERE id = %s", key(entry))


def test_an_entry_is_not_deleted(write, sql):
    entry = write()
    with refused():
        sql("DELETE FROM records_entry WHERE id = %s", key(entry))
    assert Entry.objects.filter(pk=entry.pk).exists()


def test_the_programs_own_ways_are_refused_too(write):
    entry = write(private={"note": b"a note"})
    with refused():
        Entry.objects.filter(pk=entry.pk).update(fryer="F2")
    with refused():
        entry.save()
    with refused(triggers.PRIVATE):
        Private.objects.filter(entry=entry).delete()


def test_an_entry_is_appended_right_behind_the_last(write, sql):
    last = write()
    sql(f"INSERT INTO records_entry {copied(**COPIES)}", "ab" * 16, key(last))
    assert Entry.objects.filter(pk="ab" * 16, seq=last.seq + 1).exists()


@pytest.mark.parametrize(
    "changes",
    [
        {"seq": "seq + 2"},
        {"seq": "seq"},
        {"seq": "0"},
        {"seq": "seq - 1"},
        {"previous": "previous"},
        {"previous": "''"},
    ],
    ids=["a gap", "the same number", "number nothing", "a number before", "another chain", "no chain"],
)
def test_an_entry_is_not_squeezed_in(write, sql, changes):
    write()
    last = write()
    with refused():
        sql(f"INSERT INTO records_entry {copied(**{**COPIES, **changes})}", "ab" * 16, key(last))


@pytest.fixture(params=["ON", "OFF"])
def recursive_triggers(request, sql):
    sql(f"PRAGMA recursive_triggers = {request.param}")
    assert sql("PRAGMA recursive_triggers") == [(int(request.param == "ON"),)]
    yield request.param
    sql("PRAGMA recursive_triggers = ON")


@pytest.mark.sqlite
@pytest.mark.parametrize("word", ["INSERT OR REPLACE", "REPLACE", "INSERT OR IGNORE"])
@pytest.mark.parametrize(
    "changes",
    [
        {**COPIES, "id": "id"},
        {**COPIES, "seq": "seq", "previous": "previous"},
        {**COPIES, "replaces_id": "replaces_id"},
        {},
    ],
    ids=["by its id", "by its number", "by what it corrects", "whole"],
)
def test_an_entry_is_not_replaced(write, sql, word, recursive_triggers, changes):
    last = write(replaces=write().id, private={"reason": b"a slip"})
    told = copied(**{**changes, "fryer": "'F2'"})
    values = ["ab" * 16] if changes.get("id") == "%s" else []
    with refused():
        sql(f"{word} INTO records_entry {told}", *values, key(last))
    assert Entry.objects.get(pk=last.pk).fryer == "F1"


@pytest.mark.sqlite
def test_an_entry_is_not_replaced_by_its_hidden_number(write, sql):
    """Only the pragma guards it: every connection of ours has it."""
    first, last = write(), write()
    (rowid,) = sql("SELECT rowid FROM records_entry WHERE id = %s", key(first))[0]
    told = copied(**COPIES).replace("(", "(rowid, ", 1).replace("SELECT ", "SELECT %s, ", 1)
    with refused():
        sql(f"INSERT OR REPLACE INTO records_entry {told}", rowid, "ab" * 16, key(last))


@pytest.mark.sqlite
def test_a_note_is_not_replaced(write, sql, recursive_triggers):
    entry = write(private={"note": b"a note"})
    (row,) = Private.objects.filter(entry=entry)
    for number, field in ((row.pk, "note"), (None, "note"), (row.pk, "reason")):
        with refused(triggers.PRIVATE):
            sql(
                "INSERT OR REPLACE INTO records_private (id, entry_id, field, content)"
                " VALUES (%s, %s, %s, 'x')",
                number,
                key(entry),
                field,
            )


def test_an_upsert_is_refused(write, sql):
    last = write()
    with refused():
        sql(
            f"INSERT INTO records_entry {copied(seq='seq + 1', previous='hash')} AND true"
            " ON CONFLICT (id) DO UPDATE SET fryer = 'F2'",
            key(last),
        )
    with pytest.raises(DatabaseError), transaction.atomic():
        sql(
            f"INSERT INTO records_entry {copied(seq='seq')} AND true"
            " ON CONFLICT (id) DO UPDATE SET fryer = 'F2'",
            key(last),
        )
    assert Entry.objects.get(pk=last.pk).fryer == "F1"


@pytest.mark.parametrize(
    "change",
    [
        "content = '\\x00', salt = NULL",
        "salt = NULL, content = content",
        "field = 'name', content = NULL, salt = NULL",
    ],
)
def test_a_note_is_only_ever_erased(write, sql, change):
    entry = write(private={"note": b"a note"})
    with refused(triggers.PRIVATE):
        sql(f"UPDATE records_private SET {change} WHERE entry_id = %s", key(entry))
    sql("UPDATE records_private SET content = NULL, salt = NULL WHERE entry_id = %s", key(entry))
    with refused(triggers.PRIVATE):
        sql("UPDATE records_private SET content = '\\x00' WHERE entry_id = %s", key(entry))


def test_the_tables_are_not_emptied(write, sql):
    write(private={"note": b"a note"})
    if connection.vendor == "sqlite":
        with refused():
            sql("DELETE FROM records_entry")
        with refused(triggers.PRIVATE):
            sql("DELETE FROM records_private")
        return
    sql("SET CONSTRAINTS ALL IMMEDIATE")
    with refused():
        sql("TRUNCATE records_entry CASCADE")
    with refused(triggers.PRIVATE):
        sql("TRUNCATE records_private")


def test_a_kitchen_is_not_deleted(marrowby, sql):
    empty = Kitchen.objects.create(slug="empty")
    for kitchen in (marrowby, empty):
        with refused(triggers.KITCHEN):
            sql("DELETE FROM records_kitchen WHERE slug = %s", kitchen.slug)
        with refused(triggers.KITCHEN):
            Kitchen.objects.filter(pk=kitchen.pk)._raw_delete("default")
    assert Kitchen.objects.count() == 2


@pytest.mark.sqlite
@pytest.mark.parametrize("same", ["id", "slug"])
def test_a_kitchen_is_not_replaced(marrowby, sql, recursive_triggers, same):
    parts = ["id", "slug", "head_seq", "head_hash", "settings_seq", "settings_hash"]
    values = [
        name if name == same else {"id": f"'{'ab' * 16}'", "slug": "'forged'"}.get(name, name)
        for name in parts
    ]
    with refused(triggers.KITCHEN):
        sql(
            f"INSERT OR REPLACE INTO records_kitchen ({', '.join(parts)})"
            f" SELECT {', '.join(values)} FROM records_kitchen"
        )
    assert Kitchen.objects.get().pk == marrowby.pk


def test_a_trigger_made_to_do_nothing_is_missed(db, sql):
    assert triggers.missing() == set()
    if connection.vendor == "sqlite":
        name = "records_entry_no_delete"
        sql(f"DROP TRIGGER {name}")
        sql(f"CREATE TRIGGER {name} BEFORE DELETE ON records_entry BEGIN SELECT 1; END")
    else:
        name = "records_entry_no_change"
        sql(f"ALTER TABLE records_entry DISABLE TRIGGER {name}")
    assert triggers.missing() == {name}


@pytest.mark.parametrize(
    "made",
    [
        "BEFORE DELETE OR UPDATE ON records_entry FOR EACH ROW WHEN (false)",
        "BEFORE DELETE OR UPDATE ON records_kitchen FOR EACH ROW",
        "BEFORE DELETE ON records_entry FOR EACH ROW",
        "BEFORE DELETE OR UPDATE OF version ON records_entry FOR EACH ROW",
    ],
)
def test_a_trigger_made_anew_to_guard_less_is_missed(db, sql, made):
    if connection.vendor == "sqlite":
        pytest.skip("SQLite keeps the statement itself, which is compared as a whole")
    name = "records_entry_no_change"
    sql(f"DROP TRIGGER {name} ON records_entry")
    sql(f"CREATE TRIGGER {name} {made} EXECUTE FUNCTION records_entry_refuse()")
    assert triggers.missing() == {name}


def test_every_trigger_is_there_after_the_migrations(db):
    assert present() >= triggers.names(connection.vendor)
    assert len(triggers.names(connection.vendor)) == (8 if connection.vendor == "sqlite" else 7)


def test_every_trigger_that_was_lost_is_back_after_the_next_migration(sql, db):
    for name in triggers.names(connection.vendor):
        lose(sql, name)
    assert not present() & triggers.names(connection.vendor)
    assert triggers.missing() == triggers.names(connection.vendor)
    emit_post_migrate_signal(verbosity=0, interactive=False, db="default")
    assert present() >= triggers.names(connection.vendor)


def lose(sql, name):
    table = "_".join(name.split("_")[:2])
    sql(f"DROP TRIGGER {name}" + (f" ON {table}" if connection.vendor == "postgresql" else ""))


def test_a_trigger_that_a_start_found_missing_is_remembered_with_the_time(sql, db):
    lost = sorted(triggers.names(connection.vendor))[:2]
    for name in lost:
        lose(sql, name)
    for _ in range(2):  # the second finds nothing missing
        emit_post_migrate_signal(verbosity=0, interactive=False, db="default", plan=[])
    assert list(LostTrigger.objects.values_list("name", "found_at")) == [(name, clock.now()) for name in lost]
    assert triggers.missing() == set()


def test_nothing_is_remembered_where_the_tables_themselves_were_changed(sql, db):
    """A fresh day book has no trigger yet, and a rebuilt table has lost its own."""
    lose(sql, min(triggers.names(connection.vendor)))
    plan = [(MigrationLoader(connection).get_migration("records", "0001_initial"), False)]
    emit_post_migrate_signal(verbosity=0, interactive=False, db="default", plan=plan)
    assert triggers.missing() == set()
    assert not LostTrigger.objects.exists()


@pytest.mark.sqlite
def test_a_database_without_a_day_book_yet_is_not_said_to_have_lost_its_triggers(fresh):
    call_command("migrate", "contenttypes", database="fresh", verbosity=0)
    call_command("migrate", database="fresh", verbosity=0)
    assert not LostTrigger.objects.using("fresh").exists()


def test_triggers_change_with_a_migration_alone():
    """A start without one takes a trigger that is another than ours for one that somebody changed.

    Who changes what the database refuses adds an empty migration, and both lines here.
    """
    definitions = "".join(triggers.statements("sqlite") + triggers.statements("postgresql"))
    newest = max(name for app, name in MigrationLoader(None).disk_migrations if app == "records")
    assert (newest, hashlib.sha256(definitions.encode()).hexdigest()) == (
        "0006_kepttable",
        "23220fa6e4e0852314c123934b09297eab1c302c79726d75e2f6f2c95f9a5c75",
    )


@pytest.fixture
def fresh(tmp_path, django_db_blocker):
    """A day book of its own in a file: SQLite rebuilds no table inside a transaction."""
    connections.settings["fresh"] = {
        **connections.settings["default"],
        "NAME": str(tmp_path / "fresh.sqlite3"),
    }
    with django_db_blocker.unblock():
        yield connections["fresh"]
        connections["fresh"].close()
    del connections["fresh"]
    del connections.settings["fresh"]


@pytest.mark.sqlite
def test_a_migration_that_rebuilds_the_table_leaves_it_guarded(fresh):
    """SQLite makes the table anew for another column, and the old one takes its triggers with it."""
    call_command("migrate", database="fresh", verbosity=0)
    assert present(fresh) >= triggers.names("sqlite")
    assert not LostTrigger.objects.using("fresh").exists()
    state = MigrationLoader(fresh).project_state()
    before = state.apps.get_model("records", "Entry")
    field = models.CharField(max_length=60, blank=True)
    field.set_attributes_from_name("fryer")
    with fresh.schema_editor() as editor:
        editor.alter_field(before, before._meta.get_field("fryer"), field)
    assert "records_entry_no_update" not in present(fresh), "nothing was rebuilt: this test tries nothing"
    call_command("migrate", database="fresh", verbosity=0)
    assert present(fresh) >= triggers.names("sqlite")


@pytest.mark.sqlite
@pytest.mark.parametrize("elsewhere", [False, True], ids=["this thread", "another thread"])
def test_every_connection_keeps_its_promises(fresh, elsewhere, django_db_blocker):
    """Commits wait for the disk, the log is written ahead, replacing is deleting, erasing overwrites."""
    found = {}

    def ask():
        with django_db_blocker.unblock(), connections["fresh"].cursor() as cursor:
            for name in PROMISES:
                cursor.execute(f"PRAGMA {name}")
                found[name] = cursor.fetchone()[0]
        connections["fresh"].close()

    if elsewhere:
        thread = threading.Thread(target=ask)
        thread.start()
        thread.join()
    else:
        ask()
    assert found == PROMISES
