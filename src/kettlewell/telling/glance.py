"""What is said of a fryer at a glance: where its oil stands, and when it was last read."""

from kettlewell.core.decision import Reason, VerdictKey
from kettlewell.core.outlook.values import Assessment
from kettlewell.telling.message import N_
from kettlewell.telling.verdicts import age_known, is_recalled, is_running, lowest_limit_pct, next_act
from kettlewell.telling.words import Reader

NOW = N_("now {now}, limit {limit} %")
OVERRIDES = {Reason.SPOILED: N_("smells or looks spoiled"), Reason.RECALLED: N_("recalled")}
NOW_UNKNOWN = N_("now unknown, limit {limit} %")
READ_TODAY = N_("read {reading} % {clock}")
READ_ON = N_("read {reading} % {day}")
NOT_READ = N_("not read yet")


def now_beside_limit(assessment: Assessment, reader: Reader) -> str:
    """Return where the oil stands now, beside the limit; or what no number overrides."""
    if said := OVERRIDES.get(assessment.verdict.reason.code):
        return reader.say(said)
    text = NOW if age_known(assessment) else NOW_UNKNOWN
    return reader.say(text, now=assessment.tpc_mean_pct, limit=lowest_limit_pct(assessment))


def last_read(assessment: Assessment, reader: Reader) -> str:
    """Return what was read last of this oil, and when: the time of today, else the day."""
    at, reading_pct = assessment.last_reading_at, assessment.last_reading_pct
    if at is None or reading_pct is None:
        return reader.say(NOT_READ)
    if at.astimezone(reader.zone).date() == reader.today:
        return reader.say(READ_TODAY, reading=reading_pct, clock=f"{at.astimezone(reader.zone):%H:%M}")
    return reader.say(READ_ON, reading=reading_pct, day=reader.day(at))


def then(assessment: Assessment, reader: Reader) -> str:
    """Return the next act at a fryer; "" where the verdict is that act, at once."""
    if is_recalled(assessment):
        return next_act(assessment, reader)
    at_once = assessment.cooling is not None or is_running(assessment)
    if assessment.verdict.key is VerdictKey.CHANGE_BEFORE and at_once:
        return ""
    return next_act(assessment, reader)
