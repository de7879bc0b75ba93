"""The one clock of the program: screens and commands ask it, and tell everyone below the time."""

import os
from datetime import UTC, datetime, timedelta

SETTING = "KETTLEWELL_NOW"


def now() -> datetime:
    """Return the time in UTC, as ``KETTLEWELL_NOW`` has the clock set.

    That names the moment at which the clock stands still, or by how many seconds it goes wrong, with a
    sign. Raises ValueError where it names neither.
    """
    said = setting()
    if not said:
        return running()
    return running() + shift(said) if said[0] in "+-" else moment(said)


def running() -> datetime:
    """Return the time by the machine's clock, in UTC."""
    return datetime.now(UTC)


def setting() -> str:
    """Return how the clock is set; empty where it runs as it should."""
    return os.environ.get(SETTING, "").strip()


def shift(said: str) -> timedelta:
    """Return by how much the clock goes wrong; raises ValueError where it is not said."""
    try:
        return timedelta(seconds=float(said))
    except (OverflowError, ValueError):
        raise refused(said) from None


def moment(said: str) -> datetime:
    """Return the moment at which the clock stands still; raises ValueError where it is none."""
    try:
        at = datetime.fromisoformat(said)
    except ValueError:
        raise refused(said) from None
    if at.utcoffset() is None:
        raise refused(said)
    return at.astimezone(UTC)


def refused(said: str) -> ValueError:
    """Return the error that says how the clock can be set."""
    return ValueError(
        f"{SETTING} is {said!r}; write a moment with its zone, like 2026-11-15T21:30+00:00, "
        "or seconds with a sign, like -3600"
    )
