"""The verdict as the product defines it, most urgent reason first."""

from dataclasses import replace

import pytest

from kettlewell.book import (
    Change,
    Draining,
    Force,
    LabResult,
    Move,
    OutOfOrder,
    Product,
    SensoryNote,
    Store,
)
from kettlewell.core.decision import Reason
from kettlewell.core.limits import Quantity
from kettlewell.core.outlook.values import PastLimit

SLOW = (4, 6, 8, 10, 12)
PLATEAU = (
    10,
    15,
    17,
    18,
    19,
    20,
    20.5,
    21,
    *[22] * 6,
    21.5,
    21.5,
)  # a bath that nearly stands still below its limit
STANDS_ON_DAY = len(PLATEAU)


def rising_to(last_pct):
    """Return nine readings from fresh oil, as a meter shows them, straight up to about the last."""
    return [round(2 * (4 + (last_pct - 4) * i / 8)) / 2 for i in range(9)]


@pytest.fixture
def bold(kitchen):
    """The kitchen with the highest risk a house limit may have."""
    return replace(kitchen, risk=0.5)


@pytest.fixture
def fried_in_batter(kitchen, book, at):
    """Give a kitchen where ``big`` fries gluten and is past use, and ``small`` holds fresh oil."""

    def given(draining, held):
        big, small = kitchen.fryers
        foods = (
            Product(key="fries", name="Fries in batter", allergens=("gluten",)),
            Product(key="fish", name="Battered fish", allergens=held),
        )
        place = replace(kitchen, products=foods, fryers=(replace(big, draining=draining), small))
        return place, [*book(*rising_to(24)), Change(at=at(7, "08:00"), fryer="small")], at(8, "09:30")

    return given


def test_far_below_the_limit_fry_on(told, book, at):
    verdict = told(book(*SLOW), at(4, "09:30")).verdict
    assert verdict.key == "fry_on"
    assert verdict.passing_probability <= verdict.passing_probability_next <= verdict.risk == 0.05


@pytest.mark.parametrize("last_pct", [16, 18, 19, 19.5, 20, 21.5, 23, 25])
def test_change_before_and_after_follow_from_the_two_probabilities_and_the_risk(told, book, at, last_pct):
    verdict = told(book(*rising_to(last_pct)), at(8, "09:30")).verdict
    this, following = verdict.passing_probability, verdict.passing_probability_next
    expected = "change_before" if this > 0.05 else "change_after" if following > 0.05 else "fry_on"
    assert verdict.key == expected


def test_all_three_verdicts_that_follow_from_the_odds_are_met_on_the_way_to_the_limit(told, book, at):
    keys = [told(book(*rising_to(last)), at(8, "09:30")).verdict.key for last in (18, 19, 23)]
    assert keys == ["fry_on", "change_after", "change_before"]


def test_a_lower_risk_makes_the_verdict_stricter_and_never_milder(told, book, at, kitchen):
    order = ["fry_on", "change_after", "change_before"]
    entries, now = book(*rising_to(19)), at(8, "09:30")
    risks = (0.5, 0.2, 0.05, 0.01, 0.001)
    keys = [told(entries, now, place=replace(kitchen, risk=risk)).verdict.key for risk in risks]
    assert [order.index(key) for key in keys] == sorted(order.index(key) for key in keys)
    assert keys[0] == "fry_on"
    assert keys[-1] == "change_before"


@pytest.mark.parametrize(
    ("force", "risk"), [(Force.BINDING, 0.05), (Force.GUIDANCE, 0.05), (Force.HOUSE, 0.3)]
)
def test_only_a_house_limit_takes_a_risk_above_5_percent(told, book, at, kitchen, force, risk):
    place = replace(kitchen, risk=0.3, limits=(replace(kitchen.limits[0], force=force),))
    assert told(book(*SLOW), at(4, "09:30"), place=place).verdict.risk == risk


def test_spoiled_by_smell_overrides_a_low_reading(told, book, at):
    spoiled = SensoryNote(at=at(4, "09:10"), fryer="big", spoiled=True)
    verdict = told([*book(*SLOW), spoiled], at(4, "09:30")).verdict
    assert verdict.passing_probability < 0.01
    assert verdict.key == "change_before"
    assert verdict.reason.code == "spoiled"


def test_oil_that_smells_fine_does_not_lift_a_change_by_the_numbers(told, book, at):
    fine = SensoryNote(at=at(8, "09:10"), fryer="big", spoiled=False)
    assert told([*book(*rising_to(23)), fine], at(8, "09:30")).verdict.key == "change_before"


def test_a_change_in_a_later_service_puts_spoiled_oil_right(told, book, at):
    spoiled = SensoryNote(at=at(4, "14:30"), fryer="big", spoiled=True)
    change = Change(at=at(4, "20:30"), fryer="big")
    assert told([*book(*SLOW), spoiled, change], at(4, "21:00")).verdict.key == "fry_on"


def test_a_change_right_after_the_note_puts_spoiled_oil_right(told, book, at):
    spoiled = SensoryNote(at=at(4, "14:30"), fryer="big", spoiled=True)
    change = Change(at=at(4, "14:50"), fryer="big")
    assert told([*book(*SLOW), spoiled, change], at(4, "15:00")).verdict.key == "fry_on"


def test_spoiled_oil_stays_spoiled_in_another_fryer(told, book, at):
    spoiled = SensoryNote(at=at(4, "09:10"), fryer="big", spoiled=True)
    move = Move(at=at(4, "09:20"), fryer="big", into="small")
    verdict = told([*book(*SLOW), spoiled, move], at(4, "09:30"), fryer="small").verdict
    assert (verdict.key, verdict.reason.code) == ("change_before", "spoiled")


def test_an_empty_bath_is_to_be_filled_before_frying_and_is_not_in_use(told, book, at):
    one = told([*book(*SLOW), Store(at=at(4, "09:10"), fryer="big")], at(4, "09:30"))
    assert (one.verdict.key, one.in_use) == ("change_before", False)
    assert one.verdict.reason.code == "empty"


def test_two_sound_readings_in_a_row_whose_mean_lies_past_the_limit_lead_to_a_change(
    told, book, at, read, bold
):
    readings = [read(STANDS_ON_DAY, "09:00", 24), read(STANDS_ON_DAY, "09:20", 24.5)]
    verdict = told([*book(*PLATEAU, 22)[:-1], *readings], at(STANDS_ON_DAY, "09:30"), place=bold).verdict
    assert verdict.key == "change_before"
    assert verdict.reason == PastLimit(code=Reason.MEAN_PAST, reading_pct=24.25, limit_pct=24)


def test_readings_of_two_mornings_are_not_in_a_row(told, book, at, read, bold):
    readings = [read(STANDS_ON_DAY, "09:00", 24.5), read(STANDS_ON_DAY + 1, "09:00", 24)]
    one = told([*book(*PLATEAU), *readings], at(STANDS_ON_DAY + 1, "09:30"), place=bold)
    assert one.verdict.reason.code != "mean_past"


@pytest.mark.parametrize(("clock", "together"), [("06:00", True), ("05:59", False)])
def test_readings_up_to_three_hours_apart_are_in_a_row(told, book, read, bold, clock, together):
    readings = [read(STANDS_ON_DAY, clock, 24), read(STANDS_ON_DAY, "09:00", 24.5)]
    one = told([*book(*PLATEAU, 22)[:-1], *readings], readings[-1].at, place=bold)
    assert (one.verdict.reason.code == "mean_past") is together


def test_two_readings_past_the_limit_are_not_made_good_by_a_third_far_below(told, book, at, read, bold):
    """The third contradicts the book, and is no reason to fry on with what two said."""
    shown = (("09:00", 24), ("09:10", 24.5), ("09:20", 9))
    readings = [read(STANDS_ON_DAY, clock, pct) for clock, pct in shown]
    one = told([*book(*PLATEAU), *readings], at(STANDS_ON_DAY, "09:30"), place=bold)
    assert one.flags[0].ref == readings[-1].ref
    assert (one.verdict.key, one.verdict.reason.code) == ("change_before", "mean_past")


@pytest.mark.parametrize("past_pct", [24.25, 24.5, 25, 26, 28])
def test_one_sound_reading_past_the_limit_never_leads_to_fry_on(told, book, at, read, bold, past_pct):
    readings = [read(STANDS_ON_DAY, "09:00", past_pct)]
    assert (
        told([*book(*PLATEAU, 22)[:-1], *readings], at(STANDS_ON_DAY, "09:30"), place=bold).verdict.key
        != "fry_on"
    )


def test_a_reading_past_the_limit_never_leads_to_fry_on_where_no_meter_is_listed(told, book, at, read, bold):
    place = replace(bold, meters=())
    entries = [*book(*PLATEAU), read(STANDS_ON_DAY, "09:00", 24.5)]
    assert told(entries, at(STANDS_ON_DAY, "09:30"), place=place).verdict.key != "fry_on"


@pytest.mark.parametrize("before_pct", [22.5, 23, 23.5])
def test_a_reading_past_the_limit_after_one_below_never_leads_to_fry_on(
    told, book, at, read, bold, before_pct
):
    """Their mean does not stand past it, so no change: read again at once."""
    readings = [read(STANDS_ON_DAY, "09:00", before_pct), read(STANDS_ON_DAY, "09:20", 24.25)]
    one = told([*book(*PLATEAU), *readings], at(STANDS_ON_DAY, "09:30"), place=bold)
    assert one.verdict.key != "fry_on"


def test_a_laboratory_result_below_the_limit_overrides_readings_past_it(told, book, at, read, bold):
    readings = [read(STANDS_ON_DAY, "09:00", 24.5), read(STANDS_ON_DAY, "09:20", 24.5)]
    entries, now = [*book(*PLATEAU), *readings], at(STANDS_ON_DAY, "10:30")
    result = LabResult(at=at(STANDS_ON_DAY, "09:30"), fryer="big", tpc_pct=21.0, u_pct=0.5)
    assert told(entries, now, place=bold).verdict.key == "change_before"
    assert told([*entries, result], now, place=bold).verdict.key == "fry_on"


def test_a_laboratory_result_past_the_limit_leads_to_a_change_whatever_was_read(told, book, at, bold):
    result = LabResult(at=at(STANDS_ON_DAY - 1, "09:30"), fryer="big", tpc_pct=24.5)
    verdict = told([*book(*PLATEAU), result], at(STANDS_ON_DAY - 1, "10:00"), place=bold).verdict
    assert verdict.key == "change_before"
    assert verdict.reason == PastLimit(code=Reason.MEAN_PAST, reading_pct=24.5, limit_pct=24)


def test_an_older_laboratory_result_does_not_override_a_later_reading(told, book, at, read, bold):
    entries = [*book(*PLATEAU), read(STANDS_ON_DAY, "09:00", 24.5), read(STANDS_ON_DAY, "09:20", 24.5)]
    entries.append(LabResult(at=at(STANDS_ON_DAY, "08:30"), fryer="big", tpc_pct=23.0, u_pct=1.0))
    assert told(entries, at(STANDS_ON_DAY, "09:30"), place=bold).verdict.key == "change_before"


def test_the_limit_on_polymers_can_decide(told, book, at, kitchen):
    """Germany: 12 % polymers is about 21 % polar compounds in sunflower oil, below its 24 %."""
    place = replace(kitchen, limits=(), jurisdiction="DE")
    verdict = told(book(5, 8, 11, 14, 16, fryer="small"), at(4, "09:30"), fryer="small", place=place).verdict
    assert verdict.key in {"change_before", "change_after"}
    assert verdict.reason.quantity is Quantity.POLYMERS
    polar = replace(kitchen, limits=(replace(kitchen.limits[0], force=Force.GUIDANCE),))
    milder = told(book(5, 8, 11, 14, 16, fryer="small"), at(4, "09:30"), fryer="small", place=polar).verdict
    assert milder.passing_probability < verdict.passing_probability


def test_without_a_meter_the_verdict_runs_on_the_forecast_says_so_and_expires(told, at, kitchen):
    place = replace(kitchen, meters=())
    for day, key in ((1, "fry_on"), (9, "change_before")):
        fine = SensoryNote(at=at(day, "09:00"), fryer="big", spoiled=False)
        filled = Change(at=at(0, "08:00"), fryer="big")
        verdict = told([filled, fine], at(day, "09:30"), place=place).verdict
        assert verdict.key == key
        assert not verdict.reason.metered
        assert verdict.holds_until > at(day, "09:30")


def test_without_a_meter_a_verdict_by_polymers_says_so_too(told, at, kitchen):
    place = replace(kitchen, meters=(), limits=(), jurisdiction="DE")
    change = Change(at=at(0, "08:00"), fryer="small")
    fine = SensoryNote(at=at(12, "09:00"), fryer="small", spoiled=False)
    verdict = told([change, fine], at(12, "09:30"), fryer="small", place=place).verdict
    assert verdict.key == "change_before"
    assert verdict.reason.quantity is Quantity.POLYMERS
    assert not verdict.reason.metered


def test_what_would_change_fry_on_is_a_reading_that_the_card_answers_with_a_change(told, book, at):
    one = told(book(*rising_to(18)), at(8, "09:30"))
    line = next(line for line in one.card.lines if line.key.startswith("change"))
    assert one.verdict.key == "fry_on"
    assert one.verdict.changes_if.reading_pct == line.from_pct


@pytest.mark.parametrize(
    ("draining", "held", "over"),
    [
        (Draining.HAND, ("fish", "gluten"), ("small",)),
        (Draining.HAND, ("fish",), ()),
        (Draining.PUMP, ("fish", "gluten"), ()),
    ],
)
def test_who_takes_the_work_of_a_bath_drained_by_hand_already_holds_its_allergens(
    told, fried_in_batter, draining, held, over
):
    place, entries, now = fried_in_batter(draining, held)
    verdict = told(entries, now, place=place).verdict
    found = tuple(other.fryer for other in verdict.taken_over_by)
    assert (verdict.key, found) == ("change_before", over)


def test_a_later_fine_does_not_clear_spoiled_oil(told, book, at):
    notes = [SensoryNote(at=at(4, hour), fryer="big", spoiled=hour == "09:10") for hour in ("09:10", "09:20")]
    assert told([*book(*SLOW), *notes], at(4, "09:30")).verdict.key == "change_before"


def test_a_fill_never_read_is_measured_before_it_is_thrown_away(told, at):
    verdict = told([Change(at=at(0, "08:00"), fryer="big")], at(5, "09:30")).verdict
    assert verdict.passing_probability > 0.05
    assert verdict.key == "measure_again"


def test_a_fryer_out_of_order_is_not_told_to_fry(told, book, at):
    out = OutOfOrder(at=at(4, "09:10"), fryer="big")
    one = told([*book(*SLOW), out], at(4, "09:30"))
    assert (one.in_use, one.verdict.key) == (False, "measure_again")
    assert len(one.card.lines) == 1


def test_a_change_that_a_low_reading_would_spare_says_which(told, book, at):
    one = told(book(4, 8, 12, 16, 19), at(4, "12:30"))
    assert one.verdict.key in ("change_before", "change_after")
    below = float(one.verdict.changes_if.reading_pct)
    milder = [line for line in one.card.lines if line.to_pct and line.to_pct <= below]
    assert {line.key for line in milder} - {one.verdict.key, "measure_again"}
