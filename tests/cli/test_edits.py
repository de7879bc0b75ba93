"""Whatever single field somebody edits in the database, verify finds it or it changes nothing that is told.

The triggers are dropped for each edit and put back after it, as by someone who covers up.
"""

import json
import random
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from cast import seated
from django.db import DatabaseError, connection, models, transaction

from kettlewell import clock
from kettlewell.bridge.beliefs import is_relied_on
from kettlewell.bridge.standing import standing
from kettlewell.bridge.verdicts import record
from kettlewell.cli.verified import verified
from kettlewell.records import triggers
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, setting_add
from kettlewell.records.models import (
    Device,
    Entry,
    Kitchen,
    Person,
    Private,
    Role,
    Seat,
    StoredBelief,
)
from kettlewell.records.people import SeatTerms, device_add, device_retire, person_erase, seat_set
from kettlewell.records.verify import UNREADABLE
from kettlewell.telling import reader

pytestmark = [pytest.mark.sqlite, pytest.mark.slow]
EDITS = 1000
SEED = 20261129
MODELS = (Entry, Private, Kitchen, Seat, Person, Device, StoredBelief)
WEIGHTS = (10, 3, 3, 3, 3, 3, 3)
READING = {"fryer": "F1", "no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}
WHO_SIGNS_IN = "who edits the database can sign in as anybody; verify speaks of what was written"
FREE = {
    ("records_person", "password"): WHO_SIGNS_IN,
    ("records_person", "pin"): WHO_SIGNS_IN,
    ("records_person", "sign_in"): WHO_SIGNS_IN,
    ("records_person", "is_active"): WHO_SIGNS_IN,
    ("records_person", "last_login"): "nothing is told of it",
    ("records_person", "language"): "only in which language somebody reads",
    ("records_kitchen", "slug"): "the address of a kitchen, whose name is a setting",
    ("records_storedbelief", "day"): "only how long a belief is kept, which can be computed anew",
    ("records_private", "id"): "the number of a row, which nothing refers to",
    ("records_seat", "id"): "the number of a row, which nothing refers to",
    ("records_storedbelief", "id"): "the number of a row, which nothing refers to",
}
EARLIER, LATER, FINER = "datetime({c}, '-1 day')", "datetime({c}, '+1 second')", "{c} + 0.0001"
REORDERED = "reordered({c})"
FREE_THIS_WAY = {  # another edit of the same column is found
    ("records_device", "retired_at", EARLIER): "only whether a tablet is retired counts",
    ("records_device", "retired_at", LATER): "only whether a tablet is retired counts",
    ("records_entry", "clock_error_s", FINER): "read to a thousandth of a second",
    ("records_entry", "payload", REORDERED): "only in which order its details are shown",
    ("records_entry", "private", REORDERED): "they are looked up by name",
}
ANOTHER = "(SELECT {pk} FROM {of} WHERE {pk} <> {c} ORDER BY {pk} LIMIT 1)"
WAYS = {
    models.UUIDField: (
        "upper({c})",
        "substr({c}, 1, 8) || '-' || substr({c}, 9)",
        "{c} || ' '",
        f"'{'0' * 32}'",
        "NULL",
        ANOTHER,
    ),
    models.DateTimeField: (
        "strftime('%Y-%m-%d %H:%M:%S', {c}, '+1 hour') || '+01:00'",
        "strftime('%Y-%m-%d %H:%M:%S', {c}, '-23 hours', '-59 minutes') || '-23:59'",
        "replace({c}, ' ', 'T')",
        "{c} || 'Z'",
        "unixepoch({c})",
        "'soon'",
        "NULL",
        EARLIER,
        LATER,
    ),
    models.DateField: ("date({c}, '+1 day')", "'2020-01-01'", "{c} || ' 00:00'", "NULL"),
    models.BooleanField: ("1 - {c}", "-1", "2", "'true'", "'t'", "0.5", "NULL"),
    models.IntegerField: ("{c} + 1", "{c} - 1", "{c} + 0.5", "{c} || 'x'", "' ' || {c} || 'e0x'", "NULL"),
    models.DecimalField: ("{c} + 1", "{c} - 60", "'x' || {c}", "60", "NULL", FINER),
    models.JSONField: (
        "replace({c}, ': ', ':')",
        "{c} || ' '",
        "replace({c}, '\"', ' \"')",
        '\'{{"fryer": "F2", "thing": "people", "note": "", \' || substr({c}, 2)',
        "replace({c}, '1', '2')",
        "upper({c})",
        "CAST({c} AS BLOB)",
        "'{{}}'",
        "'[]'",
        REORDERED,
    ),
    models.CharField: ("{c} || ' '", "upper({c})", "''", "'other'", "CAST({c} AS BLOB)", "7"),
    models.BinaryField: ("X'00'", "X''", "CAST({c} || '0' AS BLOB)", "'text'", "CAST({c} AS TEXT)", "NULL"),
}


@pytest.fixture
def book(marrowby, cook, inspector, owner, hand):
    """A week with corrections, notes, verdicts, somebody erased, two tablets, two kitchens, beliefs."""
    start, now = clock.now() - timedelta(days=4), clock.now()
    early = replace(hand, now=start)
    tablets = [device_add(marrowby, name, hand=early) for name in ("By the pass", "At the door")]
    device_retire(tablets[1], hand=early)
    before = None
    for day in range(4):
        at = start + timedelta(days=day)
        payload = {**READING, "tpc_pct": str(10 + day)}
        told = Told(id=uuid7(at), kind="reading", happened_at=at, payload=payload, private={"note": b"n"})
        if day == 3:
            slip = {"reason": b"slip", "note": b"m"}
            told = replace(told, replaces=before.pk, private=slip, clock_error_s=Decimal(1))
        before = record(marrowby, told, Hand(person=cook, now=at, device=tablets[0])).entry
    gone = seated(marrowby, owner, "Gus Gone", SeatTerms(role=Role.AREA_MANAGER), at=now)
    person_erase(marrowby, gone, hand=hand)
    quay = Kitchen.objects.create(slug="quay")
    seat_set(quay, owner, SeatTerms(role=Role.OWNER), hand=hand)
    setting_add(quay, "kitchen", "", {"name": "Quay", "timezone": "Europe/London"}, hand=hand)
    Person.objects.update(last_login=now)
    standing(marrowby, now)
    assert StoredBelief.objects.count() > 2
    assert faults() == []
    assert unread() == set()
    return marrowby


def faults():
    """Return what verify finds."""
    told = verified(reader("UTC", clock.now(), locale="en"))
    return [line.text for line, stands in told if not stands]


def unread():
    """Return the stored beliefs that the program does not rely on."""
    return {row.pk for row in StoredBelief.objects.all() if not is_relied_on(row, recomputing=False)}


def is_found():
    """Tell whether verify finds an edit, or the program itself throws away what was edited."""
    if faults():
        return True
    try:
        return bool(unread())
    except UNREADABLE:
        return True


@pytest.fixture
def edit(book, sql, drop_triggers):
    """Return a way to edit one field behind the triggers: whether it is found, None where nothing changed."""
    connection.connection.create_function("reordered", 1, reordered)

    def edited(table, column, expression, rowid):
        asked = f"SELECT CAST(quote({column}) AS BLOB) FROM {table} WHERE rowid = %s"
        before = sql(asked, rowid)
        drop_triggers()
        try:
            with transaction.atomic():
                sql(f"UPDATE {table} SET {column} = {expression.replace('%', '%%')} WHERE rowid = %s", rowid)
        except DatabaseError:
            return None  # the database refused it
        triggers.install()
        return None if sql(asked, rowid) == before else is_found()

    def undone(*what):
        with transaction.atomic():
            found = edited(*what)
            transaction.set_rollback(True)
        return found

    sql("PRAGMA ignore_check_constraints = ON")
    yield undone
    sql("PRAGMA ignore_check_constraints = OFF")


def reordered(text):
    """Return JSON with its names in the reverse order."""
    found = json.loads(text)
    return json.dumps(dict(reversed(found.items()))) if isinstance(found, dict) else text


def fields():
    """Return every column that is edited, with its model."""
    return [(model, field) for model in MODELS for field in model._meta.concrete_fields]


def written_as(field):
    """Return the field that says how a column is written: of a reference, what it refers to."""
    return field.target_field if isinstance(field, models.ForeignKey) else field


def kind_of(field):
    return next(kind for kind in WAYS if isinstance(written_as(field), kind))


def expressed(field, way):
    """Return a new value of a column as SQL."""
    written = written_as(field)
    return way.format(of=written.model._meta.db_table, pk=written.column, c=f'"{field.column}"')


def rows_of(table, sql):
    return [rowid for (rowid,) in sql(f"SELECT rowid FROM {table} ORDER BY rowid")]


def drawn(draw, sql):
    """Return table, column and way of an edit, its new value and its row, drawn by chance."""
    (model,) = draw.choices(MODELS, WEIGHTS)
    field, table = draw.choice(model._meta.concrete_fields), model._meta.db_table
    way = draw.choice(WAYS[kind_of(field)])
    return (table, field.column, way), expressed(field, way), draw.choice(rows_of(table, sql))


def test_of_a_thousand_edits_all_that_could_change_what_is_told_are_found(edit, sql):
    draw, tried, missed = random.Random(SEED), 0, set()  # noqa: S311 - the same each time
    while tried < EDITS:
        place, expression, rowid = drawn(draw, sql)
        found = edit(*place[:2], expression, rowid)
        tried += found is not None
        if found is False:
            missed.add(place)
    assert {place for place in missed if place[:2] not in FREE and place not in FREE_THIS_WAY} == set()


def test_what_is_free_is_free_indeed(edit, sql):
    """Else it would hide an edit that is found."""
    by_column = {(model._meta.db_table, field.column): field for model, field in fields()}
    places = [*FREE_THIS_WAY, *((*place, None) for place in FREE)]
    for table, column, only in places:
        field = by_column[table, column]
        ways = [only] if only else WAYS[kind_of(field)]
        tried = (
            edit(table, column, expressed(field, way), rowid) for way in ways for rowid in rows_of(table, sql)
        )
        assert any(found is False for found in tried), (table, column, only)


@pytest.mark.parametrize("place", ["at", "replaces_id"])
def test_a_respelt_time_or_id_that_once_turned_a_verdict_is_found(edit, sql, place):
    """A reading's time in another zone, and the corrected entry in capitals."""
    way = {"at": WAYS[models.DateTimeField][1], "replaces_id": "upper({c})"}[place]
    field = Entry._meta.get_field(place.removesuffix("_id"))
    tried = [
        edit("records_entry", place, expressed(field, way), row) for row in rows_of("records_entry", sql)
    ]
    assert True in tried
    assert False not in tried


@pytest.mark.parametrize(("column", "way"), [("kitchen_id", ANOTHER), ("covers_to", EARLIER)])
def test_a_belief_moved_or_set_back_which_once_turned_a_verdict_is_not_relied_on(edit, sql, column, way):
    field = StoredBelief._meta.get_field(column.removesuffix("_id"))
    rows = rows_of("records_storedbelief", sql)
    tried = [edit("records_storedbelief", column, expressed(field, way), row) for row in rows]
    assert True in tried
    assert False not in tried
