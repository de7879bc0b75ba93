"""The error budget of a meter reading."""

import math
from dataclasses import replace
from datetime import UTC, datetime

import GTC
import pytest
from uncertainties import ufloat

from kettlewell.book import Meter, Reading
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.metering import offset_sd_pct, out_of_range, reading_budget, reading_var

METER = Meter(
    key="hand",
    name="Hand meter",
    resolution_pct=0.5,
    largest_error_pct=2.0,
    min_oil_temp_c=40,
    max_oil_temp_c=200,
)
SOUND = Reading(at=datetime(2026, 9, 7, 9, tzinfo=UTC), fryer="big", tpc_pct=15, oil_temp_c=150)
BAD = [
    SOUND,
    replace(SOUND, sound=False),
    replace(SOUND, oil_temp_c=None),
    replace(SOUND, oil_temp_c=30),
    replace(SOUND, oil_temp_c=220, sound=False),
]


def parts(reading, meter=METER):
    return {component.name: component.u for component in reading_budget(reading, meter)}


def test_a_sound_reading_is_uncertain_by_repeatability_and_resolution():
    assert set(parts(SOUND)) == {"repeatability", "resolution"}
    assert parts(SOUND)["repeatability"] == PACKAGED.meter_repeatability.sd


@pytest.mark.parametrize("resolution_pct", [0.1, 0.5, 1.0])
def test_the_resolution_counts_as_an_even_distribution(resolution_pct):
    """Its width over the root of 12 (JCGM 100:2008, F.2.2.1)."""
    meter = replace(METER, resolution_pct=resolution_pct)
    assert parts(SOUND, meter)["resolution"] == pytest.approx(resolution_pct / math.sqrt(12))


def test_a_meter_is_trusted_less_the_further_the_oil_is_outside_its_temperatures():
    inside, just_cold, cold, hot = (
        parts(replace(SOUND, oil_temp_c=oil_temp_c)).get("oil temperature out of range", 0.0)
        for oil_temp_c in (40, 39, 20, 220)
    )
    assert inside == 0 < just_cold < cold == hot


@pytest.mark.parametrize(
    ("oil_temp_c", "out"), [(None, False), (40, False), (200, False), (39.9, True), (201, True)]
)
def test_the_ends_of_the_range_belong_to_it_and_an_unknown_temperature_is_not_outside(oil_temp_c, out):
    assert out_of_range(oil_temp_c, METER) is out


def test_an_unknown_temperature_costs_something_and_less_than_a_wrong_one():
    unknown, cold = (reading_var(replace(SOUND, oil_temp_c=temp_c), METER) for temp_c in (None, 39))
    assert reading_var(SOUND, METER) < unknown < cold


def test_a_reading_whose_conditions_were_not_met_is_uncertain_by_points_and_still_counts():
    unsound = replace(SOUND, sound=False)
    assert 2 < math.sqrt(reading_var(unsound, METER)) < 5


@pytest.mark.parametrize("reading", BAD)
def test_gtc_combines_the_components_to_the_same(reading):
    total = sum(GTC.ureal(0, component.u) for component in reading_budget(reading, METER))
    assert math.sqrt(reading_var(reading, METER)) == pytest.approx(GTC.uncertainty(total), rel=1e-12)


@pytest.mark.parametrize("reading", BAD)
def test_the_uncertainties_package_combines_the_components_to_the_same(reading):
    total = sum(ufloat(0, component.u) for component in reading_budget(reading, METER))
    assert math.sqrt(reading_var(reading, METER)) == pytest.approx(total.std_dev, rel=1e-12)


def test_the_makers_largest_error_of_two_points_is_an_offset_of_eight_tenths():
    assert offset_sd_pct(METER) == pytest.approx(0.8)
    assert offset_sd_pct(replace(METER, largest_error_pct=1.0)) == pytest.approx(0.4)
