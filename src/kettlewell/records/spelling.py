"""Whether times, ids and the like stand in the database in the one spelling the program writes.

SQLite compares them as texts, and reads more spellings than one: a time of another zone, an id in
capitals, a yes that is -1 say the same and are not found, or found elsewhere. PostgreSQL has types.
"""

import json
from collections.abc import Iterator

from django.db import connection, models

from kettlewell.records.models import Device, Entry, Kitchen, LostTrigger, Person, Private, Seat, StoredBelief

HELD = (Entry, Private, Kitchen, Seat, Person, Device, StoredBelief, LostTrigger)
DAY = "0000-00-00"
SECOND = f"{DAY} 00:00:00"
SPELT: dict[type[models.Field], tuple[str, ...]] = {  # type: ignore[type-arg]  # of any field
    models.DateTimeField: (SECOND, f"{SECOND}.000000"),
    models.DateField: (DAY,),
}


def misspelt() -> Iterator[tuple[str, str, int]]:
    """Yield table, column and number of the rows that hold what the program would write otherwise."""
    if connection.vendor != "sqlite":
        return
    there = connection.introspection.table_names()
    for model in (model for model in HELD if model._meta.db_table in there):  # noqa: SLF001 - as Django's documentation does
        about = model._meta  # noqa: SLF001 - as above
        for field in about.concrete_fields:
            yield from ((about.db_table, str(field.column), rowid) for rowid in misspelt_in(model, field))


def misspelt_in(model: type[models.Model], field: models.Field) -> list[int]:  # type: ignore[type-arg]  # of any field
    """Return the numbers of the rows in which a column is not spelt in the one way."""
    table, column = model._meta.db_table, f'"{field.column}"'  # noqa: SLF001 - as above
    with connection.cursor() as cursor:
        if isinstance(field, models.JSONField):
            asked = f"SELECT rowid, typeof({column}), CAST({column} AS BLOB) FROM {table} ORDER BY rowid"  # noqa: S608 - our own names
            rows = cursor.execute(asked).fetchall()
            return [rowid for rowid, kind, kept in rows if kind != "text" or not is_spelt_json(kept)]
        if held := spelling(field):
            cursor.execute(f"SELECT rowid FROM {table} WHERE NOT coalesce({held}, 0) ORDER BY rowid")  # noqa: S608 - our own names
            return [rowid for (rowid,) in cursor.fetchall()]
    return []


def damage() -> Iterator[str]:
    """Yield what SQLite itself finds wrong: pages that do not fit together, rows that refer to nothing."""
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA integrity_check")
        yield from (told for (told,) in cursor.fetchall() if told != "ok")
        cursor.execute("PRAGMA foreign_key_check")
        yield from (
            f"{table}, row {row}, refers to nothing in {of}" for table, row, of, _ in cursor.fetchall()
        )


def is_spelt_json(kept: bytes) -> bool:
    """Tell whether JSON stands as the program writes it: its blanks, its escapes, each name once."""
    try:
        return bool(connection.ops.adapt_json_value(json.loads(kept), None).encode() == kept)
    except (RecursionError, ValueError):
        return False


def spelling(field: models.Field) -> str:  # type: ignore[type-arg]  # of any field
    """Return what SQLite is asked about a column that is spelt in one way; "" where any will do."""
    written = field.target_field if isinstance(field, models.ForeignKey) else field
    column = f'"{field.column}"'
    match written:
        case models.UUIDField():
            held = f"typeof({column}) = 'text' AND length({column}) = 32 AND {column} NOT GLOB '*[^0-9a-f]*'"
        case models.BooleanField():
            held = f"typeof({column}) = 'integer' AND {column} IN (0, 1)"
        case models.DateField():
            shapes = SPELT[type(written)]
            held = " OR ".join(f"{column} GLOB '{shape.replace('0', '[0-9]')}'" for shape in shapes)
        case models.IntegerField():
            held = f"typeof({column}) = 'integer'"
        case models.CharField():
            held = f"typeof({column}) = 'text'"
        case models.BinaryField():
            held = f"typeof({column}) = 'blob'"
        case _:
            return ""
    return f"({column} IS NULL OR {held})" if field.null else f"({held})"
