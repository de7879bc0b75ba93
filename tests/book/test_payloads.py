"""What stands in the day book becomes values, and values what stands there."""

from datetime import UTC, datetime

import drawn
import pytest
from drawn import FEW
from hypothesis import given

from kettlewell.book import Reading, TopUp
from kettlewell.book.payloads import payload_of, value_of

NOON = datetime(2026, 9, 7, 12, tzinfo=UTC)


@given(entry=drawn.kinds)
@FEW
def test_a_value_comes_back_from_what_stands_in_the_day_book(entry):
    kind, payload = payload_of(entry)
    back = value_of(kind, payload, at=entry.at, ref=entry.ref, person=entry.person)
    assert payload_of(back) == (kind, payload)
    assert type(back) is type(entry)


@pytest.mark.parametrize(("mass_kg", "unit"), [(None, "mark"), (0.5, "kg")], ids=["to the mark", "weighed"])
def test_oil_is_topped_up_to_the_mark_or_in_kg(mass_kg, unit):
    _, payload = payload_of(TopUp(at=NOON, fryer="big", mass_kg=mass_kg))
    assert payload["unit"] == unit


@pytest.mark.parametrize("sound", [True, False])
def test_a_reading_is_sound_if_every_condition_was_met(sound):
    kind, payload = payload_of(Reading(at=NOON, fryer="big", tpc_pct=12.0, sound=sound))
    assert value_of(kind, payload, at=NOON, ref="").sound is sound
    for name in [name for name, said in payload.items() if said == "yes"]:
        assert not value_of(kind, {**payload, name: "no"}, at=NOON, ref="").sound
