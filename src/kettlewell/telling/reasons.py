"""Why a verdict was reached, and what would change it, in sentences."""

from kettlewell.core.decision import Reason
from kettlewell.core.limits import Quantity
from kettlewell.core.outlook.values import Because, ChangesIf, Doubted, Odds, PastLimit, Remedy
from kettlewell.telling.flags import flag_message
from kettlewell.telling.message import N_, Message, tidy

MEAN_PAST = N_("The proper readings average {mean_pct} %, over the {limit_pct} % limit.")
CHANCE = N_("Chance of going over the {limit_pct} % limit by the end of {service} ({ends_at}): {passing}.")
CHANCE_POLYMERS = N_(
    "Chance of going over the limit on polymers (about {limit_pct} % polar compounds in "
    "this oil) by the end of {service} ({ends_at}): {passing}."
)
TOO_RISKY = N_(
    "Chance of going over the {limit_pct} % limit by the end of {service} ({ends_at}): "
    "{passing}. You allow {risk_pct} %."
)
TOO_RISKY_POLYMERS = N_(
    "Chance of going over the limit on polymers (about {limit_pct} % polar compounds in "
    "this oil) by the end of {service} ({ends_at}): {passing}. You allow {risk_pct} %."
)
CHANCE_NO_METER = N_(
    "No meter in use. From the records, the chance of going over the {limit_pct} % limit "
    "by the end of {service} ({ends_at}) is {passing}."
)
CHANCE_POLYMERS_NO_METER = N_(
    "No meter in use. Chance of going over the limit on polymers (about {limit_pct} % "
    "polar compounds in this oil) by the end of {service} ({ends_at}), from the records: "
    "{passing}."
)
TOO_RISKY_NO_METER = N_(
    "No meter in use. From the records, the chance of going over the {limit_pct} % limit "
    "by the end of {service} ({ends_at}) is {passing}. You allow {risk_pct} %."
)
TOO_RISKY_POLYMERS_NO_METER = N_(
    "No meter in use. Chance of going over the limit on polymers (about {limit_pct} % "
    "polar compounds in this oil) by the end of {service} ({ends_at}), from the records: "
    "{passing}. You allow {risk_pct} %."
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
    Reason.RECALLED: N_("This oil was recalled: fry nothing in it."),
    Reason.SPOILED: N_("It smells or looks spoiled. That decides, whatever the meter shows."),
    Reason.OUT_OF_ORDER: N_("Out of use. Smell it and read it before it fries again."),
    Reason.UNKNOWN_FILL: N_("We don't know how old this oil is: no fill date, no reading yet."),
    Reason.OVERDUE: N_("No reading for two weeks: take one before you rely on this."),
    Reason.UNSEEN: N_("Nobody has looked at this oil yet. The records alone suggest that it may be due."),
    Reason.UNREAD: N_("Never read yet. The records alone suggest that it may be due."),
}
REMEDIES = {
    Remedy.FRESH_OIL: N_("Only fresh oil would change this."),
    Remedy.LABORATORY: N_("Fresh oil would change this, or a laboratory result well below the limit."),
    Remedy.SOUND_READING: N_("A proper reading would change this."),
    Remedy.METER_PUT_RIGHT: N_(
        "Put the meter right and check it again, or read with another. A laboratory result "
        "would change this too."
    ),
    Remedy.READING_BELOW: N_("A proper reading below {reading_pct} %, or fresh oil, would change this."),
    Remedy.READING_FROM: N_(
        "A reading of {reading_pct} % or more would change this, and so would oil that smells "
        "or looks spoiled."
    ),
    Remedy.SENSES: N_("Oil that smells or looks spoiled would change this."),
    Remedy.LOOKED_AT: N_("Smell it, look at it and write down what you find: then it is judged."),
    Remedy.FILL_KNOWN: N_(
        "Write down when it was filled, and it can be judged. Fresh oil would change this too."
    ),
}
PAST_AND_RISKY = N_("A reading is over the {limit_pct} % limit, and by the records the oil soon will be too.")
ONE_PAST = N_("One reading is over the {limit_pct} % limit: measure again now.")


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
