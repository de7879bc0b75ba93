"""What is kept of the day book elsewhere: the last good backup and check code, told with the kitchen."""

from datetime import timedelta
from pathlib import Path
from typing import Any

from django.conf import settings

from kettlewell.records.anchors import anchor_of
from kettlewell.records.backup import SEALED, backups_in
from kettlewell.records.models import Kitchen
from kettlewell.telling import Reader

LATE = timedelta(days=2)  # one is taken each day


def check_code_sent(kitchen: Kitchen, reader: Reader) -> str:
    """Return when the check code was last sent out of the house; "" where it was not."""
    sent = anchor_of(kitchen)
    return reader.date(sent.sent_at) if sent else ""


def backups_kept(reader: Reader) -> dict[str, Any]:
    """Return whether backups are taken by themselves, and of the newest when that was and if it is late."""
    if not settings.BACKUPS:
        return {"taken": False}
    there = backups_in(Path(settings.BACKUPS).expanduser())
    if not there:
        return {"taken": True, "late": True}
    taken_at, file = there[0]
    return {
        "taken": True,
        "last": reader.date(taken_at),
        "late": reader.now - taken_at > LATE,
        "sealed": file.name.endswith(SEALED),
        "number": len(there),
    }
