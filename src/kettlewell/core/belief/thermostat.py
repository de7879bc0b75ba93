"""How far the oil stands from what a fryer is set to, as typed with readings while it fried.

Nothing that is believed of the oil follows from it (docs/why/decisions.md): the kitchen is asked.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import chain, groupby
from math import fsum
from operator import attrgetter

from kettlewell.book import Entry, Fryer, Kitchen, Reading, find
from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.belief.state import Bookmark, HotReading, Running
from kettlewell.core.belief.week import LONGEST

HotReadings = Mapping[str, tuple[HotReading, ...]]


def with_hot_readings(at: Bookmark, entries: Iterable[Entry], begun: Iterable[Sequence[Running]]) -> Bookmark:
    """Return the place with the readings of one epoch's ``entries`` that were taken in oil kept hot.

    Only those count that tell a temperature and were taken while a service ran, one of those that had
    ``begun`` since among them, and the fryer was hot in it: before and after it oil warms up or cools.
    """
    found = dict(at.hot_readings)
    services = [*at.running, *chain.from_iterable(begun)]
    begins = [service.slot.begins for service in services]
    for entry in entries:
        if not isinstance(entry, Reading) or entry.oil_temp_c is None:
            continue
        i = at.baths.fryer_index(entry.fryer)
        near = services[bisect_left(begins, entry.at - LONGEST) : bisect_right(begins, entry.at)]
        own = (service.slot for service in near if service.hot_h[i] > 0)
        running = [slot for slot in own if entry.at <= (slot.cut or slot.ends)]
        if running:
            taken = HotReading(
                at=entry.at,
                ref=entry.ref,
                began=running[-1].begins,
                hotter_c=hotter_c(entry.oil_temp_c, find(at.kitchen.fryers, entry.fryer)),
            )
            found[entry.fryer] = (*since(found.get(entry.fryer, ()), entry.at, at.baths.known), taken)
    return replace(at, hot_readings=found)


def hotter_c(oil_temp_c: float, fryer: Fryer) -> float:
    """Return by how much oil is hotter than a fryer is set to, or colder (< 0) than it stands at."""
    return oil_temp_c - min(max(oil_temp_c, fryer.stands_at_c), fryer.set_temp_c)


def since(readings: Sequence[HotReading], at: datetime, known: Coefficients) -> Iterable[HotReading]:
    """Return those of some readings that still count at a time."""
    earliest = at - timedelta(days=known.thermostat_days.value)
    return [reading for reading in readings if reading.at > earliest]


def set_as_before(readings: HotReadings, old: Kitchen, new: Kitchen) -> HotReadings:
    """Return the readings of fryers whose temperatures are as they were; the others begin anew."""
    same = temperatures(old) & temperatures(new)
    return {key: taken for key, taken in readings.items() if key in {fryer for fryer, *_ in same}}


def temperatures(kitchen: Kitchen) -> set[tuple[str, float, float]]:
    """Return what the fryers of a kitchen are set to."""
    return {(fryer.key, fryer.set_temp_c, fryer.stands_at_c) for fryer in kitchen.fryers}


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermostatOff:
    """Oil was ``hotter_c`` than set in the mean of some services; it was ``last`` read so."""

    hotter_c: float
    last: HotReading


def thermostat_off(
    readings: Sequence[HotReading], now: datetime, known: Coefficients
) -> ThermostatOff | None:
    """Return how far a thermostat is off, or None where that is not sure, or no longer so.

    The offset is Gaussian, ``thermostat`` beforehand; each service's mean tells it to within
    ``bath_temperature``. It is told if it surely lies beyond ``thermostat_off``, by as many standard
    deviations as ``thermostat_sds``, and the last service still does. Oil far colder than set was not kept
    hot.
    """
    kept = [
        taken for taken in since(readings, now, known) if taken.hotter_c >= -known.thermostat_colder.value
    ]
    means = [mean_c(tuple(taken)) for _, taken in groupby(kept, key=attrgetter("began"))]
    if len(means) < known.thermostat_services.value:
        return None
    weight, prior = known.bath_temperature.sd**-2, known.thermostat.sd**-2
    precision = prior + len(means) * weight
    offset_c = (prior * known.thermostat.value + weight * fsum(means)) / precision
    surely_c = abs(offset_c) - known.thermostat_sds.value * precision**-0.5
    last_c = means[-1] if offset_c > 0 else -means[-1]
    if min(surely_c, last_c) <= known.thermostat_off.value:
        return None
    return ThermostatOff(hotter_c=fsum(means) / len(means), last=kept[-1])


def mean_c(readings: Sequence[HotReading]) -> float:
    """Return by how much oil was hotter than set in the mean of some readings."""
    return fsum(reading.hotter_c for reading in readings) / len(readings)
