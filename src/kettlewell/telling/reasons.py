"""Why a verdict was reached, and what would change it, in sentences."""

from kettlewell.core.decision import Reason
from kettlewell.core.limits import Quantity
from kettlewell.core.outlook.values import Because, ChangesIf, Doubted, Odds, PastLimit, Remedy
from kettlewell.telling.flags import flag_message
from kettlewell.telling.message import N_, Message, tidy

MEAN_PAST = N_("The sound readings stand at {mean_pct} % together, past the limit of {limit_pct} %.")
CHANCE = N_(
    "The chance that it goes over the limit of {limit_pct} % by the end of {service}, {ends_at}, "
    "is {passing}."
)
CHANCE_POLYMERS = N_(
    "The chance that it goes over the limit on polymers, about {limit_pct} % polar compounds in this oil, "
    "by the end of {service}, {ends_at}, is {passing}."
)
TOO_RISKY = N_(
    "The chance that it goes over the limit of {limit_pct} % by the end of {service}, {ends_at}, "
    "is {passing}; {risk_pct} % is accepted."
)
TOO_RISKY_POLYMERS = N_(
    "The chance that it goes over the limit on polymers, about {limit_pct} % polar compounds in this oil, "
    "by the end of {service}, {ends_at}, is {passing}; {risk_pct} % is accepted."
)
CHANCE_NO_METER = N_(
    "No meter here, so by the book and the senses: the chance that it goes over the limit of {limit_pct} % "
    "by the end of {service}, {ends_at}, is {passing}."
)
CHANCE_POLYMERS_NO_METER = N_(
    "No meter here, so by the book and the senses: the chance that it goes over the limit on polymers, "
    "about {limit_pct} % polar compounds in this oil, by the end of {service}, {ends_at}, is {passing}."
)
TOO_RISKY_NO_METER = N_(
    "No meter here, so by the book and the senses: the chance that it goes over the limit of {limit_pct} % "
    "by the end of {service}, {ends_at}, is {passing}; {risk_pct} % is accepted."
)
TOO_RISKY_POLYMERS_NO_METER = N_(
    "No meter here, so by the book and the senses: the chance that it goes over the limit on polymers, "
    "about {limit_pct} % polar compounds in this oil, by the end of {service}, {ends_at}, "
    "is {passing}; {risk_pct} % is accepted."
)
CHANCES = {  # by: too risky, through polymers, without a meter
    (False, False, False): CHANCE,
    (False, True, False): CHANCE_POLYMERS,
    (True, False, False): TOO_RISKY,
    (True, True, False): TOO_RISKY_POLYMERS,
    (False, False, True): CHANCE_NO_METER,
    (False, True, True): CHANCE_POLYMERS_NO_METER,
    (True, False, True): TOO_RISKY_NO_METER,
    (True, True, True): TOO_RISKY_POLYMERS_NO_METER,
}
PLAIN = {
    Reason.EMPTY: N_("The bath is empty: fill it fresh before frying."),
    Reason.SPOILED: N_("The senses say spoiled: no number overrides that."),
    Reason.OUT_OF_ORDER: N_("Out of use. Smell it and read it before it fries again."),
    Reason.UNKNOWN_FILL: N_(
        "Nothing is known of this fill: the book does not say when it was filled, and it has not been read."
    ),
    Reason.OVERDUE: N_("This fill has not been read for two weeks: the book alone is not enough."),
    Reason.UNREAD: N_("This fill has not been read yet, and by the book alone it may have to be changed."),
}
REMEDIES = {
    Remedy.FRESH_OIL: N_("Only fresh oil changes this."),
    Remedy.LABORATORY: N_("Fresh oil changes this; so does a laboratory result well below the limit."),
    Remedy.SOUND_READING: N_("A sound reading changes this."),
    Remedy.METER_PUT_RIGHT: N_(
        "Put the meter right and check it again, or read with another; a laboratory result changes this too."
    ),
    Remedy.READING_BELOW: N_("A sound reading below {reading_pct} % changes this; so does fresh oil."),
    Remedy.READING_FROM: N_(
        "A reading of {reading_pct} % or more, or oil that smells or looks spoiled, changes this."
    ),
    Remedy.SENSES: N_("Oil that smells or looks spoiled changes this."),
    Remedy.FILL_KNOWN: N_("Write down when it was filled, and it can be judged; fresh oil changes this too."),
}
PAST_AND_RISKY = N_(
    "A reading stands past the limit of {limit_pct} %, and by the book too the oil will soon be past it."
)
ONE_PAST = N_("One reading stands past the limit of {limit_pct} %: read again at once.")


PAST = {Reason.MEAN_PAST: MEAN_PAST, Reason.PAST_AND_RISKY: PAST_AND_RISKY, Reason.ONE_PAST: ONE_PAST}


def reason_message(because: Because) -> Message:
    """Return why a verdict was reached."""
    match because:
        case Doubted():
            return flag_message(because.flag)
        case Odds():
            return _chance(because)
        case PastLimit():
            mean = {"mean_pct": because.reading_pct} if because.code is Reason.MEAN_PAST else {}
            return Message(text=PAST[because.code], values={"limit_pct": tidy(because.limit_pct), **mean})
    return Message(text=PLAIN[because.code])


def _chance(odds: Odds) -> Message:
    too_risky, polymers = odds.code is not Reason.RISK_ACCEPTED, odds.quantity is Quantity.POLYMERS
    return Message(
        text=CHANCES[too_risky, polymers, not odds.metered],
        values={
            "limit_pct": tidy(odds.limit_pct),
            "service": odds.service,
            "ends_at": odds.ends_at,
            "passing": odds.passing_probability,
            "risk_pct": tidy(100 * odds.risk),
        },
    )


def remedy_message(changes_if: ChangesIf) -> Message:
    """Return what would change a verdict."""
    reading_pct = changes_if.reading_pct
    values = {} if reading_pct is None else {"reading_pct": reading_pct}
    return Message(text=REMEDIES[changes_if.code], values=values)
