"""A meter check: as-found readings in a reference oil of known value, and what follows from them.

All uncertainties are standard uncertainties in percentage points, combined as
independent (JCGM 100:2008, 5.1.2). A check in warm reference oil speaks of the
meter's electronics, not of its behaviour in hot used oil.
"""

import math
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from zoneinfo import ZoneInfo

from kettlewell.book import (
    LARGEST_DEVIATION_PCT,
    MOST_CHECK_READINGS,
    Kitchen,
    MeterCheck,
    ReferenceLot,
    find,
)
from kettlewell.book.words import N_, ToldError
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.limits.decision import conformity_probability
from kettlewell.core.metering.budget import budget, kelvin_outside
from kettlewell.core.metering.uncertainty import Component, combined

WITHIN_C = 5.0  # of the temperature that reference oil is read at: common practice, no source
REFERENCE = "reference value"
FAR_APART_SDS = 4.1  # three normal values lie so far apart in 1 % of cases (studentised range)
RISK = 0.05  # probability of being wrong at which a decision counts as clear: chosen, no source


class DecisionKey(StrEnum):
    """What to do with a meter after a check."""

    FIT = "fit"
    ADJUST = "adjust"
    REPEAT = "repeat"
    OUT = "out"


class RemarkKey(StrEnum):
    """What makes a check worth less than it could be."""

    EXPIRED = "expired"
    TEMP_UNKNOWN = "temp_unknown"
    TOO_COLD = "too_cold"
    TOO_HOT = "too_hot"
    SCATTERED = "scattered"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """A remark on a check.

    With it stand the day the reference oil was ``best_before``, the ``oil_temp_c`` it was too
    cold or too hot at and the ``read_at_c`` it should have been at, or the ``range_pct`` its
    readings lie apart; None where another is meant.
    """

    key: RemarkKey
    best_before: date | None = None
    oil_temp_c: float | None = None
    read_at_c: float | None = None
    range_pct: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """Mean reading minus reference value, with the components of its uncertainty."""

    pct: float
    components: tuple[Component, ...]

    @property
    def u_pct(self) -> float:
        """The combined standard uncertainty, percentage points."""
        return combined(self.components).u

    @property
    def own_u_pct(self) -> float:
        """The same without the reference value's, which is one in all checks of a lot."""
        return combined([component for component in self.components if component.name != REFERENCE]).u


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What to do with the meter, and how probably it is off by more than is permissible."""

    key: DecisionKey
    off_probability: float
    deviation: Deviation
    remarks: tuple[Remark, ...]


def check_possible(check: MeterCheck, kitchen: Kitchen) -> None:
    """Raise ValueError for a check of an unknown meter or lot, or before the meter was in use."""
    meter = find(kitchen.meters, check.meter)
    find(kitchen.reference_lots, check.lot)
    day = check.at.astimezone(ZoneInfo(kitchen.timezone)).date()
    if meter.in_use_since is not None and day < meter.in_use_since:
        late = N_(
            "meter {meter!r} was first in use on {first}, after the check of {day}: correct one of the two"
        )
        raise ToldError(late, meter=meter.key, first=meter.in_use_since, day=day)


def deviation(check: MeterCheck, kitchen: Kitchen) -> Deviation:
    """Return the deviation a check found, and what it is uncertain by.

    Repeatability is divided by √n, or what the readings show of it where they lie too far
    apart; the resolution (width/√12) is not averaged, because readings in one oil may all round
    the same way. The reference counts with U/k, the oil's temperature as in ``budget`` and, beyond
    5 K of the temperature on its label, with what an unnoted temperature costs for each 10 K (size
    from memory); where nobody told what is on the label it counts for nothing.
    Raises KeyError for a meter or lot that the kitchen lacks.
    """
    lot = find(kitchen.reference_lots, check.lot)
    reference = Component(name=REFERENCE, u=lot.u_pct)
    return Deviation(pct=check.mean_pct - lot.tpc_pct, components=(*_own(check, kitchen), reference))


def decide_check(check: MeterCheck, kitchen: Kitchen, *, risk: float = RISK) -> Decision:
    """Return what to do with a meter after a check; deviations in percentage points.

    With P the probability that the meter is off by more than the kitchen's permissible
    deviation, either way:

    - P ≤ ``risk``: fit for use.
    - P ≥ 1 - ``risk`` by two readings or more: clearly off. Adjust; out of use if it was
      adjusted already, or is found off by more than 4 points, which an adjustment should not hide.
    - between, with fewer than three readings or a remark on the oil's temperature; off by one
      reading alone; or readings that lie too far apart: repeat, with three readings in oil
      at the temperature on its label.
    - between, and no better check is to be had: whichever of the two is more probable.

    In a control oil the permissible deviation is 4 points: there a meter stands off by how it takes
    used oil, which no adjustment mends and what is believed of its gain allows for.

    Raises ValueError unless 0 < risk < 0.5.
    """
    if not 0 < risk < 0.5:
        raise ValueError("the risk of being wrong must lie above 0 and below 0.5")
    found, remarks = deviation(check, kitchen), _remarks(check, kitchen)
    control = find(kitchen.reference_lots, check.lot).oil is not None
    most = LARGEST_DEVIATION_PCT if control else kitchen.permissible_pct
    off = 1 - float(conformity_probability(found.pct, found.u_pct, lower=-most, upper=most))
    doubtful = risk < off < 1 - risk and _could_be_better(check, remarks)
    alone = off >= 1 - risk and len(check.readings_pct) == 1
    if doubtful or alone or any(remark.key is RemarkKey.SCATTERED for remark in remarks):
        key = DecisionKey.REPEAT
    elif off <= 0.5:
        key = DecisionKey.FIT
    else:
        beyond_help = check.adjusted or abs(found.pct) > LARGEST_DEVIATION_PCT
        key = DecisionKey.OUT if beyond_help else DecisionKey.ADJUST
    return Decision(key=key, off_probability=off, deviation=found, remarks=remarks)


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundOff:
    """The last check that found a meter off after a ``good`` one, before one that finds it ``right`` again.

    None where there is no such check.
    """

    check: MeterCheck
    good: MeterCheck | None
    right: MeterCheck | None
    deviation_pct: float

    @property
    def since_s(self) -> float:
        """Since when what the meter read is not to be relied on, POSIX seconds."""
        return self.good.at.timestamp() if self.good else -math.inf

    @property
    def until_s(self) -> float:
        """Until when what the meter read is not to be relied on, POSIX seconds."""
        return self.right.at.timestamp() if self.right else math.inf


def times_off(checks: Sequence[MeterCheck], kitchen: Kitchen, *, after_s: float) -> tuple[FoundOff, ...]:
    """Return each time that a meter was found off by its checks (the oldest first), if it ended ``after_s``.

    A check that orders to adjust it, or takes it out of use, counts until a later one finds it fit, as
    found or as left, in reference oil or in control oil as it was. One that asks for another check leaves
    the meter as it stood.
    """
    controls = {lot.key for lot in kitchen.reference_lots if lot.oil is not None}
    by_kind = [[each for each in checks if (each.lot in controls) is control] for control in (False, True)]
    return tuple(off for of_kind in by_kind for off in _times_off(of_kind, kitchen, after_s))


def _times_off(checks: Sequence[MeterCheck], kitchen: Kitchen, after_s: float) -> Iterator[FoundOff]:
    off = right = None
    for check in reversed(checks):
        key = decide_check(check, kitchen).key
        if key is DecisionKey.FIT:
            if off:
                yield _found(off, check, right, kitchen)
            if check.at.timestamp() <= after_s:
                return
            off, right = None, check
        elif key is not DecisionKey.REPEAT:
            off = off or check
    if off:
        yield _found(off, None, right, kitchen)


def _found(off: MeterCheck, good: MeterCheck | None, right: MeterCheck | None, kitchen: Kitchen) -> FoundOff:
    return FoundOff(check=off, good=good, right=right, deviation_pct=deviation(off, kitchen).pct)


def _own(check: MeterCheck, kitchen: Kitchen) -> tuple[Component, ...]:
    """Return the components of a check beside its reference value."""
    repeatability, *others = _budget(check, kitchen)
    one_u = statistics.stdev(check.readings_pct) if _far_apart(check, kitchen) else repeatability.u
    averaged = replace(repeatability, u=one_u / math.sqrt(len(check.readings_pct)))
    return (averaged, *others, *_off_temperature(check, kitchen))


def _budget(check: MeterCheck, kitchen: Kitchen) -> tuple[Component, ...]:
    return budget(check.oil_temp_c, find(kitchen.meters, check.meter), sound=True)


def _far_apart(check: MeterCheck, kitchen: Kitchen) -> float:
    """Return how far apart the readings lie if that is more than they scatter by; else 0."""
    apart = max(check.readings_pct) - min(check.readings_pct)
    repeatability, resolution = _budget(check, kitchen)[:2]
    return apart if apart > FAR_APART_SDS * math.hypot(repeatability.u, resolution.u) else 0.0


def _temps_c(check: MeterCheck, kitchen: Kitchen) -> tuple[float, float]:
    """Return from and up to what temperature reference oil counts as read at its own."""
    at_c = find(kitchen.reference_lots, check.lot).at_c
    return (-math.inf, math.inf) if at_c is None else (at_c - WITHIN_C, at_c + WITHIN_C)


def _off_temperature(check: MeterCheck, kitchen: Kitchen) -> tuple[Component, ...]:
    if check.oil_temp_c is None:
        return ()
    beyond = kelvin_outside(check.oil_temp_c, *_temps_c(check, kitchen))
    u_pct = PACKAGED.temperature_not_noted.sd * beyond / 10
    return (Component(name="reference oil not at its temperature", u=u_pct),) if beyond else ()


def _could_be_better(check: MeterCheck, remarks: tuple[Remark, ...]) -> bool:
    few = len(check.readings_pct) < MOST_CHECK_READINGS
    return few or any(remark.key is not RemarkKey.EXPIRED for remark in remarks)


def _remarks(check: MeterCheck, kitchen: Kitchen) -> tuple[Remark, ...]:
    lot: ReferenceLot = find(kitchen.reference_lots, check.lot)
    temp, day = (
        _temp_remark(check.oil_temp_c, _temps_c(check, kitchen)),
        check.at.astimezone(ZoneInfo(kitchen.timezone)).date(),
    )
    temp = tuple(replace(remark, read_at_c=lot.at_c) for remark in temp)
    found = [*_scatter_remark(check, kitchen), *temp]
    if lot.best_before is not None and day > lot.best_before:
        found.insert(0, Remark(key=RemarkKey.EXPIRED, best_before=lot.best_before))
    return tuple(found)


def _scatter_remark(check: MeterCheck, kitchen: Kitchen) -> list[Remark]:
    apart = _far_apart(check, kitchen)
    return [Remark(key=RemarkKey.SCATTERED, range_pct=apart)] if apart else []


def _temp_remark(oil_temp_c: float | None, temps_c: tuple[float, float]) -> tuple[Remark, ...]:
    lowest, highest = temps_c
    if oil_temp_c is None:
        return (Remark(key=RemarkKey.TEMP_UNKNOWN),)
    if lowest <= oil_temp_c <= highest:
        return ()
    key = RemarkKey.TOO_COLD if oil_temp_c < lowest else RemarkKey.TOO_HOT
    return (Remark(key=key, oil_temp_c=oil_temp_c),)
