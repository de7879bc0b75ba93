"""What a meter reading is uncertain by, beside the meter's offset and gain.

Offset and gain are the same in every reading, so they are learnt by the belief and not
counted here. Water in hot oil raises a reading by an amount nobody knows: the belief
weighs each reading's surprise for it. All components are standard uncertainties in
percentage points, combined as independent (JCGM 100:2008, 5.1.2).
"""

import math
from functools import lru_cache

from kettlewell.book import History, Kitchen, LabResult, Meter, Reading, find, history_of
from kettlewell.core.ageing.coefficients import PACKAGED, Coefficients
from kettlewell.core.metering.uncertainty import Component, combined_var

PLAIN_METER = Meter(key="", name="")


def offset_sd_pct(meter: Meter, known: Coefficients = PACKAGED) -> float:
    """Return the prior standard deviation of the meter's offset.

    The maker's largest error is read as 2.5 standard deviations (from memory), so that
    the common 2 percentage points give 0.8.
    """
    return meter.largest_error_pct / known.largest_error_sds.value


def meter_read(settings: Kitchen | History, reading: Reading) -> Meter:
    """Return the meter a reading was taken with: the one it names, as it was then.

    Raises KeyError for a name that no settings ever had.
    """
    history = history_of(settings)
    then = history.at(reading.at)
    if reading.meter is None:
        return unnamed_meter(then)
    others = (meter for kitchen in history.kitchens() for meter in kitchen.meters)
    return find((*then.meters, *others), reading.meter)


def unnamed_meter(kitchen: Kitchen) -> Meter:
    """Return the meter that a reading is taken as by if it names none: the one listed first."""
    return kitchen.meters[0] if kitchen.meters else PLAIN_METER


def reading_budget(reading: Reading, meter: Meter, known: Coefficients = PACKAGED) -> tuple[Component, ...]:
    """Return the components of a reading's uncertainty; sizes from memory but the resolution's."""
    return budget(reading.oil_temp_c, meter, sound=reading.sound, known=known)


@lru_cache(maxsize=4096)
def budget(
    oil_temp_c: float | None, meter: Meter, *, sound: bool, known: Coefficients = PACKAGED
) -> tuple[Component, ...]:
    """Return the components for an oil temperature (None: not noted) and whether conditions were met."""
    components = [
        Component(name="repeatability", u=known.meter_repeatability.sd),
        Component(name="resolution", u=meter.resolution_pct / math.sqrt(12)),
    ]
    if oil_temp_c is None:
        components.append(Component(name="oil temperature not noted", u=known.temperature_not_noted.sd))
    elif beyond := kelvin_outside(oil_temp_c, meter.min_oil_temp_c, meter.max_oil_temp_c):
        u_pct = known.out_of_range.sd * (1 + beyond / 10)
        components.append(Component(name="oil temperature out of range", u=u_pct))
    if not sound:
        components.append(Component(name="conditions not met", u=known.conditions_not_met.sd))
    return tuple(components)


def reading_var(reading: Reading, meter: Meter, known: Coefficients = PACKAGED) -> float:
    """Return the variance of a reading beside offset and gain, percentage points squared."""
    return budgeted_var(reading.oil_temp_c, meter, sound=reading.sound, known=known)


@lru_cache(maxsize=4096)
def budgeted_var(oil_temp_c: float | None, meter: Meter, *, sound: bool, known: Coefficients) -> float:
    """Return the variance of a budget's components together, worked out once for all readings alike."""
    return combined_var(budget(oil_temp_c, meter, sound=sound, known=known))


def laboratory_u_pct(result: LabResult, known: Coefficients = PACKAGED) -> float:
    """Return a laboratory result's standard uncertainty: its own, or that of the method."""
    if result.u_pct is not None:
        return result.u_pct
    return known.laboratory.sd * max(result.tpc_pct, 5.0)


def out_of_range(oil_temp_c: float | None, meter: Meter) -> bool:
    """Return whether the oil was colder or hotter than the meter may be read at; unknown is not."""
    lowest, highest = meter.min_oil_temp_c, meter.max_oil_temp_c
    return oil_temp_c is not None and kelvin_outside(oil_temp_c, lowest, highest) > 0


def kelvin_outside(oil_temp_c: float, lowest_c: float, highest_c: float) -> float:
    """Return by how many kelvin oil is colder or hotter than it may be; 0 within."""
    return max(lowest_c - oil_temp_c, oil_temp_c - highest_c, 0.0)
