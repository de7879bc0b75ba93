"""A day book as JSON Lines: all that another program needs to verify its chain.

docs/reference/day-book.md tells the form, `day-book-line.schema.json` beside this module what a line may
hold. What was erased is told as such; what a name or note says is in base64, since it may be a photo.
"""

import base64
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.db import transaction

from kettlewell.records.ledger import document
from kettlewell.records.models import Entry, Kitchen, Private

FORM = "kettlewell day book 1"
SCHEMA = Path(__file__).parent / "day-book-line.schema.json"


def lines_of(kitchen: Kitchen) -> Iterator[str]:
    """Yield the lines of a day book: first whose it is and where it ends, then every entry in its place."""
    with transaction.atomic():  # an erasure falls before all of it or after
        row = Kitchen.objects.select_for_update().get(pk=kitchen.pk)
        yield line({"form": FORM, "kitchen": str(row.pk), "seq": str(row.head_seq), "head": row.head_hash})
        kept: dict[Any, dict[str, Any]] = {}
        for private in Private.objects.filter(entry__kitchen=row):
            kept.setdefault(private.entry_id, {})[private.field] = opened(private)
        for entry in Entry.objects.filter(kitchen=row).order_by("seq").iterator():
            told = {"entry": document(entry), "hash": entry.hash}
            yield line(told | ({"private": kept[entry.pk]} if entry.pk in kept else {}))


def opened(private: Private) -> dict[str, str] | None:
    """Return salt (hexadecimal) and content (base64) of a name or note; None where it was erased."""
    if private.salt is None or private.content is None:
        return None
    content = base64.b64encode(bytes(private.content)).decode("ascii")
    return {"salt": bytes(private.salt).hex(), "content": content}


def line(told: dict[str, Any]) -> str:
    """Return one line."""
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"), sort_keys=True) + "\n"
