"""A meter check: as-found readings in a reference oil of known value, and what follows from them.

All uncertainties are standard uncertainties in percentage points, combined as
independent (JCGM 100:2008, 5.1.2). A check in reference oil at about 50 °C speaks of the
meter's electronics, not of its behaviour in hot used oil.
"""

import math
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum

from kettlewell.core.ageing.coefficients import coefficients
from kettlewell.core.book import Message, Meter
from kettlewell.core.limits.decision import conformity_probability
from kettlewell.core.metering.budget import budget, kelvin_outside
from kettlewell.core.metering.uncertainty import Component, combined
from kettlewell.core.words import N_

MOST_READINGS = 3
REFERENCE_TEMPS_C = (45.0, 55.0)  # reference oil at about 50 °C: common practice, no source
PERMISSIBLE_PCT = 1.0  # common practice, no source
LARGEST_PCT = 4.0  # twice the largest error makers commonly state: chosen, no source
RISK = 0.05  # probability of being wrong at which a decision counts as clear: chosen, no source

EXPIRED = N_(
    "The reference oil was best before {best_before}. The check counts, but use a fresh bottle soon."
)
TEMP_UNKNOWN = N_("The temperature of the reference oil was not noted, so this check says less.")
TOO_COLD = N_(
    "The reference oil was at {oil_temp_c} °C, too cold. Warm it to about 50 °C; this check says less."
)
TOO_HOT = N_(
    "The reference oil was at {oil_temp_c} °C, too hot. Let it cool to about 50 °C; this check says less."
)


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """A remark on a check, with its sentence."""

    key: RemarkKey
    message: Message


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceLot:
    """A lot of reference oil: its TPC with expanded uncertainty and coverage factor k.

    Raises ValueError for a value that is missing or not above 0, a negative or missing
    uncertainty, or a coverage factor that is not above 0.
    """

    key: str
    tpc_pct: float | None
    expanded_u_pct: float
    coverage_factor: float = 2.0
    best_before: date | None = None

    def __post_init__(self) -> None:
        """Refuse a lot that nothing can be checked against."""
        _value_pct(self)
        if not 0 <= self.expanded_u_pct < math.inf:
            raise ValueError(f"reference oil {self.key!r}: its uncertainty cannot be below 0 or unknown")
        if not 0 < self.coverage_factor < math.inf:
            raise ValueError(f"reference oil {self.key!r}: its coverage factor k must be above 0")

    @property
    def u_pct(self) -> float:
        """The standard uncertainty of the value: U/k."""
        return self.expanded_u_pct / self.coverage_factor


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterCheck:
    """One to three as-found readings of a meter in a reference lot.

    ``at`` is in the kitchen's zone, whose date a best-before date is held against.
    ``adjusted`` marks the as-left readings after an adjustment. ``oil_temp_c`` None means
    not noted.

    Raises ValueError for a time without a zone, a check before the meter was in use, and
    other than one to three readings of 0 to 100 %.
    """

    at: datetime
    meter: Meter
    lot: ReferenceLot
    readings_pct: tuple[float, ...]
    oil_temp_c: float | None = None
    in_use_since: datetime | None = None
    adjusted: bool = False

    def __post_init__(self) -> None:
        """Refuse what cannot have been a check."""
        if self.at.tzinfo is None:
            raise ValueError(f"meter check: the time {self.at} names no time zone")
        if self.in_use_since is not None and self.at < self.in_use_since:
            raise ValueError(
                f"meter {self.meter.key!r} was first in use on {self.in_use_since:%Y-%m-%d}, "
                f"after the check of {self.at:%Y-%m-%d}: correct one of the two"
            )
        if not 1 <= len(self.readings_pct) <= MOST_READINGS:
            raise ValueError(f"a meter check has one to three readings, not {len(self.readings_pct)}")
        if not all(0 <= reading <= 100 for reading in self.readings_pct):
            raise ValueError("a reading of a meter check lies between 0 and 100 %")


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """Mean reading minus reference value, with the components of its uncertainty."""

    pct: float
    components: tuple[Component, ...]

    @property
    def u_pct(self) -> float:
        """The combined standard uncertainty, percentage points."""
        return combined(self.components).u


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What to do with the meter, and how probably it is off by more than is permissible."""

    key: DecisionKey
    off_probability: float
    deviation: Deviation
    remarks: tuple[Remark, ...]


def deviation(check: MeterCheck) -> Deviation:
    """Return the deviation a check found, and what it is uncertain by.

    Repeatability is divided by √n; the resolution (width/√12) is not averaged, because
    readings in one oil may all round the same way. The reference counts with U/k, the
    oil's temperature as in ``budget`` and, beyond 45 to 55 °C, with what an unnoted
    temperature costs for each 10 K (size from memory).
    """
    mean_pct = math.fsum(check.readings_pct) / len(check.readings_pct)
    return Deviation(pct=mean_pct - _value_pct(check.lot), components=_components(check))


def decide(
    check: MeterCheck,
    permissible_pct: float = PERMISSIBLE_PCT,
    *,
    largest_pct: float = LARGEST_PCT,
    risk: float = RISK,
) -> Decision:
    """Return what to do with a meter after a check; deviations in percentage points.

    With P the probability that the meter is off by more than ``permissible_pct``, either way:

    - P ≤ ``risk``: fit for use.
    - P ≥ 1 - ``risk``: clearly off. Adjust; out of use if it was adjusted already, or is
      found off by more than ``largest_pct``, which an adjustment should not hide.
    - between, with fewer than three readings or a remark on the oil's temperature: repeat,
      with three readings in oil at 50 °C.
    - between, and no better check is to be had: whichever of the two is more probable.

    Raises ValueError unless 0 < permissible ≤ largest and 0 < risk < 0.5.
    """
    if not (0 < permissible_pct <= largest_pct and 0 < risk < 0.5):
        raise ValueError("need 0 < permissible deviation <= largest deviation and 0 < risk < 0.5")
    found, remarks = deviation(check), _remarks(check)
    off = 1 - float(
        conformity_probability(found.pct, found.u_pct, lower=-permissible_pct, upper=permissible_pct)
    )
    if risk < off < 1 - risk and _could_be_better(check, remarks):
        key = DecisionKey.REPEAT
    elif off <= 0.5:
        key = DecisionKey.FIT
    else:
        beyond_help = check.adjusted or abs(found.pct) > largest_pct
        key = DecisionKey.OUT if beyond_help else DecisionKey.ADJUST
    return Decision(key=key, off_probability=off, deviation=found, remarks=remarks)


def _value_pct(lot: ReferenceLot) -> float:
    if lot.tpc_pct is None:
        raise ValueError(f"reference oil {lot.key!r} has no value: copy it from the bottle's label")
    if not 0 < lot.tpc_pct <= 100:
        raise ValueError(f"reference oil {lot.key!r}: its value must be above 0 and at most 100 %")
    return lot.tpc_pct


def _components(check: MeterCheck) -> tuple[Component, ...]:
    repeatability, *others = budget(check.oil_temp_c, check.meter, sound=True)
    averaged = replace(repeatability, u=repeatability.u / math.sqrt(len(check.readings_pct)))
    reference = Component(name="reference value", u=check.lot.u_pct)
    return (averaged, *others, reference, *_away_from_50_c(check.oil_temp_c))


def _away_from_50_c(oil_temp_c: float | None) -> tuple[Component, ...]:
    if oil_temp_c is None:
        return ()
    beyond = kelvin_outside(oil_temp_c, *REFERENCE_TEMPS_C)
    u_pct = coefficients()["temperature_not_noted"].sd * beyond / 10
    return (Component(name="reference oil not at 50 °C", u=u_pct),) if beyond else ()


def _could_be_better(check: MeterCheck, remarks: tuple[Remark, ...]) -> bool:
    few = len(check.readings_pct) < MOST_READINGS
    return few or any(remark.key is not RemarkKey.EXPIRED for remark in remarks)


def _remarks(check: MeterCheck) -> tuple[Remark, ...]:
    best_before = check.lot.best_before
    temp = _temp_remark(check.oil_temp_c)
    if best_before is None or check.at.date() <= best_before:
        return temp
    message = Message(text=EXPIRED, values={"best_before": best_before.isoformat()})
    return (Remark(key=RemarkKey.EXPIRED, message=message), *temp)


def _temp_remark(oil_temp_c: float | None) -> tuple[Remark, ...]:
    lowest, highest = REFERENCE_TEMPS_C
    if oil_temp_c is None:
        return (Remark(key=RemarkKey.TEMP_UNKNOWN, message=Message(text=TEMP_UNKNOWN)),)
    if lowest <= oil_temp_c <= highest:
        return ()
    key, text = (RemarkKey.TOO_COLD, TOO_COLD) if oil_temp_c < lowest else (RemarkKey.TOO_HOT, TOO_HOT)
    return (Remark(key=key, message=Message(text=text, values={"oil_temp_c": oil_temp_c})),)
