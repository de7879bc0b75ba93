"""What a server keeps its day book in, and whether it can still be written there."""

import os
from pathlib import Path

from django.conf import settings
from django.db import OperationalError, connection

BEGUN_WITH = "KETTLEWELL_BOOK_FILE"


def identity(file: Path) -> tuple[int, int] | None:
    """Return the device and number of a file, which a copy of it does not share; None where there is none."""
    try:
        status = file.stat()
    except FileNotFoundError:
        return None
    return status.st_dev, status.st_ino


def is_kept() -> bool:
    """Return whether the day book is the file with which the server began."""
    begun_with = os.environ.get(BEGUN_WITH)
    return begun_with is None or begun_with == str(identity(Path(str(settings.DATABASES["default"]["NAME"]))))


def book_ask() -> None:
    """Ask the database for nothing; raises OperationalError where it does not answer."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")


def is_of_storage(error: BaseException | None) -> bool:
    """Return whether an error is of the disk or the database, and not of the program."""
    return isinstance(error, OperationalError)
