"""What is made of a limit."""

from dataclasses import dataclass
from enum import StrEnum

from kettlewell.book import Grade, Limit


class Quantity(StrEnum):
    """The quantities of a limit that the program knows what to do with."""

    TPC = "total polar compounds"
    POLYMERS = "polymerised triglycerides"
    OIL_TEMPERATURE = "oil temperature"
    POTATO_TEMPERATURE = "potato frying temperature"


class LimitStatus(StrEnum):
    """What the program does with a limit that does not judge the oil.

    A limit on how the oil is used is KEPT or gives a WARNING; it never decides about the oil. What
    its rule says beside the number is ADVICE.
    """

    NOT_JUDGED = "not judged"
    KEPT = "kept"
    WARNING = "warning"
    NONE_FOUND = "none found"
    ADVICE = "advice"


class NoteCode(StrEnum):
    """Why a limit does not judge the oil, or what its rule says beside the number."""

    NONE_FOUND = "none_found"
    NONE_FOUND_OWN_SET = "none_found_own_set"
    UNVERIFIED = "unverified"
    NOT_MEASURED = "not_measured"
    LABORATORY_DECIDES = "laboratory_decides"
    FOODS_UNKNOWN = "foods_unknown"
    KEPT = "kept"
    TOO_HOT = "too_hot"
    METER_SCREENS = "meter_screens"
    NO_TOP_UP = "no_top_up"


@dataclass(frozen=True, slots=True, kw_only=True)
class OilLimit:
    """A limit that judges the oil of one fryer.

    ``tpc_pct`` (standard uncertainty ``tpc_u_pct``, 0 of a limit on polar compounds itself) is
    the TPC it stands for, and ``risk`` the α it is judged at. ``rough`` says that the TPC was
    derived, or lies beyond what was measured; ``by_laboratory`` that the kitchen's own bore on it.
    """

    limit: Limit
    tpc_pct: float
    tpc_u_pct: float
    risk: float
    rough: bool = False
    by_laboratory: bool = False

    @property
    def mapped(self) -> bool:
        """Whether it is a limit on another quantity, told through polar compounds."""
        return self.limit.quantity != Quantity.TPC


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitNote:
    """What was made of a limit that does not judge the oil of one fryer, and why.

    ``set_temp_c`` is what the fryer is set to where the limit was held against that.
    """

    limit: Limit
    status: LimitStatus
    code: NoteCode
    set_temp_c: float | None = None

    @property
    def unverified(self) -> bool:
        """Whether its number comes from memory."""
        return self.limit.grade is Grade.MEMORY


@dataclass(frozen=True, slots=True, kw_only=True)
class FryerLimits:
    """What a kitchen's limits mean for one fryer: those that judge its ``oil``, lowest first, and notes."""

    oil: tuple[OilLimit, ...]
    notes: tuple[LimitNote, ...]
