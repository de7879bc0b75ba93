"""Day books that earlier versions wrote, put back into the tables they were written to."""

import base64
import json
import lzma
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.utils.crypto import salted_hmac

FILES = sorted((Path(__file__).parents[1] / "records" / "ledgers").glob("*.jsonl"))


@dataclass(frozen=True)
class Ledger:
    """The rows of a day book by their model, the migration they were written at, and when it ends."""

    migration: str
    now: datetime
    rows: list[dict]


def read_ledger(file):
    """Return what a file holds."""
    head, *rows = (json.loads(line) for line in file.read_text("utf-8").splitlines())
    return Ledger(migration=head["migration"], now=datetime.fromisoformat(head["now"]), rows=rows)


def bring(ledger):
    """Write the rows into the tables, column by column as they were then."""
    then = MigrationLoader(connection).project_state(("records", ledger.migration)).apps
    for row in ledger.rows:
        values = {name: value_of(value) for name, value in row.items() if name != "model"}
        if row["model"] == "StoredBelief":
            values["content"] = sealed(lzma.decompress(values["content"]))
        then.get_model("records", row["model"])(**values).save(force_insert=True)


def value_of(value):
    """Return a column's value; bytes stand in base64."""
    if isinstance(value, dict) and set(value) == {"base64"}:
        return base64.b64decode(value["base64"])
    return value


def sealed(content):
    """Return a stored belief behind this server's seal, as the version that wrote it made one."""
    return salted_hmac("kettlewell.belief", content, algorithm="sha256").digest() + content
