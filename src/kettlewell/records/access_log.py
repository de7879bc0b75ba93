"""The log of access: one line for each sign-in, change of access, refusal and server error, in UTC.

A line holds ids, addresses and names of pages, and nothing that was typed but a wrong ``Host``. Several
processes append to one file, each line in one write.
"""

import logging
from contextlib import suppress
from enum import StrEnum
from logging.handlers import RotatingFileHandler, WatchedFileHandler
from os import SEEK_END
from pathlib import Path
from urllib.parse import quote
from uuid import UUID

from django.core.files import locks

from kettlewell import clock

LARGEST_BYTES = 5_000_000
KEPT = 5  # full ones, beside the one that is written
LONGEST = 100
PLAIN = ":[],/"  # signs that stand as they are, beside letters, digits and _.-~
MONTH = len("2026-11")

log = logging.getLogger("kettlewell.access")


class Event(StrEnum):
    """What a line tells."""

    SIGNED_IN = "signed-in"
    SIGN_IN_FAILED = "sign-in-failed"
    LOCKED_OUT = "locked-out"
    SIGNED_OUT = "signed-out"
    RENEWED = "renewed"
    ACCESS_CHANGED = "access-changed"
    ACCESS_REMOVED = "access-removed"
    TABLET_ADDED = "tablet-added"
    TABLET_RETIRED = "tablet-retired"
    REFUSED = "refused"
    SERVER_ERROR = "server-error"
    BACKUP_TAKEN = "backup-taken"
    BACKUP_FAILED = "backup-failed"
    ERASED = "erased"
    ERASING_FAILED = "erasing-failed"
    CHECK_CODE_SENT = "check-code-sent"
    CHECK_CODE_FAILED = "check-code-failed"


def tell(event: Event, person: UUID | None, *, address: str = "", **more: object) -> None:
    """Write one line: what happened, who did it, from where, and more; what is unknown is ``-``."""
    said = {"person": person, "from": address, **more}
    log.info(" ".join([event, *(f"{name}={plain(value)}" for name, value in said.items())]))


def plain(value: object) -> str:
    """Return a value in visible signs alone, without blanks, so that it can end neither field nor line."""
    text = "" if value is None else str(value)
    return quote(text[:LONGEST], safe=PLAIN, errors="backslashreplace") or "-"


class InUtc(logging.Formatter):
    """Begins a line with the time, as ``2026-11-15T21:30:00.000Z``."""

    def formatTime(self, _record: logging.LogRecord, _format: str | None = None) -> str:  # noqa: N802 - named so by logging
        """Return the time of the program's clock."""
        return clock.now().isoformat(timespec="milliseconds").replace("+00:00", "Z")


class LogFile(WatchedFileHandler):
    """Appends to a file that whichever process finds it full, or of an earlier month, begins anew."""

    def emit(self, record: logging.LogRecord) -> None:
        """Write a line; what hinders it is told on the terminal and stops nobody."""
        try:
            file = Path(self.baseFilename)
            file.parent.mkdir(mode=0o700, exist_ok=True)
            begin_anew(file, self.format(record)[:MONTH])
            super().emit(record)
        except OSError:
            self.handleError(record)


def begin_anew(file: Path, month: str) -> None:
    """Give a log that is full, or that began in another month, a number, and drop the oldest."""
    if not is_over(file, month):
        return
    with file.with_name("turn.lock").open("w") as turn:
        locks.lock(turn, locks.LOCK_EX)
        if is_over(file, month):  # no other process was quicker
            RotatingFileHandler(file, backupCount=KEPT, delay=True).doRollover()


def is_over(file: Path, month: str) -> bool:
    """Tell whether a log is full, or began in another month; one that is not there, or empty, is neither."""
    with suppress(FileNotFoundError), file.open("rb") as lines:
        began = lines.read(MONTH).decode("ascii", "replace")
        return began not in ("", month) or lines.seek(0, SEEK_END) > LARGEST_BYTES
    return False
