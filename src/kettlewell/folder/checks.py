"""What a value in kitchen.toml may be: each check returns it, or raises ValueError with advice."""

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar
from zoneinfo import ZoneInfo, available_timezones

from kettlewell.book.settings import DAYS
from kettlewell.book.words import N_, ToldError
from kettlewell.core.limits import jurisdictions
from kettlewell.folder.cells import exact
from kettlewell.folder.words import NOT_KNOWN, nearest, squeezed

Check = Callable[[object], object]
E = TypeVar("E", bound=StrEnum)

DAY = "[0-9]{4}-[0-9]{2}-[0-9]{2}"


def text(value: object) -> str:
    """Return a text that is not empty."""
    if not isinstance(value, str) or not value.strip():
        raise ToldError(N_('{value} is not a text; write it in quotes, like "F1"'), value=repr(value))
    return value.strip()


def texts(value: object) -> tuple[str, ...]:
    """Return a list of texts."""
    if isinstance(value, list):
        return tuple(text(each) for each in value)
    raise ToldError(N_('{value} is not a list; write it in brackets, like ["F1", "F2"]'), value=repr(value))


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberIn:
    """A check for a number in [low, high], or in (low, high] with ``above``."""

    low: float = 0.0
    high: float = math.inf
    above: bool = False

    def __call__(self, value: object) -> float:
        """Return the number."""
        found = _finite(value)
        if not self.low <= found <= self.high or (self.above and found == self.low):
            low, high = exact(self.low), None if self.high == math.inf else exact(self.high)
            raise ToldError(self._bounds(), value=str(value), low=low, high=high)
        return found

    def _bounds(self) -> str:
        if self.high == math.inf:
            return N_("{value} must be {low} or more")
        if self.above:
            return N_("{value} must lie above {low} and at most at {high}")
        return N_("{value} must lie from {low} and at most at {high}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Price(NumberIn):
    """A check for a price of 0 or more, which stays exact to its last digit."""

    def __call__(self, value: object) -> Decimal:  # type: ignore[override]  # money is no float
        """Return the price."""
        NumberIn.__call__(self, value)
        return Decimal(str(value))


def _finite(value: object) -> float:
    try:
        found = float(value) if isinstance(value, int | float | Decimal) else math.nan
    except OverflowError:
        found = math.inf
    if isinstance(value, bool) or not math.isfinite(found):
        raise ToldError(
            N_("{value} is not a number; write it with a point and without quotes, like 12.5"),
            value=repr(value),
        )
    return found


def one_of(kinds: type[E]) -> Check:
    """Return a check for one of the words of an enumeration."""

    def check(value: object) -> E:
        return kinds(word_of([kind.value for kind in kinds])(value))

    return check


def word_of(words: Sequence[str]) -> Callable[[object], str]:
    """Return a check for one of these words, exactly as it stands."""

    def check(value: object) -> str:
        word = text(value)
        if word not in words:
            raise ToldError(NOT_KNOWN, word=word, advice=nearest(word, words))
        return word

    return check


def some_of(kinds: type[E]) -> Check:
    """Return a check for a list of words of an enumeration."""

    def check(value: object) -> tuple[E, ...]:
        return tuple(kinds(word_of([kind.value for kind in kinds])(word)) for word in texts(value))

    return check


def zone(value: object) -> str:
    """Return the name of a time zone."""
    name = text(value)
    try:
        ZoneInfo(name)
    except (ValueError, OSError, LookupError):
        advice = nearest(name, sorted(available_timezones()))
        raise ToldError(N_("{name!r} is not a time zone; {advice}"), name=name, advice=advice) from None
    return name


def jurisdiction(value: object) -> str:
    """Return the code of a jurisdiction whose limits are packaged."""
    return word_of(jurisdictions())(value)


def clock(value: object) -> time:
    """Return a time of day written like "11:30"."""
    try:
        hour, minute = text(value).split(":")
        return time(int(hour), int(minute))
    except ValueError:
        raise ToldError(
            N_('{value!r} is not a time of day; write it in quotes, like "11:30"'), value=str(value)
        ) from None


def day(value: object) -> date:
    """Return a day of the calendar written like "2026-12-31"."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value  # as TOML writes one, without quotes
    written = str(value)
    try:
        if re.fullmatch(DAY, written):
            return date.fromisoformat(written)
    except ValueError:
        raise ToldError(N_("{value!r} is not in the calendar; check it"), value=written) from None
    raise ToldError(N_('{value!r} is not a day; write it in quotes, like "2026-12-31"'), value=written)


def weekdays(value: object) -> tuple[int, ...]:
    """Return days counted from Monday = 0: a list, one day, or a stretch like "fri-sun"."""
    if isinstance(value, list):
        return tuple(sorted({_day(each) for each in value}))
    first, dash, last = text(value).partition("-")
    begin, end = _day(first), _day(last if dash else first)
    return tuple(sorted((begin + step) % 7 for step in range((end - begin) % 7 + 1)))


def _day(value: object) -> int:
    word = squeezed(text(value))
    if word not in DAYS:
        raise ToldError(
            N_('{value} is not a day; write mon, tue … sun, "mon-fri" or ["mon", "wed"]'), value=repr(value)
        )
    return DAYS.index(word)
