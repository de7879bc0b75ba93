"""The one clock of the program: screens and commands ask it, and tell everyone below the time."""

import os
from datetime import UTC, datetime

SETTING = "KETTLEWELL_NOW"


def stands_still() -> bool:
    """Tell whether the clock was told to stand still."""
    return bool(os.environ.get(SETTING, "").strip())


def now() -> datetime:
    """Return the time in UTC; the one in ``KETTLEWELL_NOW`` where the clock is to stand still.

    Raises ValueError where that names no moment.
    """
    return stopped(os.environ[SETTING].strip()) if stands_still() else datetime.now(UTC)


def stopped(said: str) -> datetime:
    """Return the moment at which the clock stands still; raises ValueError where it is none."""
    try:
        at = datetime.fromisoformat(said)
    except ValueError:
        at = None
    if at is None or at.utcoffset() is None:
        raise ValueError(f"{SETTING} is {said!r}; write a moment with its zone, like 2026-11-15T21:30+00:00")
    return at.astimezone(UTC)
