"""Whether what was read can be trusted, and what to ask about it."""

from datetime import datetime, timedelta
from itertools import takewhile

from kettlewell.book import Kitchen, Reading
from kettlewell.core.belief.readings import DOUBT
from kettlewell.core.belief.walk import Fill, Taken
from kettlewell.core.metering import meter_read, out_of_range
from kettlewell.core.outlook.values import Flag, FlagKind

IN_A_ROW = timedelta(hours=3)
FLAGS_FROM = timedelta(days=7)


def doubt(taken: Taken, kitchen: Kitchen) -> FlagKind | None:
    """Return why a reading cannot be relied on, or None for a sound one."""
    if not taken.reading.sound:
        return FlagKind.UNSOUND
    if out_of_range(taken.reading.oil_temp_c, meter_read(kitchen, taken.reading)):
        return FlagKind.OUT_OF_RANGE
    if taken.sound_share < DOUBT:
        below = FlagKind.UNLOGGED_CHANGE if taken.fresh else FlagKind.CONTRADICTS
        return FlagKind.WET if taken.surprise_pct > 0 else below
    return None


def flag(taken: Taken, kind: FlagKind) -> Flag:
    """Return what to ask about a reading."""
    reading = taken.reading
    return Flag(
        kind=kind,
        at=reading.at,
        ref=reading.ref,
        reading_pct=reading.tpc_pct,
        oil_temp_c=reading.oil_temp_c,
        surprise_pct=taken.surprise_pct,
    )


def flags_of(fill: Fill, kitchen: Kitchen, now: datetime) -> tuple[Flag, ...]:
    """Return what to ask about the fill, newest first: of the last week, and since a sound reading.

    Whether the oil was changed is asked until that is written down.
    """
    newest_first = [(taken, doubt(taken, kitchen)) for taken in reversed(fill.readings)]
    asked = list(takewhile(lambda doubted: doubted[1] is not None, newest_first))
    asked += [(taken, FlagKind.UNLOGGED_CHANGE) for taken in fill.readings if taken.changed]
    return tuple(flag(taken, kind) for taken, kind in asked if kind and taken.reading.at >= now - FLAGS_FROM)


def on_the_occasion(fill: Fill, kitchen: Kitchen, at: datetime) -> list[Reading]:
    """Return the sound readings of a fill that belong to one occasion with a reading ``at``, oldest first."""
    return [
        taken.reading
        for taken in fill.readings
        if taken.reading.at >= at - IN_A_ROW and doubt(taken, kitchen) is None
    ]


def in_a_row(fill: Fill, kitchen: Kitchen) -> list[Reading]:
    """Return the sound readings taken on the last occasion, oldest first."""
    return on_the_occasion(fill, kitchen, fill.readings[-1].reading.at) if fill.readings else []
