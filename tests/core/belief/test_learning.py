"""What readings and laboratory results teach of rates, bends, oils and the meter."""

from dataclasses import replace

import numpy as np
import pytest

from kettlewell.book import Change, LabResult, Load, Reading
from kettlewell.core import assess
from kettlewell.core.ageing import advance
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.joint import BEND
from kettlewell.core.belief.layout import Layout
from kettlewell.core.belief.walk import walk_to

HOURS_A_SERVICE = 3.3  # three hours and a heating-up

GAIN, OFFSET = Layout(oils=1).gains.start, Layout(oils=1).offsets(0).start


@pytest.fixture
def believed(kitchen):
    """Give the belief after a book."""
    return lambda entries, now: walk_to(kitchen, entries, now=now).state.belief


@pytest.fixture
def twins(kitchen, at):
    """Say what is assessed of a kitchen with a ``twin`` of ``big`` that was filled today and never read."""
    big, small = kitchen.fryers
    place = replace(kitchen, fryers=(big, replace(big, key="twin"), small))
    place = replace(place, services=tuple(replace(service, fryers=()) for service in place.services))

    def about(entries, day):
        entries = [*entries, Change(at=at(day, "08:00"), fryer="twin")]
        return {one.fryer: one for one in assess(place, entries, now=at(day, "09:30"))}

    return about


@pytest.mark.parametrize("readings", [(4, 9, 14, 19), (4, 5.5, 7, 8.5)], ids=["fast", "slow"])
def test_a_new_fryer_borrows_from_its_siblings(twins, book, readings):
    """Partial pooling: its rate moves towards the sibling's, not all the way, and is surer than before."""
    before = twins([], 3)["twin"]
    after = twins(book(*readings), 3)
    rates = [before.rate_pct_per_h, after["twin"].rate_pct_per_h, after["big"].rate_pct_per_h]
    assert rates in (sorted(rates), sorted(rates, reverse=True))
    assert 0.2 < (rates[1] - rates[0]) / (rates[2] - rates[0]) < 0.9
    assert after["big"].rate_sd_pct_per_h < after["twin"].rate_sd_pct_per_h < before.rate_sd_pct_per_h


def bent(at, curvature, *, days=8, fills=3):
    """Return laboratory results of fills that age along a curve, and the time after them."""
    entries = []
    for fill in range(fills):
        tpc_pct, first = 4.0, fill * days
        entries.append(Change(at=at(first, "08:00"), fryer="big"))
        for day in range(first, first + days):
            entries.append(LabResult(at=at(day, "09:00"), fryer="big", tpc_pct=float(tpc_pct), u_pct=0.2))
            for clock in ("13:50", "19:50"):
                entries.append(Load(at=at(day, clock), fryer="big", product="dry", mass_kg=20.0))
                work = {"hot_h": HOURS_A_SERVICE, "turnover": 0.01, "curvature": curvature}
                tpc_pct = advance(tpc_pct, 0.35, fresh_tpc_pct=4.0, **work)
    return entries, at(fills * days - 1, "09:30")


@pytest.mark.parametrize("curvature", [-0.7, 0.7])
def test_whether_a_fryer_ages_slower_or_faster_as_it_ages_is_learnt(believed, at, curvature):
    bend = believed(*bent(at, curvature)).own_mean()[0, 0, BEND]
    straight = believed(*bent(at, 0.0)).own_mean()[0, 0, BEND]
    learnt_part = (bend - straight) / (0.35 * curvature / 20)
    assert 0.4 < learnt_part < 1.6
    assert abs(straight) < abs(bend)


def test_a_fresh_value_that_differs_by_supplier_is_learnt_and_kept_for_the_next_fill(told, at):
    entries = []
    for fill in range(4):
        entries.append(Change(at=at(2 * fill, "08:00"), fryer="big", delivery="May"))
        entries.append(LabResult(at=at(2 * fill, "08:10"), fryer="big", tpc_pct=5.5, u_pct=0.2))
    one = told([*entries, Change(at=at(8, "08:00"), fryer="big")], at(8, "08:30"))
    assert one.fresh_tpc_pct == pytest.approx(5.5, abs=0.4)
    assert one.tpc_mean_pct == pytest.approx(one.fresh_tpc_pct, abs=0.05)
    other = told(entries, at(8, "08:30"), fryer="small")
    assert other.fresh_tpc_pct == pytest.approx(5, abs=0.1)


def test_fresh_readings_that_stand_high_are_shared_between_the_oil_and_the_meter(told, believed, at, read):
    entries = []
    for fill in range(4):
        entries += [Change(at=at(2 * fill, "08:00"), fryer="big"), read(2 * fill, "08:10", 6.0)]
    offset = believed(entries, at(6, "09:00")).shared[0, OFFSET]
    fresh_pct = told(entries, at(6, "09:00")).fresh_tpc_pct
    assert 0.3 < offset < 2.0
    assert 4.1 < fresh_pct < 5.9


def test_a_laboratory_result_narrows_gain_and_offset(believed, book, at):
    entries, now = book(4, 8, 12, 16, 20), at(4, "10:00")
    result = LabResult(at=at(4, "09:10"), fryer="big", tpc_pct=20.5, u_pct=0.3)
    before, after = (believed(book_, now).shared_cov[0] for book_ in (entries, [*entries, result]))
    assert after[GAIN, GAIN] < 0.5 * before[GAIN, GAIN]
    assert after[OFFSET, OFFSET] < before[OFFSET, OFFSET]


@pytest.mark.parametrize(("tpc_pct", "moves"), [(23.0, -1), (18.5, 1)])
def test_a_laboratory_result_moves_the_gain_to_where_the_meter_stands(believed, book, at, tpc_pct, moves):
    entries, now = book(4, 8, 12, 16, 20), at(4, "10:00")
    result = LabResult(at=at(4, "09:10"), fryer="big", tpc_pct=tpc_pct, u_pct=0.3)
    before, after = (believed(book_, now).shared[0, GAIN] for book_ in (entries, [*entries, result]))
    assert moves * (after - before) > 0.02


def test_a_steeper_second_week_teaches_no_gain(believed, read, at):
    """Two readings of each bath: extrapolated to fresh oil they lie far below what the oil could be."""
    entries = [
        read(day, "09:00", pct, fryer=f) for day, pct in ((7, 9.5), (14, 19.5)) for f in ("big", "small")
    ]
    entries += [Change(at=at(0, "08:00"), fryer=fryer) for fryer in ("big", "small")]
    taught, untaught = (believed(book, at(14, "09:30")) for book in (entries, []))
    assert taught.shared[0, GAIN] == pytest.approx(untaught.shared[0, GAIN], abs=1e-9)
    assert taught.shared_cov[0, GAIN, GAIN] == pytest.approx(untaught.shared_cov[0, GAIN, GAIN], rel=1e-9)


def test_a_reading_beside_a_laboratory_result_teaches_the_gain_in_either_order(believed, book, read, at):
    """What the meter shows of the oil in the bottle is what the result is held against."""
    entries, untaught = (
        [entry for entry in book(4) if not isinstance(entry, Reading)],
        believed([], at(4, "10:00")),
    )
    entries.append(LabResult(at=at(4, "09:10"), fryer="big", tpc_pct=20.0, u_pct=0.3))
    before, after = (
        believed([*entries, read(4, clock, 17.0)], at(4, "10:00")) for clock in ("09:00", "09:20")
    )
    for belief in (before, after):
        assert belief.shared[0, GAIN] < untaught.shared[0, GAIN] - 0.02
        assert belief.shared_cov[0, GAIN, GAIN] < 0.8 * untaught.shared_cov[0, GAIN, GAIN]


def test_a_reading_by_another_meter_moves_the_book_less_and_still_teaches(told, kitchen, book, read, at):
    place = replace(kitchen, meters=(*kitchen.meters, replace(kitchen.meters[0], key="lent")))
    entries, now = book(4, 7, 10), at(3, "09:30")
    own, lent = (
        told([*entries, read(3, "09:00", 14, meter=key)], now, place=place) for key in ("hand", "lent")
    )
    none = told(entries, now, place=place)
    assert none.tpc_mean_pct < lent.tpc_mean_pct < own.tpc_mean_pct
    assert max(own.tpc_sd_pct, lent.tpc_sd_pct) < none.tpc_sd_pct


def sampled(believed, book, at, *results, u_pct=None):
    """Return the belief once the laboratory measured oil that the meter reads as 20 %, so often."""
    entries = book(4, 8, 12, 16, 20)
    for n, tpc_pct in enumerate(results):
        entries.append(LabResult(at=at(4, f"09:1{n}"), fryer="big", tpc_pct=tpc_pct, u_pct=u_pct))
    return believed(entries, at(4, "10:00"))


@pytest.mark.parametrize("tpc_pct", [3.0, 8.0, 40.0, 80.0])
def test_one_result_that_surprises_teaches_the_gain_no_more_than_its_outliers_allow(
    believed, book, at, tpc_pct
):
    """A bottle of another fryer, a slip of the pen: the gain moves by less than its standard deviation."""
    untaught, after = (sampled(believed, book, at, *results) for results in ((), (tpc_pct,)))
    moved = abs(after.shared[0, GAIN] - untaught.shared[0, GAIN])
    assert moved < np.sqrt(untaught.shared_cov[0, GAIN, GAIN])
    assert after.shared_cov[0, GAIN, GAIN] > 0.7 * untaught.shared_cov[0, GAIN, GAIN]


def test_the_bias_of_one_laboratory_is_common_to_all_its_samples(believed, book, at):
    """However many: the gain is never known better than the laboratory is."""
    few, many = (sampled(believed, book, at, *[20.0] * n) for n in (1, 9))
    known = PACKAGED.laboratory.sd * np.sqrt(PACKAGED.laboratory_bias_share.value)
    sd = np.sqrt(many.shared_cov[0, GAIN, GAIN])
    assert sd < np.sqrt(few.shared_cov[0, GAIN, GAIN])
    assert sd > 0.75 * known
