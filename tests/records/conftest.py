"""A pen to write in the day book with."""

from dataclasses import replace

import pytest

from kettlewell import clock
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Told, entry_add

READING = {
    "fryer": "F1",
    "tpc_pct": "15.5",
    "no_food": "yes",
    "no_bubbles": "yes",
    "probe_clear": "yes",
    "steady": "unknown",
}


@pytest.fixture
def told():
    """Return what a client tells: a reading, or what is asked for."""

    def tell(**changes):
        now = clock.now()
        return replace(Told(id=uuid7(now), kind="reading", happened_at=now, payload=READING), **changes)

    return tell


@pytest.fixture
def write(marrowby, hand, told):
    """Write an entry of the owner's; return it."""

    def write_down(**changes):
        return entry_add(marrowby, told(**changes), replace(hand, now=clock.now()))[0]

    return write_down
