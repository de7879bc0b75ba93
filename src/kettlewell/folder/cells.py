"""Numbers and times as people type them."""

import re
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from decimal import Decimal
from functools import lru_cache

from kettlewell.book.plain import decimal_text
from kettlewell.book.words import N_
from kettlewell.folder.words import NotUnderstoodError, short

NUMBER = r"[+-]?([0-9]+([.,][0-9]*)?|[.,][0-9]+)"
BETWEEN = r"(?:[T ,]|, ) *"
CLOCK = r"([0-9]{1,2})[:.h]([0-9]{2})(?::([0-9]{2})(?:[.,]([0-9]+))?)? *(Z|[+-][0-9]{2}:?[0-9]{2})?"
YEAR_FIRST = r"([0-9]{4})[-./]([0-9]{1,2})[-./]([0-9]{1,2})"
DAY_FIRST = r"([0-9]{1,2})[-./]([0-9]{1,2})[-./]([0-9]{4}|[0-9]{2})"

_NUMBER = re.compile(NUMBER)
_YEAR_FIRST = re.compile(YEAR_FIRST)
_DAY_FIRST = re.compile(DAY_FIRST)
_CLOCK = re.compile(CLOCK)
_DAY_AND_CLOCK = re.compile(rf"([0-9./-]+){BETWEEN}(.+)")
_BEGINS = re.compile(rf'[\s"]*(?:{YEAR_FIRST}|{DAY_FIRST})[T ,]')

EARLIEST_YEAR = 2000
LATEST_YEAR = 2099
NO_TIME = N_("{written!r} is not a date and time; write it like 31.12.2026 14:05 or 2026-12-31 14:05")
NO_SUCH_TIME = N_("{written!r} is not a day and time there is in {first} to {last}; check it")


def begins_a_row(line: str) -> bool:
    """Tell whether a line begins with a date, as every row of a log does."""
    return _BEGINS.match(line) is not None


def number(text: str, field: str, low: float, high: float, *, unit: str = "") -> float:
    """Return a typed number; raise NotUnderstoodError unless it lies in [low, high]."""
    value = _number(text.removesuffix("%").rstrip())
    if value is None:
        raise NotUnderstoodError(
            field, N_("{number!r} is not a number; write it like 12.5 or 12,5"), number=short(text)
        )
    if not low <= value <= high:
        outside = N_("{number} cannot be; it lies outside {low} to {high} {unit}: check it")
        outside = outside if unit else N_("{number} cannot be; it lies outside {low} to {high}: check it")
        bounds = {"low": exact(low), "high": exact(high)}
        raise NotUnderstoodError(field, outside, number=short(text), unit=unit, **bounds)
    return value


def exact(number: float) -> Decimal:
    """Return a number that is told with all of its digits."""
    return Decimal(decimal_text(number))


@lru_cache(maxsize=4096)
def _number(text: str) -> float | None:
    return float(text.replace(",", ".")) if _NUMBER.fullmatch(text) else None


def moment(text: str, zone: tzinfo, field: str = "when") -> datetime:
    """Return a typed date and time in UTC; one that names no zone is in ``zone``.

    An hour that comes twice when clocks go back is taken the first time; one that
    is left out when they go forward is read as if they had not been moved.
    """
    parts = _DAY_AND_CLOCK.fullmatch(text)
    try:
        day, clock = (_day(parts[1]), _clock(parts[2])) if parts else (None, None)
        if day and clock:
            return datetime.combine(day, clock, clock.tzinfo or zone).astimezone(UTC)
    except ValueError:
        years = {"first": EARLIEST_YEAR, "last": LATEST_YEAR}
        raise NotUnderstoodError(field, NO_SUCH_TIME, written=short(text), **years) from None
    raise NotUnderstoodError(field, NO_TIME, written=short(text))


@lru_cache(maxsize=4096)
def _day(text: str) -> date | None:
    if found := _YEAR_FIRST.fullmatch(text):
        year, month, day = found.groups()
    elif found := _DAY_FIRST.fullmatch(text):
        day, month, year = found.groups()
    else:
        return None
    written = date(int(year) + (2000 if len(year) == 2 else 0), int(month), int(day))
    if not EARLIEST_YEAR <= written.year <= LATEST_YEAR:
        raise ValueError(text)
    return written


@lru_cache(maxsize=4096)
def _clock(text: str) -> time | None:
    found = _CLOCK.fullmatch(text)
    if found is None:
        return None
    hour, minute, second, fraction, offset = found.groups()
    microsecond = int((fraction or "")[:6].ljust(6, "0"))
    zone = _offset(offset) if offset else None
    return time(int(hour), int(minute), int(second or 0), microsecond, tzinfo=zone)


def _offset(text: str) -> tzinfo:
    if text == "Z":
        return UTC
    hours, minutes = int(text[1:3]), int(text[-2:])
    ahead = timedelta(hours=hours, minutes=minutes)
    return timezone(-ahead if text[0] == "-" else ahead)
