"""Days, times and numbers as tables hold them: typed by a spreadsheet, or written by hand."""

import re
from datetime import date, datetime, time
from decimal import Decimal
from functools import lru_cache

from kettlewell.book.plain import decimal_text
from kettlewell.book.words import N_
from kettlewell.folder.cells import EARLIEST_YEAR, LATEST_YEAR
from kettlewell.folder.words import NotUnderstoodError, short, squeezed
from kettlewell.tables.recipe import Decimals, Order
from kettlewell.tables.sheets import Cell, NotComputed
from kettlewell.tables.words import BLANK, months, weekdays

NOT_COMPUTED = N_("is a formula without its result; open the table, save it, and bring it in again")
NO_DAY = N_("{written!r} is no day that can be read, such as 31.12.2026 or 2026-12-31")
NO_SUCH_DAY = N_("{written!r} is not a day there is in {first} to {last}; check it")
NO_CLOCK = N_("{written!r} is no time of day, such as 14:05")
NO_NUMBER = N_("{written!r} is not a number")

LONGEST = 60  # letters of a day, a time or a number, with whatever stands around it
MOST = 1e15  # and no number is beyond it, as what is none is

_SEPARATED = r"[-./ ]+"
_YEAR_FIRST = re.compile(rf"([0-9]{{4}}){_SEPARATED}([0-9]{{1,2}}){_SEPARATED}([0-9]{{1,2}})")
_NUMBERS = re.compile(rf"([0-9]{{1,2}}){_SEPARATED}([0-9]{{1,2}}){_SEPARATED}([0-9]{{4}}|[0-9]{{2}})")
_DAY_NAMED = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th|er)?\.?[-/ ]*([^\W\d_]+)\.?,?[-/ ]*([0-9]{4}|[0-9]{2})")
_NAMED_DAY = re.compile(r"([^\W\d_]+)\.? *([0-9]{1,2})(?:st|nd|rd|th)?,? +([0-9]{4}|[0-9]{2})")
_WEEKDAY = re.compile(r"([^\W\d_]+)[.,]* +(?=\S)|([^\W\d_]+)[.,]+")
_CLOCK = re.compile(
    r"([0-9]{1,2})(?:[:.h]([0-9]{2}))?(?::([0-9]{2})(?:[.,][0-9]+)?)? *([ap]\.?m\.?|uhr|h)?", re.IGNORECASE
)
_DIGITS = re.compile(r"([0-9]{2})([0-9]{2})")
_GROUPING = re.compile(r"[.,' \u00a0\u202f\u2019]")
_WHOLE = re.compile(rf"[-+]?(?:[0-9]{{1,12}}|[0-9]{{1,3}}(?:{_GROUPING.pattern}[0-9]{{3}}){{1,3}})")
_MEASURED = re.compile(r"([-+]?[0-9][0-9.,' \u00a0\u202f\u2019]*)(.*)", re.DOTALL)


def text_of(cell: Cell) -> str:
    """Return a cell as it is shown, and as words in it are read."""
    match cell:
        case None:
            return ""
        case float():
            return decimal_text(cell) if abs(cell) < MOST else str(cell)
        case datetime():
            return cell.strftime("%Y-%m-%d" if is_midnight(cell) else "%Y-%m-%d %H:%M")
        case date():
            return cell.isoformat()
        case time():
            return cell.strftime("%H:%M")
        case _:
            return cell


def is_blank(cell: Cell) -> bool:
    """Tell whether a cell says nothing."""
    return cell is None or (isinstance(cell, str) and cell.strip().casefold() in BLANK)


def is_midnight(at: datetime) -> bool:
    """Tell whether a spreadsheet keeps a day alone in what it gives as day and time."""
    return at.time() == time()


def day_of(cell: Cell, order: Order) -> tuple[date, time | None]:
    """Return the day in a cell, and the time where the cell has one; raises NotUnderstoodError."""
    match cell:
        case datetime():
            return checked(cell.date(), text_of(cell)), None if is_midnight(cell) else cell.time()
        case date():
            return checked(cell, text_of(cell)), None
        case NotComputed():
            raise NotUnderstoodError("", NOT_COMPUTED)
        case str() if len(cell) <= LONGEST:
            return written_day(cell, order)
        case _:
            raise NotUnderstoodError("", NO_DAY, written=short(text_of(cell)))


def checked(day: date, written: str) -> date:
    """Return a day of the years that a day book may be of; raises NotUnderstoodError for another."""
    if not EARLIEST_YEAR <= day.year <= LATEST_YEAR:
        years = {"first": EARLIEST_YEAR, "last": LATEST_YEAR}
        raise NotUnderstoodError("", NO_SUCH_DAY, written=short(written), **years)
    return day


@lru_cache(maxsize=8192)
def written_day(text: str, order: Order) -> tuple[date, time | None]:
    """Return the day that is written, and the time behind it; raises NotUnderstoodError."""
    bare = without_weekday(" ".join(text.split()))
    parts = day_parts(bare, order)
    if parts is None:
        raise NotUnderstoodError("", NO_DAY, written=short(text))
    year, month, day, end = parts
    try:
        found = checked(date(year + (2000 if year < 100 else 0), month, day), text)
    except ValueError as error:
        if isinstance(error, NotUnderstoodError):
            raise
        years = {"first": EARLIEST_YEAR, "last": LATEST_YEAR}
        raise NotUnderstoodError("", NO_SUCH_DAY, written=short(text), **years) from None
    behind = bare[end:].strip(" ,T")
    return found, written_clock(behind) if behind else None


def without_weekday(text: str) -> str:
    """Return a day without the name of its weekday."""
    named = _WEEKDAY.match(text)
    name = named and (named[1] or named[2])
    return text[named.end() :].lstrip() if named and name and squeezed(name) in weekdays() else text


def day_parts(text: str, order: Order) -> tuple[int, int, int, int] | None:
    """Return year, month and day as they are written, and where they end; None where they are not there."""
    if found := _YEAR_FIRST.match(text):
        return int(found[1]), int(found[2]), int(found[3]), found.end()
    if found := _NUMBERS.match(text):
        first, second, year = (int(part) for part in found.groups())
        day, month = (first, second) if order is Order.DAY_FIRST else (second, first)
        return year, month, day, found.end()
    if (found := _DAY_NAMED.match(text)) and (month := months().get(squeezed(found[2]), 0)):
        return int(found[3]), month, int(found[1]), found.end()
    if (found := _NAMED_DAY.match(text)) and (month := months().get(squeezed(found[1]), 0)):
        return int(found[3]), month, int(found[2]), found.end()
    return None


def numbers_of_day(text: str) -> tuple[int, int] | None:
    """Return the first two numbers of a day that is written in numbers, the year last; None of another."""
    bare = without_weekday(" ".join(text.split()))
    found = None if _YEAR_FIRST.match(bare) else _NUMBERS.match(bare)
    return (int(found[1]), int(found[2])) if found else None


def clock_of(cell: Cell) -> time:
    """Return the time of day in a cell; raises NotUnderstoodError."""
    match cell:
        case datetime():
            return cell.time()
        case time():
            return cell
        case float() if 0 <= cell < 1:
            minutes = round(cell * 24 * 60)
            return time(minutes // 60 % 24, minutes % 60)
        case NotComputed():
            raise NotUnderstoodError("", NOT_COMPUTED)
        case _:
            return written_clock(text_of(cell)[: LONGEST + 1])


@lru_cache(maxsize=4096)
def written_clock(text: str) -> time:
    """Return the time of day that is written; raises NotUnderstoodError."""
    found = _CLOCK.fullmatch(text.strip())
    digits = _DIGITS.fullmatch(text.strip())
    if digits:
        hour, minute, second, half = int(digits[1]), int(digits[2]), 0, ""
    elif found and (found[2] or found[4]):
        hour, minute, second = int(found[1]), int(found[2] or 0), int(found[3] or 0)
        half = (found[4] or "").casefold()[:1]
    else:
        raise NotUnderstoodError("", NO_CLOCK, written=short(text))
    if half in ("a", "p") and 1 <= hour <= 12:
        hour = hour % 12 + (12 if half == "p" else 0)
    try:
        return time(hour, minute, second)
    except ValueError:
        raise NotUnderstoodError("", NO_CLOCK, written=short(text)) from None


def measured(cell: Cell, decimals: Decimals) -> tuple[Decimal, str]:
    """Return the number in a cell and the unit behind it; raises NotUnderstoodError."""
    if isinstance(cell, NotComputed):
        raise NotUnderstoodError("", NOT_COMPUTED)
    if isinstance(cell, float) and abs(cell) < MOST:
        return Decimal(decimal_text(cell)), ""
    found = (
        _MEASURED.fullmatch(text_of(cell).strip()) if isinstance(cell, str) and len(cell) <= LONGEST else None
    )
    number = None if found is None else written_number(found[1].strip(), decimals)
    if found is None or number is None:
        raise NotUnderstoodError("", NO_NUMBER, written=short(text_of(cell)))
    return number, found[2].strip()


@lru_cache(maxsize=4096)
def written_number(text: str, decimals: Decimals) -> Decimal | None:
    """Return a number as it is written; None where it is none.

    Of a point and a comma the last stands before the decimals. One alone does so too, whichever it
    is, unless three digits follow and the table uses the other one.
    """
    signs = {sign for sign in ".," if sign in text}
    mark = decimals.value
    if len(signs) == 2:
        mark = max(signs, key=text.rfind)
    elif signs:
        (sign,) = signs
        _, _, behind = text.rpartition(sign)
        thousands = text.count(sign) > 1 or (sign != mark and len(behind) == 3)
        mark = ("," if sign == "." else ".") if thousands else sign
    whole, point, behind = text.partition(mark)
    if not _WHOLE.fullmatch(whole) or (point and not re.fullmatch(r"[0-9]{0,12}", behind)):
        return None
    return Decimal(f"{_GROUPING.sub('', whole)}.{behind or 0}")
