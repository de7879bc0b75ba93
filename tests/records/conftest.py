"""A pen to write in the day book with, and a way round its triggers for those who tamper."""

from dataclasses import replace

import pytest
from django.db import connection

from kettlewell import clock
from kettlewell.records import triggers
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Told, entry_add

READING = {
    "fryer": "F1",
    "tpc_pct": "15.5",
    "no_food": "yes",
    "no_bubbles": "yes",
    "probe_clear": "yes",
    "steady": "unknown",
}


@pytest.fixture
def told():
    """Return what a client tells: a reading, or what is asked for."""

    def tell(**changes):
        now = clock.now()
        return replace(Told(id=uuid7(now), kind="reading", happened_at=now, payload=READING), **changes)

    return tell


@pytest.fixture
def write(marrowby, hand, told):
    """Write an entry of the owner's; return it."""

    def write_down(**changes):
        return entry_add(marrowby, told(**changes), replace(hand, now=clock.now()))[0]

    return write_down


@pytest.fixture
def sql(db):
    """Say something to the database itself."""

    def execute(statement, *values):
        with connection.cursor() as cursor:
            cursor.execute(statement, values)
            return cursor.fetchall() if cursor.description else []

    return execute


@pytest.fixture
def drop_triggers(sql):
    """Put the triggers out of the way, as someone can who owns the database."""

    def drop():
        if connection.vendor == "postgresql":
            sql("SET CONSTRAINTS ALL IMMEDIATE")
            for table in ("records_entry", "records_private", "records_kitchen"):
                sql(f"ALTER TABLE {table} DISABLE TRIGGER USER")
        else:
            for name in triggers.names("sqlite"):
                sql(f"DROP TRIGGER {name}")

    return drop
