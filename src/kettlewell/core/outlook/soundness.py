"""Whether what was read can be trusted, and what to ask about it."""

from datetime import datetime, timedelta
from itertools import takewhile

from kettlewell.book import Kitchen, Message, Reading
from kettlewell.book.words import N_
from kettlewell.core.belief.fills import Fill, Taken
from kettlewell.core.belief.seen import Doubt
from kettlewell.core.outlook.values import Flag, FlagKind

IN_A_ROW = timedelta(hours=3)
FLAGS_FROM = timedelta(days=7)

UNSOUND = N_(
    "The reading of {reading_pct} % does not count in full: not all its conditions were met, or nobody knows."
)
OUT_OF_RANGE = N_(
    "The reading of {reading_pct} % was taken at {oil_temp_c} °C, where this meter is not to be read."
)
WET = N_(
    "The reading of {reading_pct} % stands {surprise_pct} points above what the book expects: wet probe?"
)
CONTRADICTS = N_("The reading of {reading_pct} % stands {surprise_pct} points below what the book expects.")
UNLOGGED_CHANGE = N_(
    "The reading fell to {reading_pct} %: was the oil changed? If so, write it down; if not, read again."
)


def doubt(taken: Taken, kitchen: Kitchen) -> FlagKind | None:
    """Return why a reading cannot be relied on, or None for a sound one."""
    return {
        Doubt.NONE: None,
        Doubt.UNSOUND: FlagKind.UNSOUND,
        Doubt.OUT_OF_RANGE: FlagKind.OUT_OF_RANGE,
        Doubt.WET: FlagKind.WET,
        Doubt.CONTRADICTS: FlagKind.CONTRADICTS,
        Doubt.UNLOGGED_CHANGE: FlagKind.UNLOGGED_CHANGE,
    }[taken.doubt]


def flag(taken: Taken, kind: FlagKind) -> Flag:
    """Return what to ask about a reading."""
    texts = {
        FlagKind.UNSOUND: UNSOUND,
        FlagKind.OUT_OF_RANGE: OUT_OF_RANGE,
        FlagKind.WET: WET,
        FlagKind.CONTRADICTS: CONTRADICTS,
        FlagKind.UNLOGGED_CHANGE: UNLOGGED_CHANGE,
    }
    reading = taken.reading
    values: dict[str, float | int | str | datetime | None] = {"reading_pct": reading.tpc_pct}
    if kind is FlagKind.OUT_OF_RANGE:
        values["oil_temp_c"] = reading.oil_temp_c
    if kind in (FlagKind.WET, FlagKind.CONTRADICTS):
        values["surprise_pct"] = round(abs(taken.surprise_pct), 1)
    return Flag(kind=kind, at=reading.at, ref=reading.ref, message=Message(text=texts[kind], values=values))


def flags_of(fill: Fill, kitchen: Kitchen, now: datetime) -> tuple[Flag, ...]:
    """Return what to ask about the fill, newest first: of the last week, and since a sound reading.

    Whether the oil was changed is asked until that is written down.
    """
    newest_first = [(taken, doubt(taken, kitchen)) for taken in reversed(fill.readings)]
    asked = list(takewhile(lambda one: one[1] is not None, newest_first))
    asked += [(taken, FlagKind.UNLOGGED_CHANGE) for taken in fill.readings if taken.changed]
    return tuple(flag(taken, kind) for taken, kind in asked if kind and taken.reading.at >= now - FLAGS_FROM)


def in_a_row(fill: Fill, kitchen: Kitchen) -> list[Reading]:
    """Return the sound readings taken on the last occasion, oldest first."""
    if not fill.readings:
        return []
    since = fill.readings[-1].reading.at - IN_A_ROW
    return [
        taken.reading
        for taken in fill.readings
        if taken.reading.at >= since and doubt(taken, kitchen) is None
    ]
