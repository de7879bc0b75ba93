"""Surprises of one sign in several baths on one day speak of the meter."""

from dataclasses import replace

import pytest

from kettlewell.book import Change
from kettlewell.core import assess
from kettlewell.core.outlook.values import FlagKind

KEYS = ("big", "b2", "b3", "b4")


@pytest.fixture
def several(kitchen):
    """A kitchen of four big fryers."""
    big = kitchen.fryers[0]
    services = tuple(replace(service, fryers=()) for service in kitchen.services)
    return replace(kitchen, fryers=tuple(replace(big, key=key) for key in KEYS), services=services)


@pytest.fixture
def flagged(several, read, at):
    """Tell which baths are told of the meter, by what each showed more than expected on the fourth day."""

    def of(*more, **rest):
        entries = [Change(at=at(0, "08:00"), fryer=key) for key in KEYS]
        for day, tpc in enumerate((4.0, 6.0, 8.0)):
            entries += [read(day, "09:00", tpc, fryer=key) for key in KEYS]
        entries += [
            read(3, "09:00", 10.0 + by, fryer=key, **rest) for key, by in zip(KEYS, more, strict=False)
        ]
        told = assess(several, entries, now=at(3, "10:00"))
        kinds = {bath.fryer: {flag.kind for flag in bath.flags} for bath in told}
        return {key for key, of_it in kinds.items() if FlagKind.METER_MOVED in of_it}

    return of


@pytest.mark.parametrize("sign", [1, -1])
def test_several_baths_that_surprise_alike_are_told_of_the_meter(flagged, sign):
    assert flagged(sign * 4.0, sign * 3.5, sign * 4.5, sign * 5.0) == set(KEYS)


@pytest.mark.parametrize(
    "more",
    [(0.2, -0.3, 0.1, 0.0), (4.0, 0.1, 0.0, -0.2), (4.0, -4.0, 4.0, -4.0), (4.0, 4.0)],
    ids=["as expected", "one wet probe", "either way", "two baths alone"],
)
def test_what_is_no_common_cause_is_not(flagged, more):
    assert flagged(*more) == set()


def test_readings_taken_badly_tell_nothing_of_the_meter(flagged):
    assert flagged(4.0, 3.5, 4.5, 5.0, sound=False) == set()
