"""Who drains a bath that is to be changed, and since when it should be off."""

from collections.abc import Mapping
from datetime import datetime

from kettlewell.core.outlook.values import Assessment
from kettlewell.records.access import lasts
from kettlewell.records.models import Entry
from kettlewell.records.roster import people_of
from kettlewell.records.selectors import settled_last
from kettlewell.telling import N_
from kettlewell.telling.cooling import to_be_drained
from kettlewell.web.common import Visit

CALL = N_("You are not marked as trained to drain oil: call {people}.")
CALL_THE_CHEF = N_("Nobody here is marked as trained to drain oil: call the chef.")


def whom_to_call(assessment: Assessment, visit: Visit) -> str:
    """Return whom to call who is not trained to drain a bath that is to be drained; "" where nobody is."""
    if not to_be_drained(assessment) or visit.place.seat.trained_to_drain:
        return ""
    seats = people_of(visit.kitchen)
    people = [str(seat.person) for seat in seats if seat.trained_to_drain and lasts(seat, visit.now)]
    return visit.reader.say(CALL if people else CALL_THE_CHEF, people=", ".join(people))


def off_since(assessment: Assessment, visit: Visit, opened: Mapping[str, Entry]) -> datetime | None:
    """Return since when a bath should be off that must cool.

    From when its verdict was told, or somebody said that the oil stays in the fryer, which is closed.
    """
    if assessment.cooling is None:
        return None
    if assessment.fryer in opened:
        return opened[assessment.fryer].happened_at
    settled = settled_last(visit.kitchen, assessment.fryer)
    return settled.happened_at if settled and settled.payload["oil_done"] == "kept" else None
