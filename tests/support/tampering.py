"""A way round the triggers of the day book, for tests in which somebody tampers with it."""

import pytest
from django.db import connection

from kettlewell.records import triggers


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
