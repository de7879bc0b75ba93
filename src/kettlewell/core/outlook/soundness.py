"""What to ask about readings that cannot be relied on."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import takewhile

from kettlewell.book import Meter
from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.belief.fills import Fill, Taken
from kettlewell.core.belief.seen import Doubt
from kettlewell.core.belief.state import Bookmark, HotReading
from kettlewell.core.belief.thermostat import thermostat_off
from kettlewell.core.metering.checks import FoundOff
from kettlewell.core.outlook.common_cause import Moved
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


def off_flag(off: FoundOff, meters: Sequence[Meter]) -> Flag:
    """Return what to ask about a meter that was found off and not put right."""
    check = off.check
    names = (meter.name for meter in meters if meter.key == check.meter)
    return Flag(
        kind=FlagKind.METER_OFF,
        at=check.at,
        ref=check.ref,
        reading_pct=check.mean_pct,
        oil_temp_c=check.oil_temp_c,
        surprise_pct=off.deviation_pct,
        meter=next(names, check.meter),
    )


def result_flag(fill: Fill) -> Flag | None:
    """Return what to ask about a laboratory's result far from what the book expects; None for no such."""
    result, surprise_pct = fill.laboratory, fill.laboratory_surprise_pct
    if result is None or surprise_pct is None:
        return None
    return Flag(
        kind=FlagKind.LABORATORY,
        at=result.at,
        ref=result.ref,
        reading_pct=result.tpc_pct,
        oil_temp_c=None,
        surprise_pct=surprise_pct,
    )


def moved_flag(fill: Fill, moved: Moved, meter: str) -> Flag | None:
    """Return what to ask about a meter that surprised alike in several baths, this among them."""
    last = fill.readings[-1] if fill.readings else None
    if last is None:
        return None
    asked = flag(last, FlagKind.METER_MOVED)
    return replace(asked, surprise_pct=moved.surprise_pct, meter=meter)


def silence(place: Bookmark, now: datetime) -> tuple[Flag, ...]:
    """Return what to ask where nothing at all was written of days on which the kitchen should fry.

    A day that still runs does not count.
    """
    days = place.silent_days - bool(place.running)
    return (
        (Flag(kind=FlagKind.SILENT, at=now, days=days),)
        if days >= place.baths.known.silent_days.value
        else ()
    )


def thermostat(readings: Sequence[HotReading], now: datetime, known: Coefficients) -> tuple[Flag, ...]:
    """Return what to ask where oil is off what its fryer is set to, service after service."""
    off = thermostat_off(readings, now, known)
    if off is None or off.last.at < now - FLAGS_FROM:
        return ()
    return (Flag(kind=FlagKind.THERMOSTAT, at=off.last.at, ref=off.last.ref, hotter_c=off.hotter_c),)


def of_occasion(fill: Fill) -> list[Taken]:
    """Return the readings of the last occasion, the newest first."""
    began_at = fill.occasion_at
    return [taken for taken in reversed(fill.readings) if began_at and taken.reading.at >= began_at]


def doubted_for(fill: Fill, doubt: Doubt) -> Taken | None:
    """Return the newest reading of the last occasion that is doubted so."""
    return next((taken for taken in of_occasion(fill) if taken.doubt is doubt), None)


def slow_flag(fill: Fill, known: Coefficients) -> Flag | None:
    """Return what to ask about a meter by which a fill that was read often enough hardly ages."""
    if len(fill.readings) < known.same_figures.value:
        return None
    return flag(max(of_occasion(fill), key=lambda taken: taken.reading.tpc_pct), FlagKind.TOO_SLOW)


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
    found = [flag(taken, kind) for taken, kind in kinds.values() if kind]
    if result := result_flag(fill):
        found.insert(0, result)
    return tuple(flag for flag in found if flag.at >= now - FLAGS_FROM)
