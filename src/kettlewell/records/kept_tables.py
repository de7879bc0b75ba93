"""Files that are being brought in: kept between two pages, and dropped a day later."""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction

from kettlewell.records.models import KeptTable, Kitchen, Person

KEPT_FOR = timedelta(days=1)
LONGEST_NAME = 200


def table_keep(kitchen: Kitchen, person: Person, now: datetime, *, name: str, content: bytes) -> KeptTable:
    """Return a file as it is kept, in place of the last that somebody brought; old ones are dropped."""
    with transaction.atomic():
        tables_forget(now)
        KeptTable.objects.filter(kitchen=kitchen, person=person).delete()
        return KeptTable.objects.create(
            kitchen=kitchen, person=person, name=name[:LONGEST_NAME], content=content, kept_at=now
        )


def tables_forget(now: datetime) -> None:
    """Drop what was kept for longer than a day."""
    KeptTable.objects.filter(kept_at__lt=now - KEPT_FOR).delete()


def table_kept(kitchen: Kitchen, table: UUID) -> KeptTable | None:
    """Return a file that somebody brought to a kitchen; None where it is there no more."""
    return KeptTable.objects.filter(kitchen=kitchen, pk=table).first()


def table_read_by(table: KeptTable, recipe: dict[str, Any] | None, sheet: str) -> None:
    """Keep how somebody wants a file read."""
    table.recipe, table.sheet = recipe, sheet[:100]
    table.save(update_fields=["recipe", "sheet"])


def table_drop(table: KeptTable) -> None:
    """Keep a file no longer."""
    table.delete()
