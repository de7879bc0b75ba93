"""A meter check and the decision after it."""

import math
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import GTC
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from uncertainties import ufloat

from kettlewell.book import Kitchen, MeterCheck, ReferenceLot
from kettlewell.core.metering import checks
from kettlewell.core.metering.checks import DecisionKey, RemarkKey, check_possible
from kettlewell.practice.hand_meter import HAND_METER

AT = datetime(2026, 9, 7, 9, tzinfo=UTC)
METER = HAND_METER
LOT = ReferenceLot(
    key="R1",
    name="Bottle 1",
    tpc_pct=10.0,
    expanded_u_pct=0.5,
    best_before=date(2026, 12, 31),
    read_at_c=50.0,
)
KITCHEN = Kitchen(name="Pier", fryers=(), oils=(), meters=(METER,), reference_lots=(LOT,))
CHECK = MeterCheck(at=AT, meter="hand", lot="R1", readings_pct=(10.0, 10.5, 9.5), oil_temp_c=50.0)


def with_lot(**changes):
    return replace(KITCHEN, reference_lots=(replace(LOT, **changes),))


def deviation(check, kitchen=KITCHEN):
    return checks.deviation(check, kitchen)


def decide(check, kitchen=KITCHEN, **wishes):
    return checks.decide_check(check, kitchen, **wishes)


def reading(*readings_pct, **changes):
    return replace(CHECK, readings_pct=readings_pct, **changes)


def parts(check, kitchen=KITCHEN):
    return {component.name: component.u for component in deviation(check, kitchen).components}


def keys(check, kitchen=KITCHEN):
    return [remark.key for remark in decide(check, kitchen).remarks]


def test_the_deviation_is_the_mean_reading_less_the_reference_value():
    assert deviation(reading(11.0, 11.5, 11.5)).pct == pytest.approx(4 / 3)


def test_the_deviation_is_uncertain_by_repeatability_resolution_and_reference():
    """0.5/√3, 0.5/√12 and 0.5/2, their squares added (JCGM 100:2008, 5.1.2)."""
    assert parts(CHECK) == pytest.approx(
        {"repeatability": 0.5 / 3**0.5, "resolution": 0.5 / 12**0.5, "reference value": 0.25}
    )
    assert deviation(CHECK).u_pct == pytest.approx(math.sqrt(0.25 / 3 + 0.25 / 12 + 0.25**2))


def test_more_readings_average_repeatability_and_nothing_else():
    one, three = parts(reading(10.0)), parts(CHECK)
    assert three.pop("repeatability") == pytest.approx(one.pop("repeatability") / math.sqrt(3))
    assert one == three


def test_the_uncertainty_of_the_reference_counts_with_its_own_coverage_factor():
    kitchen = with_lot(expanded_u_pct=0.6, coverage_factor=3.0)
    assert parts(CHECK, kitchen)["reference value"] == pytest.approx(0.2)


def test_gtc_combines_the_components_to_the_same():
    total = sum(GTC.ureal(0, component.u) for component in deviation(CHECK).components)
    assert deviation(CHECK).u_pct == pytest.approx(GTC.uncertainty(total), rel=1e-12)


def test_the_uncertainties_package_combines_the_components_to_the_same():
    total = sum(ufloat(0, component.u) for component in deviation(CHECK).components)
    assert deviation(CHECK).u_pct == pytest.approx(total.std_dev, rel=1e-12)


@pytest.mark.parametrize("readings_pct", [(10.0,), (10.5, 11.0), (9.0, 8.5, 9.0)])
def test_the_probability_is_that_of_a_normal_deviation_beyond_one_point_either_way(readings_pct):
    decision = decide(reading(*readings_pct))
    law = stats.norm(decision.deviation.pct, decision.deviation.u_pct)
    assert decision.off_probability == pytest.approx(law.sf(1) + law.cdf(-1))


@pytest.mark.parametrize(
    ("check", "key"),
    [
        (reading(10.0, 10.0, 10.5), DecisionKey.FIT),
        (reading(12.0, 12.0, 12.0), DecisionKey.ADJUST),
        (reading(8.0, 8.0, 8.0), DecisionKey.ADJUST),
        (reading(12.5), DecisionKey.REPEAT),
        (reading(12.5, 12.5), DecisionKey.ADJUST),
        (reading(10.5), DecisionKey.REPEAT),
        (reading(11.0, 11.0), DecisionKey.REPEAT),
        (reading(10.5, 10.5, 10.5), DecisionKey.FIT),
        (reading(11.5, 11.0, 11.0), DecisionKey.ADJUST),
        (reading(11.5, 11.0, 11.0, adjusted=True), DecisionKey.OUT),
        (reading(12.0, 12.0, 12.0, adjusted=True), DecisionKey.OUT),
        (reading(11.0, adjusted=True), DecisionKey.REPEAT),
        (reading(14.5, 14.5, 14.5), DecisionKey.OUT),
        (reading(5.0, 5.5, 5.0), DecisionKey.OUT),
    ],
)
def test_what_to_do_follows_from_the_probability_the_readings_and_an_adjustment(check, key):
    assert decide(check).key is key


def test_a_stricter_house_adjusts_what_others_find_fit():
    check = reading(10.5, 10.5, 11.0)
    assert decide(check).key is DecisionKey.FIT
    assert decide(check, replace(KITCHEN, permissible_pct=0.5)).key is DecisionKey.ADJUST


def test_nobody_turns_a_screw_for_a_single_reading():
    """However far off: it is read once more first."""
    assert decide(reading(13.0)).off_probability > 0.99
    assert decide(reading(13.0)).key is DecisionKey.REPEAT


@pytest.mark.parametrize("readings_pct", [(10.0, 13.0), (17.5, 5.0), (10.0, 10.5, 7.5)])
def test_readings_that_lie_far_apart_are_read_again_and_say_less(readings_pct):
    decision = decide(reading(*readings_pct))
    assert decision.key is DecisionKey.REPEAT
    assert [remark.key for remark in decision.remarks] == [RemarkKey.SCATTERED]
    assert parts(reading(*readings_pct))["repeatability"] == pytest.approx(
        np.std(readings_pct, ddof=1) / np.sqrt(len(readings_pct))
    )


def test_readings_of_a_meter_as_it_usually_scatters_hardly_ever_lie_too_far_apart():
    """The studentised range of three: 1 % of 4,000 checks, with what rounding adds."""
    rng = np.random.default_rng(12)
    checks = np.round(2 * (10 + rng.normal(0, 0.5, (4000, 3)))) / 2
    assert np.mean([RemarkKey.SCATTERED in keys(reading(*three)) for three in checks.tolist()]) < 0.015


@pytest.mark.parametrize("reading_pct", [10.0, 12.0, 14.5])
def test_a_check_at_20_degrees_is_kept_marked_and_repeated(reading_pct):
    decision = decide(reading(reading_pct, reading_pct, reading_pct, oil_temp_c=20.0))
    assert decision.key is DecisionKey.REPEAT
    assert [remark.key for remark in decision.remarks] == [RemarkKey.TOO_COLD]
    assert decision.remarks[0].oil_temp_c == 20


@pytest.mark.parametrize(
    ("oil_temp_c", "remarks"),
    [
        (44.9, [RemarkKey.TOO_COLD]),
        (45.0, []),
        (55.0, []),
        (55.1, [RemarkKey.TOO_HOT]),
        (None, [RemarkKey.TEMP_UNKNOWN]),
    ],
)
def test_reference_oil_away_from_50_degrees_is_remarked_on_and_its_range_has_both_ends(oil_temp_c, remarks):
    assert keys(replace(CHECK, oil_temp_c=oil_temp_c)) == remarks


def test_the_further_reference_oil_is_from_50_degrees_the_less_a_check_says():
    temps_c = (50, 60, 70, 80)
    us_pct = [deviation(replace(CHECK, oil_temp_c=float(temp_c))).u_pct for temp_c in temps_c]
    assert us_pct == sorted(set(us_pct))
    assert deviation(CHECK).u_pct < deviation(replace(CHECK, oil_temp_c=None)).u_pct


def test_an_expired_lot_is_allowed_and_marked():
    kitchen = with_lot(best_before=date(2026, 9, 6))
    assert keys(CHECK, kitchen) == [RemarkKey.EXPIRED]
    assert decide(CHECK, kitchen).remarks[0].best_before == date(2026, 9, 6)
    assert decide(CHECK, kitchen).key is decide(CHECK).key


def test_a_lot_may_be_used_on_its_last_day_which_ends_by_the_kitchens_own_clock():
    kitchen = replace(with_lot(best_before=date(2026, 9, 7)), timezone="America/New_York")
    late = datetime(2026, 9, 7, 23, tzinfo=ZoneInfo("America/New_York")).astimezone(UTC)
    assert keys(replace(CHECK, at=late), kitchen) == []
    assert keys(replace(CHECK, at=late + timedelta(hours=2)), kitchen) == [RemarkKey.EXPIRED]


@pytest.mark.parametrize(
    ("tpc_pct", "sentence"),
    [(0.0, "above 0"), (-3.0, "above 0"), (math.nan, "above 0")],
)
def test_a_lot_without_a_value_is_refused_by_name(tpc_pct, sentence):
    with pytest.raises(ValueError, match=f"'R1'.*{sentence}"):
        replace(LOT, tpc_pct=tpc_pct)


@pytest.mark.parametrize(
    "wrong", [{"expanded_u_pct": -0.1}, {"expanded_u_pct": math.nan}, {"coverage_factor": 0.0}]
)
def test_a_lot_whose_uncertainty_cannot_be_is_refused_by_name(wrong):
    with pytest.raises(ValueError, match="reference oil 'R1'"):
        replace(LOT, **wrong)


def test_a_check_before_the_meter_was_in_use_is_refused_with_both_dates():
    def since(day):
        return replace(KITCHEN, meters=(replace(METER, in_use_since=day),))

    with pytest.raises(ValueError, match=r"first in use on 2026-09-08, after the check of 2026-09-07"):
        check_possible(CHECK, since(date(2026, 9, 8)))
    check_possible(CHECK, since(date(2026, 9, 7)))


@pytest.mark.parametrize("unknown", [{"meter": "lent"}, {"lot": "R2"}])
def test_a_check_of_an_unknown_meter_or_in_an_unknown_lot_is_refused_by_name(unknown):
    with pytest.raises(KeyError, match="|".join(unknown.values())):
        check_possible(replace(CHECK, **unknown), KITCHEN)


@pytest.mark.parametrize("readings_pct", [(), (10.0,) * 4, (-0.5,), (100.5,), (math.nan,)])
def test_a_check_has_one_to_three_readings_between_0_and_100(readings_pct):
    with pytest.raises(ValueError, match=r"one to three|between 0 and 100"):
        reading(*readings_pct)


def test_a_check_at_a_time_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="names no time zone"):
        replace(CHECK, at=datetime(2026, 9, 7, 9))  # noqa: DTZ001 - the zone is what is missing


@pytest.mark.parametrize("permissible_pct", [0.0, 4.5])
def test_a_permissible_deviation_that_would_hide_or_find_everything_is_refused(permissible_pct):
    with pytest.raises(ValueError, match="permissible_pct"):
        replace(KITCHEN, permissible_pct=permissible_pct)


@pytest.mark.parametrize("risk", [0.0, 0.5])
def test_a_risk_at_which_nothing_could_be_decided_is_refused(risk):
    with pytest.raises(ValueError, match="risk"):
        decide(CHECK, risk=risk)


@given(st.floats(0, 9), st.floats(0, 9), st.integers(1, 3))
def test_the_further_a_meter_is_off_the_more_probably_it_is_off_by_too_much(first, second, readings):
    near, far = sorted((first, second))
    low, high = (decide(reading(*(10 + off,) * readings)).off_probability for off in (near, far))
    assert low <= high + 1e-12


@given(st.floats(-9, 9), st.integers(1, 3))
def test_reading_too_low_and_too_high_are_judged_alike(off, readings):
    high, low = decide(reading(*(10 + off,) * readings)), decide(reading(*(10 - off,) * readings))
    assert high.key is low.key or math.isclose(high.off_probability, 0.5, abs_tol=1e-9)
    assert high.off_probability == pytest.approx(low.off_probability, abs=1e-9)


def test_true_deviations_lie_within_two_standard_uncertainties_in_19_checks_of_20():
    """4,000 checks of a meter off by 0.7 points, in lots whose own value is off by their uncertainty."""
    rng = np.random.default_rng(8)
    lot_errors = rng.normal(0, LOT.u_pct, 4000)
    exact = 10 + 0.7 + lot_errors[:, None] + rng.normal(0, 0.5, (4000, 3))
    covered = [
        abs(found.pct - 0.7) <= 1.96 * found.u_pct
        for found in (deviation(reading(*readings)) for readings in (np.round(2 * exact) / 2).tolist())
    ]
    assert 0.935 <= np.mean(covered) <= 0.98


def test_a_bottle_whose_label_tells_no_temperature_judges_none():
    untold = replace(KITCHEN, reference_lots=(replace(LOT, read_at_c=None),))
    cold = replace(CHECK, oil_temp_c=20.0)
    assert [remark.key for remark in checks.decide_check(cold, KITCHEN).remarks] == [RemarkKey.TOO_COLD]
    assert checks.decide_check(cold, untold).remarks == ()
    assert checks.deviation(cold, untold).u_pct < checks.deviation(cold, KITCHEN).u_pct
