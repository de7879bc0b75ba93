"""What to ask about readings that cannot be relied on."""

from datetime import datetime, timedelta
from itertools import takewhile

from kettlewell.core.belief.fills import Fill, Taken
from kettlewell.core.belief.seen import Doubt
from kettlewell.core.outlook.values import Flag, FlagKind

FLAGS_FROM = timedelta(days=7)  # chosen, no source


def kind_of(taken: Taken) -> FlagKind | None:
    """Return why a reading cannot be relied on, or None for a sound one."""
    return None if taken.doubt is Doubt.NONE else FlagKind[taken.doubt.name]


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


def flags_of(fill: Fill, now: datetime) -> tuple[Flag, ...]:
    """Return what to ask about the fill, newest first: of the last week, and since a sound reading.

    Whether the oil was changed is asked until that is written down.
    """
    newest_first = [(taken, kind_of(taken)) for taken in reversed(fill.readings)]
    asked = list(takewhile(lambda doubted: doubted[1] is not None, newest_first))
    asked += [(taken, FlagKind.UNLOGGED_CHANGE) for taken in fill.readings if taken.changed]
    return tuple(flag(taken, kind) for taken, kind in asked if kind and taken.reading.at >= now - FLAGS_FROM)
