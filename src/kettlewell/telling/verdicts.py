"""What an assessment says of one fryer, in a cook's sentences."""

from kettlewell.book import Fryer, Meter
from kettlewell.core.decision import Reason, VerdictKey
from kettlewell.core.limits import OilLimit
from kettlewell.core.outlook.values import Assessment, Doubted, Flag
from kettlewell.telling.message import N_
from kettlewell.telling.reasons import reason_message, remedy_message
from kettlewell.telling.words import Reader

SERVICES_TOLD = 3

VERDICTS = {
    VerdictKey.CHANGE_BEFORE: N_("Change before frying"),
    VerdictKey.CHANGE_AFTER: N_("Change after this service"),
    VerdictKey.MEASURE_AGAIN: N_("Measure again"),
    VerdictKey.FRY_ON: N_("Fry on"),
}
GOOD_FOR = N_("Good for about {number} more services. Expect to change the oil before {service} on {day}.")
GOOD_FOR_ONE = N_("Good for one more service.")
GOOD_FOR_NONE = N_("Good for no more service.")
GOOD_BEYOND = N_("Good for more than {number} services.")
UNREACHED = N_("Not expected to reach the limit while it is topped up as usual.")
HALF_BEYOND = N_("in half of all cases after more than {number} services")
LIFE_RANGE = N_("{half}, in eight of ten between {low} and {high}")
CHANGE_BEFORE = N_("Next: change the oil before {service}, {at}.")
CHANGE_NOW = N_("Next: change the oil now.")
AGAIN_BEFORE = N_("Next: measure again before {service}, {at}.")
AGAIN_NOW = N_("Next: measure again now.")
FIRST_BEFORE = N_("Next: take the first reading before {service}, {at}.")
READ_BY = N_("Next: take a reading by {at}.")
DAILY = N_("Next: take a reading by {at}. House rule: read every day.")
READ_NOW = N_("Next: take a reading now.")
READ_HOT = N_("Next: take a reading once the oil is hot.")
FIRST = N_("Take the first reading")
LOOK = N_("Smell it and look at it")
STOP = N_("Stop frying, change now")
# a bath drained by hand is changed once it is cold, never at once
SWITCH_OFF = N_("Do not fry, switch it off")
STOP_AND_SWITCH_OFF = N_("Stop frying, switch it off")
# recalled oil is not simply changed: its maker, or an authority, says what becomes of it
RECALLED = N_("Do not fry: recalled oil")
STOP_RECALLED = N_("Stop frying: recalled oil")
ASK = N_("Next: keep it out of use, and ask the person in charge what becomes of it and of the food.")
OFF_AFTER = N_("Next: switch it off after {service}, {at}; change the oil once it is cold.")
CHANGE_AFTER = N_("Next: change the oil after {service}, {at}.")
CHANGE_COLD = N_("Next: switch it off now; change the oil once it is cold.")
NOT_IN_USE = N_("Out of use")
AGE_UNKNOWN = N_("The day book does not show how old this oil is.")
SMELL = N_("Next: smell it and look at it before every service; ask again by {at}.")
UNKNOWN_FROM_SD_PCT = 6.0
TPC_NOW = N_("Polar compounds about {now} % now (± {spread}). The limit is {limit} %.")
POLYMERS_NOW = N_(
    "Polar compounds about {now} % now (± {spread}). The limit on polymers decides, about "
    "{limit} % polar compounds."
)


def named(thing: Fryer | Meter) -> str:
    """Return the name of a fryer or meter, with its key where the two differ."""
    return thing.name if thing.name == thing.key else f"{thing.name} ({thing.key})"


def age_known(assessment: Assessment) -> bool:
    """Tell whether the book says enough of this oil to count services and draw its life line."""
    return assessment.tpc_sd_pct < UNKNOWN_FROM_SD_PCT


def lowest_limit(assessment: Assessment) -> OilLimit:
    """Return the limit that judges this oil at the lowest TPC."""
    return min(assessment.limits, key=lambda limit: limit.tpc_pct)


def lowest_limit_pct(assessment: Assessment) -> float:
    """Return the TPC of the lowest limit that judges this oil."""
    return lowest_limit(assessment).tpc_pct


def limit_label(limit: OilLimit, reader: Reader) -> str:
    """Return what a limit is called in a picture."""
    text = N_("polymers, about {number}") if limit.mapped else N_("limit {number}")
    return reader.say(text, number=limit.tpc_pct)


def verdict_words(assessment: Assessment, reader: Reader) -> str:
    """Return the verdict as a cook says it: while a service runs, changing before it means stop."""
    if not assessment.in_use:
        return reader.say(NOT_IN_USE)
    if is_recalled(assessment):
        return reader.say(STOP_RECALLED if is_running(assessment) else RECALLED)
    if assessment.verdict.key is VerdictKey.CHANGE_BEFORE:
        if assessment.cooling:
            return reader.say(STOP_AND_SWITCH_OFF if is_running(assessment) else SWITCH_OFF)
        if is_running(assessment):
            return reader.say(STOP)
    if assessment.verdict.key is VerdictKey.MEASURE_AGAIN and assessment.last_reading_at is None:
        return reader.say(FIRST if assessment.metered else LOOK)
    return reader.say(VERDICTS[assessment.verdict.key])


def is_recalled(assessment: Assessment) -> bool:
    """Tell whether the oil in a fryer was recalled."""
    return assessment.verdict.reason.code is Reason.RECALLED


def is_running(assessment: Assessment) -> bool:
    """Tell whether a service runs at a fryer."""
    return any(s.begins_at <= assessment.at < s.ends_at for s in assessment.forecast[:1])


def why(assessment: Assessment, reader: Reader) -> str:
    """Return the reason of the verdict and what would change it."""
    verdict = assessment.verdict
    return f"{reader.tell(reason_message(verdict.reason))} {reader.tell(remedy_message(verdict.changes_if))}"


def countable(assessment: Assessment) -> bool:
    """Tell whether services are counted: not of oil that must go, nor of one that must be read first."""
    ends = (VerdictKey.CHANGE_BEFORE, VerdictKey.MEASURE_AGAIN)
    return assessment.in_use and age_known(assessment) and assessment.verdict.key not in ends


def services_left(assessment: Assessment, reader: Reader) -> str:
    """Return for how many services the oil is good, until its change will be said."""
    life = assessment.life
    if life.never:
        return reader.say(UNREACHED)
    if life.services_left is None:
        return reader.say(GOOD_BEYOND, number=life.horizon_services)
    if life.services_left <= 1:
        return reader.say(GOOD_FOR_ONE if life.services_left else GOOD_FOR_NONE)
    last = assessment.forecast[life.services_left]
    return reader.say(GOOD_FOR, number=life.services_left, service=last.name, day=reader.day(last.begins_at))


def life_in_words(assessment: Assessment, reader: Reader) -> str:
    """Return when the limit is as likely reached as not, with the range that holds in eight cases of ten."""
    life, median = assessment.life, assessment.life.services_median
    beyond = reader.say(N_("more than {number}"), number=life.horizon_services)
    low, high = (
        beyond if services is None else reader.number(int(services))
        for services in (life.services_low, life.services_high)
    )
    half = (
        reader.say(HALF_BEYOND, number=life.horizon_services)
        if median is None
        else reader.count(
            int(median),
            "in half of all cases after {number} service",
            "in half of all cases after {number} services",
        )
    )
    return half if low == high else reader.say(LIFE_RANGE, half=half, low=low, high=high)


def next_act(assessment: Assessment, reader: Reader) -> str:
    """Return what is to be done next at this fryer, and when."""
    coming = assessment.forecast[0] if assessment.forecast else None
    if is_recalled(assessment):
        return reader.say(ASK)
    match assessment.verdict.key:
        case VerdictKey.CHANGE_BEFORE if assessment.cooling:
            return reader.say(CHANGE_COLD)
        case VerdictKey.CHANGE_BEFORE:
            return _before(assessment, reader, CHANGE_BEFORE, CHANGE_NOW)
        case VerdictKey.CHANGE_AFTER if coming:
            text = OFF_AFTER if assessment.card.by_hand else CHANGE_AFTER
            return reader.say(text, service=coming.name, at=coming.ends_at)
        case VerdictKey.MEASURE_AGAIN if assessment.metered or assessment.last_reading_at:
            again = AGAIN_BEFORE, AGAIN_NOW
            texts = again if assessment.last_reading_at else (FIRST_BEFORE, READ_NOW)
            return _before(assessment, reader, *texts)
    return _next_reading(assessment, reader)


def _next_reading(assessment: Assessment, reader: Reader) -> str:
    if not assessment.metered:
        return reader.say(SMELL, at=assessment.verdict.holds_until)
    if assessment.read_by <= assessment.at:
        return reader.say(READ_NOW if assessment.last_reading_pct else READ_HOT)
    return reader.say(DAILY if assessment.by_house_rule else READ_BY, at=assessment.read_by)


def _before(assessment: Assessment, reader: Reader, text: str, at_once: str) -> str:
    coming = assessment.forecast[:1]
    if not coming or coming[0].begins_at <= assessment.at:
        return reader.say(at_once)
    return reader.say(text, service=coming[0].name, at=coming[0].begins_at)


def questions(assessment: Assessment) -> list[Flag]:
    """Return what the program asks about the book, unless the verdict's reason asks it already."""
    reason = assessment.verdict.reason
    asked = reason.flag if isinstance(reason, Doubted) else None
    return [flag for flag in assessment.flags if flag != asked]


def picture_in_words(assessment: Assessment, reader: Reader) -> str:
    """Return the life line as a sentence."""
    number, lowest = reader.number, lowest_limit(assessment)
    now = reader.say(
        POLYMERS_NOW if lowest.mapped else TPC_NOW,
        now=number(assessment.tpc_mean_pct),
        spread=number(assessment.tpc_sd_pct),
        limit=number(lowest.tpc_pct),
    )
    coming = [number(service.tpc_mean_pct) for service in assessment.forecast[:SERVICES_TOLD]]
    if not coming:
        return now
    after = reader.count(
        len(coming),
        "After the coming service about {levels}.",
        "After the next {number} services about {levels}.",
        levels="; ".join(coming),
    )
    return f"{now} {after}"
