"""What is made of a limit."""

from dataclasses import dataclass
from enum import StrEnum

from kettlewell.book import Limit, Message


class Quantity(StrEnum):
    """The quantities of a limit that the program knows what to do with."""

    TPC = "total polar compounds"
    POLYMERS = "polymerised triglycerides"
    OIL_TEMPERATURE = "oil temperature"
    POTATO_TEMPERATURE = "potato frying temperature"


class LimitStatus(StrEnum):
    """What the program does with a limit.

    JUDGED limits decide about the oil. A limit on how the oil is used is KEPT or
    gives a WARNING; it never decides about the oil.
    """

    JUDGED = "judged"
    NOT_JUDGED = "not judged"
    KEPT = "kept"
    WARNING = "warning"
    NONE_FOUND = "none found"


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedLimit:
    """A limit and what was made of it for one fryer.

    ``tpc_pct`` (standard uncertainty ``tpc_u_pct``) is the TPC it stands for and
    ``risk`` the α it is judged at: given for JUDGED limits, None for all others.
    ``unverified`` numbers come from memory.
    """

    limit: Limit
    status: LimitStatus
    unverified: bool
    message: Message
    tpc_pct: float | None = None
    tpc_u_pct: float | None = None
    risk: float | None = None
