"""Taking copies of the server's day books, by command and by itself, and bringing one back."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

from kettlewell import clock
from kettlewell.cli.screen import Line
from kettlewell.records.backup import (
    Backup,
    BackupError,
    backup_restore,
    backup_take,
    backups_in,
    backups_thin,
)
from kettlewell.telling import N_, Reader

EVERY = timedelta(days=1)
KEY = "KETTLEWELL_BACKUP_KEY"
SHORTEST_KEY = 12

TAKEN = N_("Taken and read back: {file}")
BACK = N_("Brought back into {place}, as of {time} UTC.")
HEAD = N_("{kitchen}: {number} entries. Head: {head}")
OPEN_TO_READ = N_(
    "It is not sealed: whoever has the file can read it. Set KETTLEWELL_BACKUP_KEY to seal the next."
)
SHORT_KEY = N_(
    "KETTLEWELL_BACKUP_KEY is shorter than 12 characters. Take a longer passphrase, and keep it elsewhere."
)
ON_POSTGRES = N_("The day book is on PostgreSQL: take copies with pg_dump.")
FAILED = N_("No copy can be taken or brought back: {why}")


def backup(folder: Path, reader: Reader) -> Iterator[Line]:
    """Take a copy into a folder, and yield what was taken; raises ValueError where there can be none."""
    with in_a_sentence(reader):
        taken = backup_take(home_of_file(reader), folder, now=reader.now, passphrase=passphrase(reader))
    yield Line(text=reader.say(TAKEN, file=str(taken.file)))
    yield from heads(taken, reader)
    if not os.environ.get(KEY):
        yield Line(text=reader.say(OPEN_TO_READ))


def restore(file: Path, reader: Reader) -> Iterator[Line]:
    """Bring a copy back into the home folder; raises ValueError where it is no good or a book is there."""
    from django.conf import settings  # noqa: PLC0415 - read only now, as another setting may have been given

    home = Path(settings.HOME)
    with in_a_sentence(reader):
        back = backup_restore(file, home, passphrase=os.environ.get(KEY, ""))
    yield Line(text=reader.say(BACK, place=str(home), time=reader.date(back.taken_at)))
    yield from heads(back, reader)


def heads(copied: Backup, reader: Reader) -> Iterator[Line]:
    """Yield the end of each day book in a copy."""
    for kitchen, (number, head) in copied.heads.items():
        yield Line(text=reader.say(HEAD, kitchen=kitchen, number=str(number), head=head or "–"))


def home_of_file(reader: Reader) -> Path:
    """Return the home folder whose day book is a file; raises ValueError where it is on a database server."""
    from django.conf import settings  # noqa: PLC0415

    if "sqlite" not in str(settings.DATABASES["default"]["ENGINE"]):
        raise ValueError(reader.say(ON_POSTGRES))
    return Path(settings.HOME)


def passphrase(reader: Reader) -> str:
    """Return the passphrase that seals copies, or ""; raises ValueError for one that is soon guessed."""
    said = os.environ.get(KEY, "")
    if said and len(said) < SHORTEST_KEY:
        raise ValueError(reader.say(SHORT_KEY))
    return said


@contextmanager
def in_a_sentence(reader: Reader) -> Iterator[None]:
    """Turn why there is no copy into a ValueError that says so."""
    try:
        yield
    except BackupError as error:
        raise ValueError(reader.say(error.text, **error.values)) from None
    except (OSError, sqlite3.Error) as error:
        raise ValueError(reader.say(FAILED, why=str(error))) from None


def take_if_due(home: Path, folder: Path, sealed_by: str) -> None:
    """Take a copy where the newest is of another day's time, and thin them out; the log tells either end."""
    from kettlewell.records.access_log import Event, tell  # noqa: PLC0415

    now = clock.now()
    try:
        newest = next(iter(backups_in(folder)), None)
        if newest is None or abs(now - newest[0]) >= EVERY:
            taken = backup_take(home, folder, now=now, passphrase=sealed_by)
            tell(Event.BACKUP_TAKEN, None, file=taken.file.name)
            backups_thin(folder)
    except (BackupError, OSError, sqlite3.Error) as error:
        tell(Event.BACKUP_FAILED, None, why=error)
