"""What is to be known of the meters before one relies on a verdict."""

from kettlewell.bridge.meters import meters_at_hand
from kettlewell.telling import N_
from kettlewell.telling.meters import FAILED
from kettlewell.web.common import Visit

FOUND_OFF = N_("{meter} was found off at its last check: adjust it before you rely on it.")
BY_SENSES = N_("No meter is in use: smell the oil and look at it.")
BY_BOOK = N_("No meter is in use: the verdicts go by the book and the senses.")


def meterless(visit: Visit) -> bool:
    """Tell whether no meter is in use."""
    return not any(at_hand.in_use for at_hand in meters_at_hand(visit.kitchen))


def found_off(visit: Visit) -> list[str]:
    """Return of each meter in use whether its last check found it off."""
    return [
        visit.reader.say(FOUND_OFF, meter=at_hand.meter.name)
        for at_hand in meters_at_hand(visit.kitchen)
        if at_hand.in_use and at_hand.last and at_hand.last.key in FAILED
    ]


def at_fryers(visit: Visit) -> list[str]:
    """Return what is to be known of the meters where a fryer is read."""
    return [visit.reader.say(BY_SENSES)] if meterless(visit) else found_off(visit)
