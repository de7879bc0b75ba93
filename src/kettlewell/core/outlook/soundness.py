"""What to ask about readings that cannot be relied on."""

from datetime import datetime, timedelta
from itertools import takewhile

from kettlewell.core.ageing.coefficients import Coefficients
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


def of_occasion(fill: Fill) -> list[Taken]:
    """Return the readings of the last occasion, the newest first."""
    began_at = fill.occasion_at
    return [taken for taken in reversed(fill.readings) if began_at and taken.reading.at >= began_at]


def doubted_for(fill: Fill, doubt: Doubt) -> Taken | None:
    """Return the newest reading of the last occasion that is doubted so."""
    return next((taken for taken in of_occasion(fill) if taken.doubt is doubt), None)


def flags_about_meter(fill: Fill, known: Coefficients, *, too_slow: bool) -> tuple[Flag, ...]:
    """Return what the last reading asks about the meter: whether it is stuck, or reads ever too little."""
    newest_first = fill.readings[::-1]
    same = [*takewhile(lambda taken: taken.reading.tpc_pct == newest_first[0].reading.tpc_pct, newest_first)]
    rise_pct = -sum(taken.surprise_pct for taken in same)
    if len(same) >= known.same_figures.value and rise_pct > known.expected_rise.value:
        return (flag(newest_first[0], FlagKind.SAME_FIGURE),)
    if too_slow and len(newest_first) >= known.same_figures.value:
        return (flag(newest_first[0], FlagKind.TOO_SLOW),)
    return ()


def flags_of(fill: Fill, now: datetime, *, settled: bool) -> tuple[Flag, ...]:
    """Return what to ask about the fill, newest first: of the last week, and since a sound reading.

    Nothing is asked where the last occasion is ``settled``, but whether the oil was changed: that is
    asked until it is written down.
    """
    last = of_occasion(fill)
    earlier = takewhile(lambda taken: taken.doubt is not Doubt.NONE, reversed(fill.readings[: -len(last)]))
    sound = any(taken.doubt is Doubt.NONE for taken in last)
    asked = [] if settled else [*last, *([] if sound else earlier)]
    kinds = {taken.reading: (taken, kind_of(taken)) for taken in asked}
    kinds |= {taken.reading: (taken, FlagKind.UNLOGGED_CHANGE) for taken in fill.readings if taken.changed}
    return tuple(
        flag(taken, kind) for taken, kind in kinds.values() if kind and taken.reading.at >= now - FLAGS_FROM
    )
