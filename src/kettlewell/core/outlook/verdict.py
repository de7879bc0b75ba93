"""What to do with a bath now, and why."""

from dataclasses import dataclass
from datetime import datetime

from kettlewell.book import LabResult, Message
from kettlewell.book.words import N_
from kettlewell.core.limits.judged import tidy
from kettlewell.core.outlook.card import BathAnswers
from kettlewell.core.outlook.forecast import change_now
from kettlewell.core.outlook.outlook import Outlook
from kettlewell.core.outlook.soundness import doubt, flag, in_a_row
from kettlewell.core.outlook.values import FlagKind, Verdict, VerdictKey

EMPTY = N_("The bath is empty: fill it fresh before frying.")
SPOILED = N_("The senses say spoiled: no number overrides that.")
MEAN_PAST = N_("The sound readings stand at {mean_pct} % together, past the limit of {limit_pct} %.")
CHANCE = N_(
    "The chance that it passes the limit of {limit_pct} % by the end of {service}, {ends_at}, is {passing}."
)
CHANCE_POLYMERS = N_(
    "The chance that it passes the limit on polymers, about {limit_pct} % polar compounds in this oil, "
    "by the end of {service}, {ends_at}, is {passing}."
)
TOO_RISKY = N_(
    "The chance that it passes the limit of {limit_pct} % by the end of {service}, {ends_at}, "
    "is {passing}; {risk_pct} % is accepted."
)
TOO_RISKY_POLYMERS = N_(
    "The chance that it passes the limit on polymers, about {limit_pct} % polar compounds in this oil, "
    "by the end of {service}, {ends_at}, is {passing}; {risk_pct} % is accepted."
)
CHANCE_NO_METER = N_(
    "No meter here, so by the book and the senses: the chance that it passes the limit of {limit_pct} % "
    "by the end of {service}, {ends_at}, is {passing}."
)
CHANCE_POLYMERS_NO_METER = N_(
    "No meter here, so by the book and the senses: the chance that it passes the limit on polymers, "
    "about {limit_pct} % polar compounds in this oil, by the end of {service}, {ends_at}, is {passing}."
)
TOO_RISKY_NO_METER = N_(
    "No meter here, so by the book and the senses: the chance that it passes the limit of {limit_pct} % "
    "by the end of {service}, {ends_at}, is {passing}; {risk_pct} % is accepted."
)
TOO_RISKY_POLYMERS_NO_METER = N_(
    "No meter here, so by the book and the senses: the chance that it passes the limit on polymers, "
    "about {limit_pct} % polar compounds in this oil, by the end of {service}, {ends_at}, "
    "is {passing}; {risk_pct} % is accepted."
)
ODDS = {  # by: too risky, through polymers, without a meter
    (False, False, False): CHANCE,
    (False, True, False): CHANCE_POLYMERS,
    (True, False, False): TOO_RISKY,
    (True, True, False): TOO_RISKY_POLYMERS,
    (False, False, True): CHANCE_NO_METER,
    (False, True, True): CHANCE_POLYMERS_NO_METER,
    (True, False, True): TOO_RISKY_NO_METER,
    (True, True, True): TOO_RISKY_POLYMERS_NO_METER,
}
OUT_OF_ORDER = N_("Out of use. Smell it and read it before it fries again.")
UNREAD = N_("This fill has not been read yet, and by the book alone it may have to be changed.")
UNKNOWN_FILL = N_(
    "Nothing is known of this fill: the book does not say when it was filled, and it has not been read."
)
ONE_PAST = N_("One reading stands past the limit of {limit_pct} %: read again at once.")
OVERDUE = N_("This fill has not been read for two weeks: the book alone is not enough.")
LABORATORY = N_("Fresh oil changes this; so does a laboratory result well below the limit.")
READING_BELOW = N_("A sound reading below {reading_pct} % changes this; so does fresh oil.")
FRESH = N_("Only fresh oil changes this.")
SOUND_READING = N_("A sound reading changes this.")
READING_FROM = N_("A reading of {reading_pct} % or more, or oil that smells or looks spoiled, changes this.")
SENSES = N_("Oil that smells or looks spoiled changes this.")

READINGS_THAT_DECIDE = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A verdict's key with its reason and what would change it."""

    key: VerdictKey
    reason: Message
    changes_if: Message


def finding_of(outlook: Outlook, answers: BathAnswers) -> Finding:
    """Return the verdict as product and rules define it, most urgent reason first.

    ``answers`` are what the readings before the coming service would lead to.
    """
    if outlook.fill.empty:
        return Finding(
            key=VerdictKey.CHANGE_BEFORE, reason=Message(text=EMPTY), changes_if=Message(text=FRESH)
        )
    if outlook.fill.spoiled:
        return Finding(
            key=VerdictKey.CHANGE_BEFORE, reason=Message(text=SPOILED), changes_if=Message(text=FRESH)
        )
    if outlook.out_of_order:
        return measure_again(Message(text=OUT_OF_ORDER))
    return (
        unknown_fill(outlook)
        or past_limit(outlook)
        or contradicted(outlook)
        or overdue(outlook, answers)
        or too_risky(outlook, answers)
        or not_to_be_trusted(outlook)
        or fry_on(outlook, answers)
    )


def unknown_fill(outlook: Outlook) -> Finding | None:
    """Return the verdict on a fill of which the book says nothing."""
    fill = outlook.fill
    known = fill.filled_at is not None or fill.readings or fill.laboratory is not None
    if known or not outlook.metered:
        return None
    return measure_again(Message(text=UNKNOWN_FILL))


def overdue(outlook: Outlook, answers: BathAnswers) -> Finding | None:
    """Return the verdict where a reading is overdue, so that the odds cannot be trusted.

    That is a fill unread for two weeks, or one never read whose odds are too bad; but only
    where there is a meter and some reading would let it fry on.
    """
    if not outlook.metered or not answers.could_fry_on:
        return None
    since = outlook.overdue_from()
    if since is None or outlook.now > since:
        return measure_again(Message(text=OVERDUE))
    unread = not outlook.fill.readings and outlook.fill.laboratory is None
    return measure_again(Message(text=UNREAD)) if unread and too_risky(outlook, answers) else None


def overriding(outlook: Outlook) -> LabResult | None:
    """Return the laboratory result that overrides the meter: one no older than the last reading."""
    result, last = outlook.fill.laboratory, outlook.last()
    return result if result and (last is None or result.at >= last.reading.at) else None


def past_limit(outlook: Outlook) -> Finding | None:
    """Return what follows from sound readings past a limit on polar compounds itself."""
    result, readings = overriding(outlook), in_a_row(outlook.fill, outlook.kitchen)
    values = [result.tpc_pct] if result else [reading.tpc_pct for reading in readings]
    if len(values) < (1 if result else READINGS_THAT_DECIDE):
        return None
    mean_pct = sum(values) / len(values)
    limit_pct = outlook.passed_by(mean_pct)
    if limit_pct is None:
        return None
    reason = Message(text=MEAN_PAST, values={"mean_pct": mean_pct, "limit_pct": tidy(limit_pct)})
    return Finding(key=VerdictKey.CHANGE_BEFORE, reason=reason, changes_if=Message(text=LABORATORY))


def contradicted(outlook: Outlook) -> Finding | None:
    """Return the verdict after a reading far below what the book expects: the odds rest on that book."""
    last = outlook.last()
    kind = doubt(last, outlook.kitchen) if last else None
    if last is None or overriding(outlook) or kind not in (FlagKind.CONTRADICTS, FlagKind.UNLOGGED_CHANGE):
        return None
    return measure_again(flag(last, kind).message)


def too_risky(outlook: Outlook, answers: BathAnswers) -> Finding | None:
    """Return what follows from the probabilities of passing a limit in the next two services."""
    services = outlook.passed.shape[1]
    this, following = outlook.passed[:, 0], outlook.passed[:, min(1, services - 1)]
    before, after = change_now(this, following, outlook.risks)
    if not before.any() and not after.any():
        return None
    key = VerdictKey.CHANGE_BEFORE if before.any() else VerdictKey.CHANGE_AFTER
    service = 0 if before.any() else min(1, services - 1)
    reason = odds(outlook, service, too_risky=True)
    below_pct = answers.strict_from_pct(key)
    changes_if = Message(text=FRESH)
    if outlook.metered and below_pct:
        changes_if = Message(text=READING_BELOW, values={"reading_pct": below_pct})
    return Finding(key=key, reason=reason, changes_if=changes_if)


def not_to_be_trusted(outlook: Outlook) -> Finding | None:
    """Return why to measure again, if the last reading or its absence makes the odds doubtful."""
    last, result = outlook.last(), overriding(outlook)
    if last and not result and (kind := doubt(last, outlook.kitchen)):
        return measure_again(flag(last, kind).message)
    readings = [] if result else [reading.tpc_pct for reading in in_a_row(outlook.fill, outlook.kitchen)]
    limit_pct = outlook.passed_by(max(readings, default=0.0))
    if limit_pct is not None:
        return measure_again(Message(text=ONE_PAST, values={"limit_pct": tidy(limit_pct)}))
    return None


def measure_again(reason: Message) -> Finding:
    """Return the verdict to measure again."""
    return Finding(key=VerdictKey.MEASURE_AGAIN, reason=reason, changes_if=Message(text=SOUND_READING))


def fry_on(outlook: Outlook, answers: BathAnswers) -> Finding:
    """Return the verdict when nothing speaks against frying on."""
    changes_if = Message(text=SENSES)
    from_pct = answers.milder_until_pct
    if outlook.metered and from_pct is not None:
        changes_if = Message(text=READING_FROM, values={"reading_pct": from_pct})
    reason = odds(outlook, 0, too_risky=False)
    return Finding(key=VerdictKey.FRY_ON, reason=reason, changes_if=changes_if)


def odds(outlook: Outlook, service: int, *, too_risky: bool) -> Message:
    """Return a sentence with the probability of passing the pressing limit by a coming service's end."""
    j = outlook.deciding(service)
    limit = outlook.judged[j]
    return Message(
        text=ODDS[too_risky, bool(limit.tpc_u_pct), not outlook.metered],
        values={
            "limit_pct": tidy(limit.tpc_pct or 0.0),
            "service": outlook.coming.names[service],
            "ends_at": outlook.coming.ends[service],
            "passing": float(outlook.passed[j, service]),
            "risk_pct": tidy(100 * outlook.risks[j]),
        },
    )


def holds_until(outlook: Outlook, key: VerdictKey, due: int) -> datetime:
    """Return until when a verdict stands: the next service's end, or the reading that is due."""
    coming = outlook.coming
    if key is not VerdictKey.FRY_ON or due == 0:
        return coming.ends[0]
    return coming.begins[due]


def verdict_of(outlook: Outlook, finding: Finding, due: int, taken_over_by: tuple[str, ...] = ()) -> Verdict:
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
        taken_over_by=taken_over_by,
    )
