"""What is to be known of the meters before one relies on a verdict."""

from kettlewell.book import Meter
from kettlewell.bridge.meters import meters_at_hand
from kettlewell.telling import N_
from kettlewell.telling.meters import FAILED
from kettlewell.web.common import Visit

FOUND_OFF = N_("{meter} was found off at its last check: adjust it before you rely on it.")
BY_SENSES = N_("No meter is in use: smell the oil and look at it.")


def meterless(visit: Visit) -> bool:
    """Tell whether no meter is in use."""
    return not any(at_hand.in_use for at_hand in meters_at_hand(visit.kitchen))


def off(visit: Visit) -> list[Meter]:
    """Return the meters in use that their last check found off."""
    return [
        at_hand.meter
        for at_hand in meters_at_hand(visit.kitchen)
        if at_hand.in_use and at_hand.last and at_hand.last.key in FAILED
    ]


def at_fryers(visit: Visit) -> list[str]:
    """Return what is to be known of the meters where a fryer is read."""
    if meterless(visit):
        return [visit.reader.say(BY_SENSES)]
    return [visit.reader.say(FOUND_OFF, meter=meter.name) for meter in off(visit)]
