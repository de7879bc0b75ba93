"""What is known of one bath, in plain words."""

from django.utils.translation import gettext as _

from kettlewell.book import Fryer, find
from kettlewell.book.setup import Setup
from kettlewell.core.outlook.values import Assessment
from kettlewell.telling import N_, Reader
from kettlewell.telling.meters import points
from kettlewell.telling.verdicts import age_known, life_in_words, lowest_limit_pct

OIL = N_("{oil}, {mass_kg} kg at the cold-fill mark")
LAST_READING = N_("{tpc_pct} %, {at}")
READS_LOW = N_("(your meter probably reads {points} low: about {now} % now)")
READS_HIGH = N_("(your meter probably reads {points} high: about {now} % now)")
TURNOVER = N_("{share} of the bath is fresh oil after a usual service")
RATE = N_("about {rate} percentage points per hot hour (± {sd}), set as it is with the usual food")
SET = N_("{set_temp_c} °C")
TURNED_DOWN = N_("{set_temp_c} °C, {standby_temp_c} °C while nothing is fried")
LEVELS_OFF = N_("at about {tpc_pct} %, as long as it is topped up as usual")


def facts_of(assessment: Assessment, setup: Setup, reader: Reader) -> list[tuple[str, str]]:
    """Return what is known of a bath, each with its name."""
    bath = find(setup.kitchen.fryers, assessment.fryer)
    oil = find(setup.kitchen.oils, bath.oil)
    facts = [
        (_("Filled"), reader.date(assessment.filled_at) if assessment.filled_at else _("not in the book")),
        (_("Last reading"), last_reading(assessment, reader)),
        (_("Oil"), reader.say(OIL, oil=oil.name, mass_kg=bath.oil_mass_kg)),
        (_("Set temperature"), set_to(bath, reader)),
        (_("Topping-up"), reader.say(TURNOVER, share=reader.percent(assessment.turnover_per_service))),
        (_("Ageing"), rate(assessment, reader)),
    ]
    if age_known(assessment):
        facts.append((_("Over the limit"), life_in_words(assessment, reader)))
    level_pct = assessment.steady_state_tpc_pct
    if level_pct is not None and level_pct < lowest_limit_pct(assessment):
        facts.append((_("Would level off"), reader.say(LEVELS_OFF, tpc_pct=level_pct)))
    return facts


def set_to(bath: Fryer, reader: Reader) -> str:
    """Return what the thermostat is set to, and turned down to."""
    if bath.standby_temp_c is None:
        return reader.say(SET, set_temp_c=bath.set_temp_c)
    return reader.say(TURNED_DOWN, set_temp_c=bath.set_temp_c, standby_temp_c=bath.stands_at_c)


def last_reading(assessment: Assessment, reader: Reader) -> str:
    """Return the last reading and when it was taken."""
    if assessment.last_reading_pct is None:
        return _("none in this fill")
    said = reader.say(LAST_READING, tpc_pct=assessment.last_reading_pct, at=assessment.last_reading_at)
    return " ".join(filter(None, [said, why_not_now(assessment, reader)]))


def why_not_now(assessment: Assessment, reader: Reader) -> str:
    """Return why the oil is believed to stand elsewhere than it was read; "" where no meter is the reason."""
    off_pct = assessment.reads_off_pct
    if off_pct is None or not round(abs(off_pct), 1):
        return ""
    return reader.say(
        READS_HIGH if off_pct > 0 else READS_LOW,
        points=points(abs(off_pct), reader),
        now=assessment.tpc_mean_pct,
    )


def rate(assessment: Assessment, reader: Reader) -> str:
    """Return how fast the oil ages."""
    return reader.say(
        RATE,
        rate=reader.number(assessment.rate_pct_per_h, digits=2),
        sd=reader.number(assessment.rate_sd_pct_per_h, digits=2),
    )
