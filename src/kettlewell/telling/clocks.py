"""What is said of a server whose clock is wrong."""

from datetime import timedelta

from kettlewell.telling.message import N_
from kettlewell.telling.words import Reader

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
SLOW = N_("The clock of the server is about {span} slow: three phones agree on it. Have it set right.")
FAST = N_("The clock of the server is about {span} fast: three phones agree on it. Have it set right.")
FOLLOWED = N_("Until then times go by the phones.")
TOO_FAR = N_("Until then nothing can be written down.")


def server_clock(slow: timedelta, reader: Reader) -> str:
    """Return what is said of a server whose clock is slow by so much; nothing where it is not wrong."""
    if not slow:
        return ""
    wrong = reader.say(SLOW if slow > timedelta() else FAST, span=about(abs(slow), reader))
    return f"{wrong} {reader.say(TOO_FAR if abs(slow) > DAY else FOLLOWED)}"


def about(span: timedelta, reader: Reader) -> str:
    """Return a span of time in minutes, from 1 ½ hours on in hours, from two days on in days."""
    if span >= 2 * DAY:
        return reader.count(round(span / DAY), "{number} day", "{number} days")
    if span >= 1.5 * HOUR:
        return reader.count(round(span / HOUR), "{number} hour", "{number} hours")
    return reader.count(round(span / MINUTE), "{number} minute", "{number} minutes")
