"""What the rule is asked, and what it answers: arrays of one element a bath, or a supposed reading."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.limits import OilLimit


class VerdictKey(StrEnum):
    """What to do with a bath now, most urgent first."""

    CHANGE_BEFORE = "change_before"
    CHANGE_AFTER = "change_after"
    MEASURE_AGAIN = "measure_again"
    FRY_ON = "fry_on"


class Reason(StrEnum):
    """Why a verdict was reached."""

    EMPTY = "empty"
    RECALLED = "recalled"
    SPOILED = "spoiled"
    OUT_OF_ORDER = "out_of_order"
    UNKNOWN_FILL = "unknown_fill"
    MEAN_PAST = "mean_past"
    CONTRADICTED = "contradicted"
    OVERDUE = "overdue"
    UNREAD = "unread"
    UNSEEN = "unseen"
    TOO_RISKY = "too_risky"
    PAST_AND_RISKY = "past_and_risky"
    METER_OFF = "meter_off"
    TOO_RISKY_NEXT = "too_risky_next"
    DOUBTED = "doubted"
    ONE_PAST = "one_past"
    RISK_ACCEPTED = "risk_accepted"


URGENCY = tuple(VerdictKey)
REASONS = tuple(Reason)


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What is known of baths beside their odds; every field (...) or one value for all.

    Whether a bath is ``empty``, holds oil that was ``recalled``, the senses found it ``spoiled``, it
    is ``out_of_order``, a meter is in use (``metered``), nothing is known of its fill (``unknown``), no
    sound reading was taken for too long (``overdue``) or none at all since it was filled (``unread``),
    nobody even smelled it where there is no meter (``unseen``), and whether some reading
    ``could_fry_on``; whether what is believed rests on a ``meter_off``, found so by a check and read before
    it was put right. ``doubt`` is a ``Doubt`` of the last occasion, none where a
    laboratory result overrides it.

    ``mean_pct`` is of the highest two of the ``readings``, so many, that were taken well and in a row,
    ``highest_pct`` of those of the last occasion (nan without any), or both of the ``laboratory`` result
    that overrides them.
    """

    empty: Mask | bool
    recalled: Mask | bool
    spoiled: Mask | bool
    out_of_order: Mask | bool
    metered: Mask | bool
    unknown: Mask | bool
    overdue: Mask | bool
    unread: Mask | bool
    unseen: Mask | bool
    could_fry_on: Mask | bool
    meter_off: Mask | bool
    doubt: Index | int
    mean_pct: Array | float
    highest_pct: Array | float
    readings: Index | int
    laboratory: Mask | bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitsInForce:
    """The J limits that judge the oil, each (J,).

    ``tpc_pct`` is the TPC a limit stands for, ``risk`` its accepted probability of being passed;
    ``mapped`` is one on another quantity, which no reading alone can be said to pass; at one
    with ``reached`` the oil is unfit, else only above it.
    """

    tpc_pct: Array
    risk: Array
    mapped: Mask
    reached: Mask


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """What to do and why, each (...).

    ``verdict`` is a place in ``URGENCY``, ``reason`` in ``REASONS``, ``limit`` in the limits in
    force: the one that was passed, or that presses most by the end of ``service`` (0 the coming
    or running one, 1 the next).
    """

    verdict: Index
    reason: Index
    limit: Index
    service: Index

    def at(self, n: int) -> "Decided":
        """Return what was decided of one bath of several."""
        return Decided(
            verdict=self.verdict[n], reason=self.reason[n], limit=self.limit[n], service=self.service[n]
        )


def in_force(limits: Sequence[OilLimit]) -> LimitsInForce:
    """Return the limits that judge a bath's oil as arrays."""
    return LimitsInForce(
        tpc_pct=np.array([each.tpc_pct for each in limits], dtype=float),
        risk=np.array([each.risk for each in limits], dtype=float),
        mapped=np.array([each.mapped for each in limits], dtype=bool),
        reached=np.array([each.limit.unfit_when == ">=" for each in limits], dtype=bool),
    )
