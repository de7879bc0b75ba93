"""The rule that decides what to do with a bath: the only one, whoever asks."""

from typing import TypeVar

import numpy as np

from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.seen import NO_DOUBT, Doubt
from kettlewell.core.decision.values import (
    REASONS,
    URGENCY,
    Decided,
    Evidence,
    LimitsInForce,
    Reason,
    VerdictKey,
)

Each = TypeVar("Each", Array, Mask)

READINGS_THAT_DECIDE = 2  # one reading may be wet, two of one occasion tell: chosen, no source


def decide(passed: Array, evidence: Evidence, *, limits: LimitsInForce) -> Decided:
    """Return what to do with baths, the most urgent cause first.

    ``passed`` (J, 2, ...) is the probability of having passed each of J limits by the end of the
    coming or running service and of the one after; ``evidence`` and the answer are (...). The
    first cause that holds gives the verdict. Which limit and service it speaks of is told for
    every reason, and means something for those that rest on one.
    """
    over = passed > along_limits(limits.risk, passed)
    before, after = over[:, 0].any(axis=0), over[:, 1].any(axis=0)
    mean_past, by_mean = past(evidence.mean_pct, limits)
    highest_past, by_highest = past(evidence.highest_pct, limits)
    decides_alone = evidence.laboratory | (evidence.readings >= READINGS_THAT_DECIDE)
    readable = evidence.metered & evidence.could_fry_on
    below_the_book = evidence.doubt >= int(Doubt.UNLOGGED_CHANGE)
    cascade = (
        (Reason.EMPTY, VerdictKey.CHANGE_BEFORE, evidence.empty),
        (Reason.RECALLED, VerdictKey.CHANGE_BEFORE, evidence.recalled),
        (Reason.SPOILED, VerdictKey.CHANGE_BEFORE, evidence.spoiled),
        (Reason.OUT_OF_ORDER, VerdictKey.MEASURE_AGAIN, evidence.out_of_order),
        (Reason.UNKNOWN_FILL, VerdictKey.MEASURE_AGAIN, evidence.unknown),
        (Reason.MEAN_PAST, VerdictKey.CHANGE_BEFORE, mean_past & decides_alone),
        (Reason.CONTRADICTED, VerdictKey.MEASURE_AGAIN, below_the_book),
        (Reason.OVERDUE, VerdictKey.MEASURE_AGAIN, readable & evidence.overdue),
        (Reason.UNREAD, VerdictKey.MEASURE_AGAIN, readable & evidence.unread & (before | after)),
        (Reason.UNSEEN, VerdictKey.MEASURE_AGAIN, evidence.unseen & (before | after)),
        (Reason.TOO_RISKY, VerdictKey.CHANGE_BEFORE, before),
        (Reason.PAST_AND_RISKY, VerdictKey.CHANGE_BEFORE, after & highest_past),
        (Reason.METER_OFF, VerdictKey.MEASURE_AGAIN, evidence.meter_off),
        (Reason.TOO_RISKY_NEXT, VerdictKey.CHANGE_AFTER, after),
        (Reason.DOUBTED, VerdictKey.MEASURE_AGAIN, evidence.doubt != NO_DOUBT),
        (Reason.ONE_PAST, VerdictKey.MEASURE_AGAIN, highest_past),
        (Reason.RISK_ACCEPTED, VerdictKey.FRY_ON, True),
    )
    reasons, verdicts, holding = zip(*cascade, strict=True)
    first = np.stack(np.broadcast_arrays(*holding)).argmax(axis=0)
    reason = np.array([REASONS.index(each) for each in reasons])[first]
    service = np.where(is_any(reason, Reason.TOO_RISKY_NEXT), 1, 0)
    return Decided(
        verdict=np.array([URGENCY.index(each) for each in verdicts])[first],
        reason=reason,
        limit=np.select(
            [
                is_any(reason, Reason.MEAN_PAST),
                is_any(reason, Reason.ONE_PAST, Reason.PAST_AND_RISKY),
            ],
            [by_mean, by_highest],
            pressing(passed, service, limits),
        ),
        service=service,
    )


def is_any(reason: Index, *reasons: Reason) -> Mask:
    """Return where (...) a reason is one of some."""
    return np.asarray(np.logical_or.reduce([reason == REASONS.index(each) for each in reasons]))


def past(tpc_pct: Array | float, limits: LimitsInForce) -> tuple[Mask, Index]:
    """Return where (...) values lie past a limit on polar compounds itself, and past which, the lowest."""
    value = np.asarray(tpc_pct, dtype=float)[None]
    limit_pct, reached = along_limits(limits.tpc_pct, value), along_limits(limits.reached, value)
    beyond = (value > limit_pct) | (reached & (value == limit_pct))
    passed = beyond & ~along_limits(limits.mapped, value)
    return passed.any(axis=0), np.where(passed, limit_pct, np.inf).argmin(axis=0)


def pressing(passed: Array, service: Index, limits: LimitsInForce) -> Index:
    """Return which limit presses most by the end of a ``service`` (...): its odds by its accepted risk."""
    share = passed / along_limits(limits.risk, passed)
    this, following = share[:, 0].argmax(axis=0), share[:, 1].argmax(axis=0)
    return np.asarray(np.where(service == 1, following, this))


def along_limits(each: Each, beside: Array) -> Each:
    """Return values (J,) shaped to stand beside an array (J, ...)."""
    return each.reshape(-1, *[1] * (beside.ndim - 1))
