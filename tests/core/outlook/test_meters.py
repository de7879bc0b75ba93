"""What is said of a meter: its chart in words, when to check it next, and what its readings are worth."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from kettlewell.book import LabResult
from kettlewell.core import assess
from kettlewell.core.limits import judge_limits
from kettlewell.core.metering.checks import DecisionKey
from kettlewell.core.outlook.meters import charted, meter_reports


@pytest.fixture
def report(checking):
    """Say what there is to be said of the hand meter."""

    def of(entries, now, place=checking, **rest):
        return meter_reports(place, entries, now=now, **rest)[0]

    return of


def days_waited(found, checked_at):
    return (found.next_check.at - checked_at).days


def test_a_meter_never_checked_is_due_now_and_one_without_reference_oil_never(report, kitchen, at):
    now = at(3, "09:00")
    assert report([], now).next_check.at == now
    assert report([], now, place=kitchen).next_check.at is None


def test_a_new_meter_is_checked_again_after_four_weeks_at_most(report, checked, at):
    found = report([checked(0, 0.0)], at(3, "09:00"))
    assert found.last.decision.key is DecisionKey.FIT
    assert days_waited(found, at(0, "08:00")) == 28
    assert found.next_check.why.code == "every"


def test_a_meter_that_may_soon_be_off_is_checked_sooner(report, checked, at):
    found = report([checked(0, 0.35)], at(3, "09:00"))
    assert 7 < days_waited(found, at(0, "08:00")) < 28
    assert found.next_check.why.code == "sooner"


def test_a_meter_found_fit_near_what_is_permissible_is_checked_again_in_a_week(report, checked, at):
    found = report([checked(0, 0.6)], at(3, "09:00"))
    assert found.last.decision.key is DecisionKey.FIT
    assert days_waited(found, at(0, "08:00")) == 7


def test_a_steady_meter_earns_a_longer_wait_and_a_wandering_one_loses_it(report, checked, at):
    now = at(210, "09:00")
    steady, wild = (
        report([checked(28 * n, off) for n, off in enumerate(offs)], now)
        for offs in ([0.0] * 8, [0.0, 0.7, -0.7, 0.7, -0.7, 0.7, -0.7, 0.0])
    )
    last = at(196, "08:00")
    assert days_waited(steady, last) > 28 > days_waited(wild, last)


def test_failed_checks_in_the_past_shorten_the_wait(report, checked, at):
    """Two of nine were failed, then put right; since then it hardly moved."""
    entries = []
    for n, off in enumerate([0.0, 1.6, 1.6, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]):
        entries.append(checked(28 * n, off))
        if off:
            entries.append(replace(checked(28 * n, 0.0, adjusted=True), at=at(28 * n, "08:30")))
    found = report(entries, at(230, "09:00"))
    assert 7 < days_waited(found, at(224, "08:00")) < 28
    assert (found.next_check.why.passed, found.next_check.why.checks) == (7, 9)


@pytest.mark.parametrize(("off", "said"), [(2.5, "adjust"), (0.9, "repeat"), (6.0, "out")])
def test_after_a_check_that_did_not_end_well_the_next_is_due_at_once_and_says_what_to_do(
    report, checked, at, off, said
):
    readings = {"readings_pct": (10.0 + off,)} if off == 0.9 else {}
    found = report([replace(checked(0, off), **readings)], at(3, "09:00"))
    assert found.next_check.at == at(0, "08:00")
    assert found.next_check.why.code == said


def test_a_sudden_change_and_a_creeping_one_are_told_in_words(report, checked, at):
    steady = [checked(28 * n, 0.0) for n in range(4)]
    sudden = report([*steady, checked(112, 2.0)], at(113, "09:00"))
    assert (sudden.last.signals[0].kind, sudden.last.signals[0].direction) == ("individual", "up")
    creeping = report(
        [*steady, *(checked(112 + 28 * n, off) for n, off in enumerate((-0.7, -0.9, -1.0)))],
        at(170, "09:00"),
    )
    assert ("ewma", "down") in [(signal.kind, signal.direction) for signal in creeping.last.signals]


def test_a_chart_begins_anew_after_an_adjustment_and_in_another_bottle(report, checked, at):
    left = replace(checked(28, 0.1, adjusted=True), at=at(28, "08:30"))
    entries = [checked(0, 0.0), checked(28, 2.0), left, checked(56, 0.0), checked(84, 0.0, lot="R2")]
    assert [one.run for one in report(entries, at(90, "09:00")).checks] == [0, 0, 1, 1, 2]


def test_a_bottle_whose_value_is_a_little_off_is_no_sign_of_a_change(checking, checked):
    """500 steady meters, 12 checks each in a lot off by its uncertainty of 0.25: at most 5 % signal."""
    lot = replace(checking.reference_lots[0], expanded_u_pct=0.5)
    place, rng = replace(checking, reference_lots=(lot,)), np.random.default_rng(41)
    errors = rng.normal(0, lot.u_pct, (500, 1, 1)) + rng.normal(0, 0.5, (500, 12, 3))
    runs = (
        [
            replace(checked(28 * n, 0.0), readings_pct=tuple(np.round(2 * (10 + three)) / 2))
            for n, three in enumerate(run)
        ]
        for run in errors
    )
    signalled = [any(one.signals for one in charted(place, run)) for run in runs]
    assert np.mean(signalled) <= 0.05


def test_a_drift_is_mostly_signalled_by_the_second_check_also_in_a_bottle_a_little_off(checking, checked):
    """1.5 points in 60 days from a check on; 500 meters, a lot off by its uncertainty of 0.25.

    Where the value is known well, nine in ten are signalled (test_charts): what a bottle may be
    off by cannot be told from a drift at first.
    """
    lot = replace(checking.reference_lots[0], expanded_u_pct=0.5)
    place, rng = replace(checking, reference_lots=(lot,)), np.random.default_rng(42)
    drift_pct = np.clip(28 * (np.arange(6) - 3), 0, None) * 1.5 / 60
    errors = rng.normal(0, lot.u_pct, (500, 1, 1)) + rng.normal(0, 0.5, (500, 6, 3))
    errors += drift_pct[:, None]
    signalled = []
    for run in errors:
        checks = [
            replace(checked(28 * n, 0.0), readings_pct=tuple(np.round(2 * (10 + three)) / 2))
            for n, three in enumerate(run)
        ]
        signalled.append(any(one.signals for one in charted(place, checks)[4:]))
    assert np.mean(signalled) >= 0.8


def test_a_second_reading_raises_the_acceptance_limit_and_a_laboratory_result_more(report, book, at):
    entries, now = book(4, 8, 12, 16, 20), at(4, "10:00")
    result = LabResult(at=at(4, "09:10"), fryer="big", tpc_pct=20.5, u_pct=0.3)
    one, two = report(entries, now).oils[0].accepted
    after, _ = report([*entries, result], now).oils[0].accepted
    assert one.accept_pct < two.accept_pct < after.accept_pct
    assert two.u_pct < one.u_pct


def test_oil_read_at_the_acceptance_limit_passes_the_limit_at_the_accepted_risk(report, at):
    """By drawing offset, gain and noise as they are believed (JCGM 106, guarded acceptance)."""
    oil = report([], at(0, "09:00")).oils[0]
    rng = np.random.default_rng(6)
    n = 400_000
    gain = rng.normal(oil.gain, oil.gain_sd, n)
    offset = rng.normal(oil.offset_pct, oil.offset_sd_pct, n)
    noise = rng.normal(0, np.sqrt(0.25 + 0.25 / 12), n)
    tpc = (oil.accepted[0].accept_pct - offset - noise) / gain
    assert (tpc > oil.limit_pct).mean() == pytest.approx(0.05, abs=0.003)


def test_a_kitchens_own_risks_wait_for_ten_readings_and_grow_with_oil_near_the_limit(report, read, at):
    now = at(30, "09:00")
    young, old = ([read(day, "09:00", start + day % 5) for day in range(12)] for start in (6.0, 19.0))
    few = report([], now, lately=young[:9]).oils[0].accepted[0]
    assert (few.consumer, few.producer) == (None, None)
    low, high = (report([], now, lately=shown).oils[0].accepted[0] for shown in (young, old))
    assert low.producer < 0.01 < high.producer


def test_a_sample_is_worth_less_once_one_was_taken(report, checking, book, at):
    place = replace(checking, laboratory_price=Decimal(40))
    entries, now = book(4, 8, 12), at(2, "10:00")
    before = report(entries, now, place=place).oils[0].sample
    assert before.services_more > 0.2
    assert before.gain_sd_after < before.gain_sd
    assert before.fryer == "big"
    result = LabResult(at=at(2, "09:10"), fryer="big", tpc_pct=12.5, u_pct=0.3)
    after = report([*entries, result], now, place=place).oils[0].sample
    assert after is None or after.services_more < before.services_more


def test_a_sample_pays_for_itself_when_the_oil_saved_is_worth_its_price(report, checking, book, at):
    dear = tuple(replace(oil, price_per_kg=Decimal("9.5")) for oil in checking.oils)
    entries, now = book(4, 8, 12), at(2, "10:00")

    def sample(**changes):
        return report(entries, now, place=replace(checking, **changes)).oils[0].sample

    assert sample(laboratory_price=Decimal(40)).saved is None
    assert sample(oils=dear).pays_after_days is None
    found = sample(oils=dear, laboratory_price=Decimal(40))
    assert found.saved == pytest.approx(Decimal("9.5") * Decimal(str(found.saved_kg)), abs=Decimal("0.1"))
    assert found.pays_after_days == int(91 * Decimal(40) / found.saved) + 1
    assert sample(oils=dear, laboratory_price=Decimal(4000)).pays_after_days is None


def test_where_the_limit_itself_is_uncertain_less_is_accepted(report, checking, at):
    """A limit on polymers stands for so much TPC, give or take."""
    sunflower = replace(checking.fryers[0], key="sun", oil="sun")
    (tpc,) = checking.limits
    polymers = replace(tpc, quantity="polymerised triglycerides", value=12.0, unit="% m/m", unfit_when=">")
    place = replace(checking, fryers=(sunflower,), limits=(polymers,))
    oil = report([], at(0, "09:00"), place=place).oils[0]
    (limit,) = judge_limits(place, sunflower).oil
    exact = report([], at(0, "09:00"), place=replace(place, limits=(replace(tpc, value=limit.tpc_pct),)))
    below, all_in = (
        one.offset_pct + one.gain * one.limit_pct - one.accepted[0].accept_pct for one in (exact.oils[0], oil)
    )
    assert all_in == pytest.approx(np.hypot(below, 1.645 * oil.gain * limit.tpc_u_pct), rel=1e-3)


def test_a_kitchens_spread_of_oil_is_taken_from_the_meters_own_readings(checking, read, at):
    place = replace(checking, meters=(*checking.meters, replace(checking.meters[0], key="lent")))
    lately = [read(day, "09:00", 19.0 + day % 5, meter="lent") for day in range(12)]
    hand, lent = meter_reports(place, [], now=at(30, "09:00"), lately=lately)
    assert hand.oils[0].accepted[0].producer is None
    assert lent.oils[0].accepted[0].producer is not None


def test_the_oil_saved_by_a_sample_is_that_of_the_fills_not_begun_in_a_quarter(report, checking, book, at):
    """A fill of 20 kg, filled 50 hours ago, two services a day, until the risk of 5 % is reached."""
    entries, now = book(4, 8, 12), at(2, "10:00")
    found = report(entries, now).oils[0].sample
    big = next(one for one in assess(checking, entries, now=now) if one.fryer == found.fryer)
    passing = [service.passing_probability for service in big.forecast]
    last = next(n for n, chance in enumerate(passing) if chance > 0.05)
    left = last + (0.05 - passing[last - 1]) / (passing[last] - passing[last - 1])
    life = 2 * 50 / 24 + left
    fewer = 91 * 2 / life - 91 * 2 / (life + found.services_more)
    assert found.saved_kg == pytest.approx(20 * fewer)
