"""What to do with a bath now, and why."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from kettlewell.core.belief.seen import NO_DOUBT
from kettlewell.core.decision import REASONS, URGENCY, Decided, Doubt, Reason, VerdictKey, decide, in_force
from kettlewell.core.limits import Quantity
from kettlewell.core.outlook.card import BathAnswers
from kettlewell.core.outlook.evidence import evidence_on
from kettlewell.core.outlook.handing import Handing
from kettlewell.core.outlook.outlook import Outlook, by_limits
from kettlewell.core.outlook.soundness import (
    doubted_for,
    flag,
    kind_of,
    of_occasion,
    off_flag,
    result_flag,
)
from kettlewell.core.outlook.values import (
    Because,
    ChangesIf,
    Doubted,
    Flag,
    Odds,
    PastLimit,
    Remedy,
    Verdict,
)

OF_REASON = {
    Reason.MEAN_PAST: Remedy.LABORATORY,
    Reason.PAST_AND_RISKY: Remedy.LABORATORY,
    Reason.UNSEEN: Remedy.LOOKED_AT,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A verdict's key with its reason and what would change it."""

    key: VerdictKey
    reason: Because
    changes_if: ChangesIf


def without_idle_doubt(outlook: Outlook, answers: BathAnswers) -> Outlook:
    """Return an outlook without the doubt of readings taken badly, where it would change nothing.

    That is where another reading that shows as much, taken well, would let the bath fry on.
    """
    if outlook.evidence.doubt != Doubt.UNSOUND:
        return outlook
    highest_pct = max(taken.reading.tpc_pct for taken in of_occasion(outlook.fill))
    if answers.at(highest_pct) is not VerdictKey.FRY_ON:
        return outlook
    return replace(outlook, evidence=replace(outlook.evidence, doubt=NO_DOUBT))


def findings_of(outlooks: Sequence[Outlook], answers: Sequence[BathAnswers]) -> list[Finding]:
    """Return what the rule decides of each bath, why, and what would change it.

    ``answers`` are what the readings before the coming service would lead to.
    """
    found: dict[int, Finding] = {}
    for limits, places in by_limits(outlooks).items():
        baths = [outlooks[n] for n in places]
        could_fry_on = np.array([answers[n].could_fry_on for n in places])
        evidence = replace(evidence_on(baths), could_fry_on=could_fry_on)
        passed = np.stack([outlook.soon for outlook in baths], axis=-1)
        decided = decide(passed, evidence, limits=in_force(limits))
        for b, n in enumerate(places):
            found[n] = finding_of(outlooks[n], answers[n], decided.at(b))
    return [found[n] for n in range(len(outlooks))]


def finding_of(outlook: Outlook, answers: BathAnswers, decided: Decided) -> Finding:
    """Return what was decided of a bath, why, and what would change it."""
    key = URGENCY[int(decided.verdict)]
    reason = because(outlook, decided)
    return Finding(key=key, reason=reason, changes_if=changes_if(reason.code, key, outlook, answers))


def because(outlook: Outlook, decided: Decided) -> Because:
    """Return a reason with the numbers that belong to it."""
    evidence = outlook.evidence
    code, limit = REASONS[int(decided.reason)], outlook.limits[int(decided.limit)]
    match code:
        case Reason.MEAN_PAST:
            return PastLimit(code=code, reading_pct=float(evidence.mean_pct), limit_pct=limit.tpc_pct)
        case Reason.ONE_PAST | Reason.PAST_AND_RISKY:
            return PastLimit(code=code, reading_pct=float(evidence.highest_pct), limit_pct=limit.tpc_pct)
        case Reason.CONTRADICTED | Reason.DOUBTED if asked := last_flag(outlook):
            return Doubted(code=code, flag=asked)
        case Reason.METER_OFF if outlook.rests_on:
            return Doubted(code=code, flag=off_flag(outlook.rests_on, outlook.kitchen.meters))
        case Reason.TOO_RISKY | Reason.TOO_RISKY_NEXT | Reason.RISK_ACCEPTED:
            return odds(outlook, decided)
    return Because(code=code)


def last_flag(outlook: Outlook) -> Flag | None:
    """Return what is asked about what was measured last; None where it is not doubted."""
    result, last = result_flag(outlook.fill), outlook.last()
    if result and (last is None or last.reading.at <= result.at):
        return result
    doubted = doubted_for(outlook.fill, Doubt(int(outlook.evidence.doubt)))
    kind = kind_of(doubted) if doubted else None
    return flag(doubted, kind) if doubted and kind else None


def odds(outlook: Outlook, decided: Decided) -> Odds:
    """Return the probability of passing the pressing limit by the end of the service that decides."""
    j, limit = int(decided.limit), outlook.limits[int(decided.limit)]
    service = min(int(decided.service), outlook.passed.shape[1] - 1)
    return Odds(
        code=REASONS[int(decided.reason)],
        quantity=Quantity(limit.limit.quantity),
        limit_pct=limit.tpc_pct,
        service=outlook.coming.names[service],
        ends_at=outlook.coming.ends[service],
        passing_probability=float(outlook.passed[j, service]),
        risk=limit.risk,
        metered=outlook.metered,
    )


def changes_if(reason: Reason, key: VerdictKey, outlook: Outlook, answers: BathAnswers) -> ChangesIf:
    """Return what would change a verdict."""
    if reason in OF_REASON:
        return ChangesIf(code=OF_REASON[reason])
    if reason is Reason.METER_OFF and outlook.rests_on and outlook.rests_on.right is None:
        return ChangesIf(code=Remedy.METER_PUT_RIGHT)
    if reason is Reason.UNKNOWN_FILL and not outlook.metered:
        return ChangesIf(code=Remedy.FILL_KNOWN)
    if key is VerdictKey.MEASURE_AGAIN:
        return ChangesIf(code=Remedy.SOUND_READING)
    if key is VerdictKey.FRY_ON:
        from_pct = answers.milder_until_pct if outlook.metered else None
        return ChangesIf(
            code=Remedy.SENSES if from_pct is None else Remedy.READING_FROM, reading_pct=from_pct
        )
    by_odds = reason in (Reason.TOO_RISKY, Reason.TOO_RISKY_NEXT)
    below_pct = answers.strict_from_pct(key) if by_odds and outlook.metered else None
    return ChangesIf(code=Remedy.READING_BELOW if below_pct else Remedy.FRESH_OIL, reading_pct=below_pct)


def holds_until(outlook: Outlook, key: VerdictKey, due: int) -> datetime:
    """Return until when a verdict stands: the next service's end, or the reading that is due."""
    coming = outlook.coming
    if key is not VerdictKey.FRY_ON or due == 0:
        return coming.ends[0]
    return coming.begins[due]


def verdict_of(outlook: Outlook, finding: Finding, due: int, handing: Handing) -> Verdict:
    """Return the whole verdict."""
    this = outlook.deciding(0)
    following = min(1, outlook.passed.shape[1] - 1)
    return Verdict(
        key=finding.key,
        reason=finding.reason,
        changes_if=finding.changes_if,
        passing_probability=float(outlook.passed[this, 0]),
        passing_probability_next=float(outlook.passed[outlook.deciding(following), following]),
        risk=float(outlook.risks[this]),
        holds_until=holds_until(outlook, finding.key, due),
        taken_over_by=handing.taken_over_by,
        not_offered=handing.not_offered,
    )
