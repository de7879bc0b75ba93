"""What a meter's readings are worth in one oil, and what a laboratory sample would add."""

from collections.abc import Iterator
from math import floor

from kettlewell.book import Kitchen, find
from kettlewell.core.outlook.worth import Accepted, OilWorth, SampleWorth
from kettlewell.telling.cautions import SAMPLE
from kettlewell.telling.message import N_
from kettlewell.telling.meters import points
from kettlewell.telling.verdicts import named
from kettlewell.telling.words import Reader

COVERAGE = 2.0  # 19 of 20
SEEN_SHARE = 0.0005  # of a thousand, a half

ACCEPTED = N_("Fry up to {one} % on this meter; read twice, up to a mean of {two} % (limit {limit_pct} %).")
KNOWN_TO = N_("Near the limit one reading is right to ± {one}, two are to ± {two} (19 times in 20).")
RISKS = N_(
    "Of 1,000 readings {bad} would keep unfit oil and {good} would waste good oil. Read "
    "twice each time: {bad_two} and {good_two}."
)
TOO_FEW = N_("There are too few readings in this oil lately to say how often they mislead.")
BELIEVED_PLUS = N_(
    "In this oil it probably shows {gain} times the true value (± {gain_u}), plus {offset} "
    "points (± {offset_u})."
)
BELIEVED_LESS = N_(
    "In this oil it probably shows {gain} times the true value (± {gain_u}), less {offset} "
    "points (± {offset_u})."
)
NO_SAMPLE = N_("A laboratory sample would not help with this oil at present: you could not use it longer.")
LONGER = N_(
    "One laboratory sample at about {tpc_pct} % would let you use this oil {services} services longer "
    "in {fryer}."
)
SAVES = N_("Over a quarter it would save about {kg} kg.")
SAVES_MONEY = N_("Over a quarter it would save about {kg} kg, worth {money} at your price.")
NO_PAY = N_("At {price} a sample it does not pay for itself within a year.")


def accepted_words(worth: OilWorth, reader: Reader) -> str:
    """Return up to which reading, and which mean of two, oil is accepted."""
    one, two = (floor(10 * each.accept_pct + 1e-6) / 10 for each in worth.accepted)  # rounded up is too high
    return reader.say(ACCEPTED, limit_pct=worth.limit_pct, one=one, two=two)


def known_to(worth: OilWorth, reader: Reader) -> str:
    """Return how well one reading and two tell the oil near the limit."""
    one, two = (points(COVERAGE * each.u_pct, reader) for each in worth.accepted)
    return reader.say(KNOWN_TO, one=one, two=two)


def misled(worth: OilWorth, reader: Reader) -> str:
    """Return how often readings like those of the kitchen keep bad oil, or throw good oil away."""
    told = [_counts(each, reader) for each in worth.accepted]
    if None in told:
        return reader.say(TOO_FEW)
    (bad, good), (bad_two, good_two) = (counts for counts in told if counts)
    return reader.say(RISKS, bad=bad, good=good, bad_two=bad_two, good_two=good_two)


def _counts(mean: Accepted, reader: Reader) -> tuple[str, str] | None:
    if mean.consumer is None or mean.producer is None:
        return None
    return _of_a_thousand(mean.consumer, reader), _of_a_thousand(mean.producer, reader)


def _of_a_thousand(share: float, reader: Reader) -> str:
    if 0 < share < SEEN_SHARE:
        return reader.say(N_("fewer than 1"))
    return reader.say(N_("about {number}"), number=round(1000 * share))


def believed(worth: OilWorth, reader: Reader) -> str:
    """Return gain and offset of the meter in this oil, as believed, with standard deviations."""
    return reader.say(
        BELIEVED_PLUS if round(worth.offset_pct, 1) >= 0 else BELIEVED_LESS,
        gain=reader.number(worth.gain, digits=2),
        gain_u=reader.number(worth.gain_sd, digits=2),
        offset=reader.number(abs(worth.offset_pct), digits=1),
        offset_u=reader.number(worth.offset_sd_pct, digits=1),
    )


def sampled(worth: OilWorth, kitchen: Kitchen, reader: Reader) -> str:
    """Return what one laboratory sample of this oil would be worth, and how hot oil is sampled.

    It is read twice by the meter as well.
    """
    sample = worth.sample
    if sample is None:
        return reader.say(NO_SAMPLE)
    longer = reader.say(
        LONGER,
        tpc_pct=sample.tpc_pct,
        fryer=named(find(kitchen.fryers, sample.fryer)),
        services=reader.number(sample.services_more, digits=1),
    )
    return " ".join([longer, *_money(sample, kitchen, reader), reader.say(SAMPLE)])


def _money(sample: SampleWorth, kitchen: Kitchen, reader: Reader) -> Iterator[str]:
    kg = reader.number(sample.saved_kg)
    if sample.saved is None:
        yield reader.say(SAVES, kg=kg)
        return
    yield reader.say(SAVES_MONEY, kg=kg, money=reader.number(float(sample.saved), digits=2))
    if kitchen.laboratory_price is None:
        return
    price = reader.number(float(kitchen.laboratory_price), digits=2)
    if sample.pays_after_days is None:
        yield reader.say(NO_PAY, price=price)
    else:
        yield reader.count(
            sample.pays_after_days,
            "At {price} a sample it pays for itself in a day.",
            "At {price} a sample it pays for itself in {number} days.",
            price=price,
        )
