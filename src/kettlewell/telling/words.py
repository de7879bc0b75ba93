"""The reader's own way of writing: sentences in his language, numbers and times as written there.

Texts are English; a catalogue in ``kettlewell/locale`` replaces them, which
``tools/catalogue.py`` keeps. Weekdays and months follow the language of the sentences, the
decimal sign the reader's own locale.
"""

import gettext
import os
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date as Date  # noqa: N812 - Reader has a method of the name
from datetime import datetime, time, timedelta
from decimal import Decimal
from importlib.resources import files
from math import ceil
from zoneinfo import ZoneInfo

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_datetime
from babel.numbers import format_decimal

from kettlewell.telling.message import N_, Message, Value

# One catalogue for commands and web; Django reads none of another name.
DOMAIN = "django"
HOME = "en_GB"
ASKED = ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG")  # in this order, as gettext asks them
THIS_WEEK = timedelta(days=6)
UNKNOWN = N_("unknown")
# fields of sentences that hold a word of the program's data, and no name that a kitchen chose
OURS = frozenset({"quantity", "force"})
# and those that hold a probability
PROBABILITIES = frozenset({"passing"})
LEAST = 1e-7  # of a chance: it is written down to six decimals
TENTHS_BELOW_PCT = 9.5
WITHIN_A_FIGURE = re.compile(r"(?<=\d) (?=(?:%|°C|kg|g|l|ml|h|min|points?|Punkte?)(?!\w))|(?<=±) (?=\d)")
NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"

# Patterns of Unicode TR 35; a translation may put the parts in another order.
SOON = N_("EEE HH:mm")
FAR = N_("EEE d MMM HH:mm")
DAY_SOON = N_("EEE")
DAY_FAR = N_("EEE d MMM")
DATED = N_("EEE d MMM yyyy, HH:mm")
CALENDAR_DAY = N_("d MMM")
MONTH = N_("LLLL yyyy")


def unparted(text: str) -> str:
    """Return a text in which no number is parted from its unit, or its ±, at the end of a line."""
    return WITHIN_A_FIGURE.sub(NO_BREAK_SPACE, text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reader:
    """Who reads: locale and catalogue, the kitchen's zone, and the moment of reading."""

    locale: Locale
    zone: ZoneInfo
    now: datetime
    catalogue: gettext.NullTranslations = field(default_factory=gettext.NullTranslations)

    @property
    def today(self) -> Date:
        """The day it is where the reader stands, at the end of the running minute.

        All that stands is computed to that minute; just before midnight it lies in tomorrow.
        """
        return (self.now + timedelta(minutes=1)).astimezone(self.zone).date()

    @property
    def midnight(self) -> datetime:
        """When the day began where the reader stands."""
        return datetime.combine(self.now.astimezone(self.zone), time.min, self.zone)

    def tell(self, message: Message) -> str:
        """Return a sentence, translated, with its values filled in."""
        return self.say(message.text, **message.values)

    def say(self, text: str, **values: Value) -> str:
        """Return ``text`` translated, with its {fields} filled in."""
        return self._gettext(text).format(**self._shown(values))

    def count(self, number: int, one: str, many: str, **values: Value) -> str:
        """Return the sentence for ``number`` things; it is the {number} of either text."""
        text = self.catalogue.ngettext(one, many, number)
        return text.format(number=number, **self._shown(values))

    def show(self, value: Value) -> str:
        """Return a value as it stands in a sentence; names are the kitchen's own and stay."""
        if value is None:
            return self._gettext(UNKNOWN)
        if isinstance(value, str):
            return value
        if isinstance(value, datetime):
            return self.moment(value)
        if isinstance(value, Date):
            return self.written_day(value)
        return self.tell(value) if isinstance(value, Message) else self.number(value)

    def number(self, value: float | Decimal, *, digits: int | None = None) -> str:
        """Return a number with ``digits`` decimals; unless given with one at the most, a Decimal with all."""
        at_most = "0.######" if isinstance(value, Decimal) else "0.#"
        pattern = at_most if digits is None else f"0.{'0' * digits}"
        return str(format_decimal(value, pattern, locale=self.locale))

    def percent(self, probability: float) -> str:
        """Return a probability in percent: whole, below 10 to a tenth, rounded up.

        One that is not 0 or 1 never reads as 0 or 100.
        """
        if 0 < probability < 0.01:
            return self.say(N_("under 1 %"))
        if 0.99 < probability < 1:
            return self.say(N_("over 99 %"))
        percent = 100 * probability
        told = round(percent) if percent >= TENTHS_BELOW_PCT else ceil(round(10 * percent, 6)) / 10
        return self.say(N_("{percent} %"), percent=told)

    def chance(self, probability: float) -> str:
        """Return a probability that was worked out, in percent: nothing worked out is certain."""
        return self.percent(min(max(probability, LEAST), 1 - LEAST))

    def moment(self, at: datetime) -> str:
        """Return weekday and time in the kitchen's zone, with the date when it is not near."""
        return self._dated(at, SOON if self._near(at) else FAR)

    def day(self, at: datetime) -> str:
        """Return the weekday in the kitchen's zone, with the date when it is not near."""
        return self._dated(at, DAY_SOON if self._near(at) else DAY_FAR)

    def date(self, at: datetime) -> str:
        """Return weekday, date, year and time in the kitchen's zone."""
        return self._dated(at, DATED)

    def calendar_day(self, at: datetime) -> str:
        """Return day and month in the kitchen's zone, as short as an axis needs it."""
        return self._dated(at, CALENDAR_DAY)

    def month(self, day: Date) -> str:
        """Return the month of a day, with its year."""
        return str(format_date(day, self._gettext(MONTH), locale=self._language()))

    def written_day(self, day: Date) -> str:
        """Return a day of the calendar, with its year."""
        return str(format_date(day, locale=self._language()))

    def _near(self, at: datetime) -> bool:
        return abs(at - self.now) < THIS_WEEK

    def _dated(self, at: datetime, pattern: str) -> str:
        return format_datetime(at, self._gettext(pattern), tzinfo=self.zone, locale=self._language())

    def _language(self) -> Locale | str:
        return self.locale if isinstance(self.catalogue, gettext.GNUTranslations) else HOME

    def _shown(self, values: Mapping[str, Value]) -> dict[str, str]:
        return {name: self._shown_as(name, value) for name, value in values.items()}

    def _shown_as(self, name: str, value: Value) -> str:
        if name in OURS and isinstance(value, str):
            return self._gettext(value)
        if name in PROBABILITIES and isinstance(value, float | int):
            return self.chance(value)
        return self.show(value)

    def _gettext(self, text: str) -> str:
        # gettext answers the empty text with the catalogue's own header
        return self.catalogue.gettext(text) if text else text


def reader(zone: str, now: datetime, *, locale: str | None = None) -> Reader:
    """Return who reads in ``locale``, such as "de" or "en-gb".

    Unless given it is the one the environment speaks of (LANGUAGE, LC_ALL, LC_MESSAGES, LANG).
    Raises ValueError for a locale that there is not.
    """
    own = _own_locale() if locale is None else named_locale(locale)
    folder = str(files("kettlewell").joinpath("locale"))
    catalogue = gettext.translation(DOMAIN, folder, [str(own), own.language], fallback=True)
    return Reader(locale=own, zone=ZoneInfo(zone), now=now, catalogue=catalogue)


def named_locale(name: str) -> Locale:
    """Return the locale of a name such as "de" or "en-gb"; raises ValueError where there is none."""
    try:
        return Locale.parse(name, sep="-" if "-" in name else "_")
    except (UnknownLocaleError, ValueError) as error:
        raise ValueError(f"no locale {name!r} is known: give one such as 'de' or 'en-gb'") from error


def _own_locale() -> Locale:
    """Return the locale that the environment names first; if without its region, with that of a later one."""
    named = [_written_locale(os.environ[name]) for name in ASKED if os.environ.get(name)]
    own = named[0] if named else Locale.parse(HOME)
    return next((each for each in named if each.language == own.language and each.territory), own)


def _written_locale(name: str) -> Locale:
    """Return the locale of a name such as "de_CH.UTF-8"; the program's own for one that is none."""
    try:
        return Locale.parse(re.split("[:.@]", name)[0])
    except (UnknownLocaleError, ValueError):
        return Locale.parse(HOME)
