"""What a fryer's chart is drawn from.

Ranges hold the true TPC with 90 %, so that the upper edge meets a limit where the risk of
passing it is 5 %, as a verdict counts it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from zoneinfo import ZoneInfo

RANGE_SD = 1.645


class ActKind(StrEnum):
    """What was done to the bath."""

    TOP_UP = "top-up"
    MOVE = "move"
    CHANGE = "change"


class MeasuredKind(StrEnum):
    """How a value was measured."""

    READING = "reading"
    UNSOUND = "unsound"
    LABORATORY = "laboratory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A measured TPC with its standard uncertainty ``u_pct``."""

    at: datetime
    tpc_pct: float
    u_pct: float
    kind: MeasuredKind = MeasuredKind.READING

    @property
    def low_pct(self) -> float:
        """Lower end of the range."""
        return self.tpc_pct - RANGE_SD * self.u_pct

    @property
    def high_pct(self) -> float:
        """Upper end of the range."""
        return self.tpc_pct + RANGE_SD * self.u_pct


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnLevel:
    """The true TPC as believed: mean and standard deviation."""

    at: datetime
    tpc_mean_pct: float
    tpc_sd_pct: float

    @property
    def low_pct(self) -> float:
        """Lower end of the range."""
        return max(self.tpc_mean_pct - RANGE_SD * self.tpc_sd_pct, 0.0)

    @property
    def high_pct(self) -> float:
        """Upper end of the range."""
        return self.tpc_mean_pct + RANGE_SD * self.tpc_sd_pct


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnAct:
    """Something done to the bath."""

    at: datetime
    kind: ActKind


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitLine:
    """A limit with the words beside its line."""

    tpc_pct: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """What is drawn, and from first to last of it; each list in order of time.

    ``past`` is the belief about past services, ``here`` that about now, ``coming`` the
    forecast. Days begin at midnight in ``zone``.
    """

    zone: ZoneInfo
    here: DrawnLevel
    past: tuple[DrawnLevel, ...] = ()
    coming: tuple[DrawnLevel, ...] = ()
    measured: tuple[Measured, ...] = ()
    acts: tuple[DrawnAct, ...] = ()
    limits: tuple[LimitLine, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartLabels:
    """The words of the chart; ``day`` writes a day under the time axis, ``figure`` a TPC beyond its top."""

    tpc_pct: str
    now: str
    past: str
    forecast: str
    measured: Mapping[MeasuredKind, str]
    acts: Mapping[ActKind, str]
    beyond: str
    day: Callable[[datetime], str]
    figure: Callable[[float], str]
