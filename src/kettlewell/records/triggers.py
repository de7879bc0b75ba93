"""What the database itself refuses: to change, delete, replace or squeeze in an entry; to lose a kitchen.

A BEFORE INSERT trigger sees a row that ``INSERT OR REPLACE`` would take away before SQLite
takes it, with or without ``recursive_triggers``; the pragma, set on every connection of
ours, guards the hidden row numbers as well.
"""

# ruff: noqa: S608 - nothing here comes from outside: these are the statements themselves

from datetime import datetime

from django.db import connections, transaction

from kettlewell.records.models import LostTrigger
from kettlewell.records.verify import in_parts

REFUSED = "the day book is append-only"
PRIVATE = "what is private can only be erased"
KITCHEN = "a kitchen with its day book stays"

_SQLITE = {
    "records_entry_no_update": f"""
        BEFORE UPDATE ON records_entry BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END""",
    "records_entry_no_delete": f"""
        BEFORE DELETE ON records_entry BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END""",
    "records_entry_append": f"""
        BEFORE INSERT ON records_entry
        WHEN EXISTS (SELECT 1 FROM records_entry WHERE id = NEW.id)
          OR EXISTS (SELECT 1 FROM records_entry WHERE replaces_id = NEW.replaces_id)
          OR NEW.seq IS NOT 1 + coalesce(
               (SELECT max(seq) FROM records_entry WHERE kitchen_id = NEW.kitchen_id), 0)
          OR NEW.previous IS NOT coalesce(
               (SELECT hash FROM records_entry WHERE kitchen_id = NEW.kitchen_id AND seq = NEW.seq - 1), '')
        BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END""",
    "records_private_no_update": f"""
        BEFORE UPDATE ON records_private
        WHEN NEW.content IS NOT NULL OR NEW.salt IS NOT NULL
          OR NEW.entry_id IS NOT OLD.entry_id OR NEW.field IS NOT OLD.field
        BEGIN SELECT RAISE(ABORT, '{PRIVATE}'); END""",
    "records_private_no_delete": f"""
        BEFORE DELETE ON records_private BEGIN SELECT RAISE(ABORT, '{PRIVATE}'); END""",
    "records_private_append": f"""
        BEFORE INSERT ON records_private
        WHEN EXISTS (SELECT 1 FROM records_private
               WHERE id = NEW.id OR (entry_id = NEW.entry_id AND field = NEW.field))
        BEGIN SELECT RAISE(ABORT, '{PRIVATE}'); END""",
    "records_kitchen_no_delete": f"""
        BEFORE DELETE ON records_kitchen BEGIN SELECT RAISE(ABORT, '{KITCHEN}'); END""",
    "records_kitchen_append": f"""
        BEFORE INSERT ON records_kitchen
        WHEN EXISTS (SELECT 1 FROM records_kitchen WHERE id = NEW.id OR slug = NEW.slug)
        BEGIN SELECT RAISE(ABORT, '{KITCHEN}'); END""",
}

# Events are written as PostgreSQL itself writes them: ``missing`` compares the definitions
_POSTGRESQL = {
    "records_entry_refuse": (
        f"BEGIN RAISE EXCEPTION '{REFUSED}'; END",
        {
            "records_entry_no_change": "BEFORE DELETE OR UPDATE ON records_entry FOR EACH ROW",
            "records_entry_no_truncate": "BEFORE TRUNCATE ON records_entry FOR EACH STATEMENT",
        },
    ),
    "records_entry_append": (
        f"""BEGIN
          IF NEW.seq IS DISTINCT FROM 1 + coalesce(
               (SELECT max(seq) FROM records_entry WHERE kitchen_id = NEW.kitchen_id), 0)
             OR NEW.previous IS DISTINCT FROM coalesce(
               (SELECT hash FROM records_entry WHERE kitchen_id = NEW.kitchen_id AND seq = NEW.seq - 1), '')
          THEN RAISE EXCEPTION '{REFUSED}'; END IF;
          RETURN NEW;
        END""",
        {"records_entry_append": "BEFORE INSERT ON records_entry FOR EACH ROW"},
    ),
    "records_private_refuse": (
        f"""BEGIN
          IF TG_OP = 'UPDATE' THEN
            IF NEW.content IS NULL AND NEW.salt IS NULL
               AND NEW.entry_id = OLD.entry_id AND NEW.field = OLD.field THEN RETURN NEW; END IF;
          END IF;
          RAISE EXCEPTION '{PRIVATE}';
        END""",
        {
            "records_private_no_change": "BEFORE DELETE OR UPDATE ON records_private FOR EACH ROW",
            "records_private_no_truncate": "BEFORE TRUNCATE ON records_private FOR EACH STATEMENT",
        },
    ),
    "records_kitchen_refuse": (
        f"BEGIN RAISE EXCEPTION '{KITCHEN}'; END",
        {
            "records_kitchen_no_delete": "BEFORE DELETE ON records_kitchen FOR EACH ROW",
            "records_kitchen_no_truncate": "BEFORE TRUNCATE ON records_kitchen FOR EACH STATEMENT",
        },
    ),
}


def install(using: str = "default") -> None:
    """Put every trigger in its place, whether or not it is there."""
    connection = connections[using]
    if "records_private" not in connection.introspection.table_names():
        return
    with transaction.atomic(using=using), connection.cursor() as cursor:
        for statement in statements(connection.vendor):
            cursor.execute(statement)


def remember(lost: set[str], found_at: datetime, using: str = "default") -> None:
    """Keep for ever which triggers were found missing, and when; nothing where there is no day book yet."""
    if is_remembering(using):
        rows = [LostTrigger(name=name, found_at=found_at) for name in sorted(lost)]
        LostTrigger.objects.using(using).bulk_create(rows)


def remembered() -> list[LostTrigger]:
    """Return the triggers that were ever found missing, as far as they can be read."""
    return in_parts(LostTrigger.objects.order_by("pk")) if is_remembering("default") else []


def is_remembering(using: str) -> bool:
    """Tell whether a database has been brought so far that it keeps which triggers were lost."""
    return LostTrigger._meta.db_table in connections[using].introspection.table_names()  # noqa: SLF001 - as Django's documentation does


def names(vendor: str) -> set[str]:
    """Return the names of the triggers that guard the day book."""
    if vendor == "sqlite":
        return set(_SQLITE)
    return {name for _, triggers in _POSTGRESQL.values() for name in triggers}


def missing(using: str = "default") -> set[str]:
    """Return the names of the triggers that are gone, put out of action, or made to do something else."""
    connection = connections[using]
    wanted: set[tuple[str, ...]]
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            wanted = {(name, _created(name)) for name in _SQLITE}
        else:
            cursor.execute(
                "SELECT tgname, pg_get_triggerdef(pg_trigger.oid, true), prosrc"
                " FROM pg_trigger JOIN pg_proc ON pg_proc.oid = tgfoid"
                " WHERE NOT tgisinternal AND tgenabled = 'O'"
            )
            wanted = {
                (name, f"CREATE TRIGGER {_called(name, when, function)}", body)
                for function, (body, named) in _POSTGRESQL.items()
                for name, when in named.items()
            }
        return {name for name, *_ in wanted - set(cursor.fetchall())}


def _created(name: str) -> str:
    return f"CREATE TRIGGER {name} {_SQLITE[name]}"


def _called(name: str, when: str, function: str) -> str:
    return f"{name} {when} EXECUTE FUNCTION {function}()"


def _text(body: str) -> str:
    return f"$${body}$$"


def statements(vendor: str) -> list[str]:
    """Return what puts every trigger in its place; raises ValueError for a database that has none of ours."""
    if vendor == "sqlite":
        return [
            statement for name in _SQLITE for statement in (f"DROP TRIGGER IF EXISTS {name}", _created(name))
        ]
    if vendor == "postgresql":
        return [
            statement
            for function, (body, triggers) in _POSTGRESQL.items()
            for statement in (
                f"CREATE OR REPLACE FUNCTION {function}() RETURNS trigger LANGUAGE plpgsql AS {_text(body)}",
                *(
                    f"CREATE OR REPLACE TRIGGER {_called(name, when, function)}"
                    for name, when in triggers.items()
                ),
            )
        ]
    raise ValueError(f"{vendor} cannot keep a day book: use SQLite or PostgreSQL")
