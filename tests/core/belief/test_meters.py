"""What the day book teaches of a kitchen's meters."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from states import traced

from kettlewell.book import Adopted, Change, LabResult, MeterOut, history_of
from kettlewell.core import assess
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.meters import NoiseLog
from kettlewell.core.belief.response import response_of
from kettlewell.core.belief.smoother import restated
from kettlewell.core.belief.walk import walk_to
from kettlewell.core.metering.pairs import side_by_side
from kettlewell.core.outlook.values import VerdictKey

LABORATORY_SD = PACKAGED.laboratory.sd * PACKAGED.laboratory_common  # of its bias, by the result


@pytest.fixture
def walk(checking):
    """Walk the kitchen's entries up to a time."""

    def to(entries, now, place=checking):
        return walk_to(place, entries, now=now).state

    return to


def shared(walk, place):
    """Return mean and standard deviation of a shared value."""
    return walk.belief.shared[0, place], np.sqrt(walk.belief.shared_cov[0, place, place])


@pytest.fixture
def offset(walk):
    """Tell what is believed of the meter's offset in rapeseed oil."""

    def of(entries, now):
        walked = walk(entries, now)
        return shared(walked, walked.belief.layout.offsets(0).start)

    return of


def test_a_check_teaches_the_electronics_and_leaves_the_gain_alone(walk, checked, at):
    before, after = walk([], at(1, "09:00")), walk([checked(0, 0.8)], at(1, "09:00"))
    layout = after.belief.layout
    assert shared(after, layout.found(0))[0] == pytest.approx(0.8, abs=0.2)
    assert shared(after, layout.offsets(0).start)[0] > 0.2
    assert shared(after, layout.offsets(0).start)[1] < 0.9 * shared(before, layout.offsets(0).start)[1]
    assert shared(after, layout.gains.start) == pytest.approx(shared(before, layout.gains.start), abs=1e-9)


def test_however_many_checks_leave_unknown_how_the_meter_takes_hot_oil(offset, checked, at):
    """Half of the offset's variance is not the electronics'."""
    _, sd = offset([checked(day, 0.0) for day in range(0, 60, 2)], at(60, "09:00"))
    assert sd > 0.8 * np.sqrt(0.5)


def test_an_unchecked_meter_grows_doubtful_with_time(offset, checked, at):
    """It drifts, learnt from its checks, by the next reading's day."""
    entries = [checked(0, 0.0)]
    late = LabResult(at=at(80, "09:00"), fryer="small", tpc_pct=5.0)
    (_, fresh), (_, old) = (
        offset(entries, at(0, "09:00")),
        offset([*entries, late], at(80, "10:00")),
    )
    assert old > fresh


def test_a_meter_that_walks_far_between_checks_is_taken_to_walk_faster(walk, checked, at):
    steady, wild = (
        walk([checked(28 * n, off) for n, off in enumerate(offs)], at(100, "09:00")).drifting.walk_var[0, 0]
        for offs in ((0.0, 0.0, 0.0, 0.0), (0.0, 0.9, -0.8, 0.9))
    )
    assert wild > 4 * steady


def test_an_adjustment_takes_away_what_the_electronics_read_too_much_and_keeps_the_rest(offset, checked, at):
    found, left = checked(10, 1.8), replace(checked(10, 0.0, adjusted=True), at=at(10, "08:20"))
    before, _ = offset([found], at(10, "09:00"))
    after, _ = offset([found, left], at(10, "09:00"))
    assert before - after == pytest.approx(1.4, abs=0.2)


def test_what_was_read_before_an_adjustment_still_says_how_old_the_oil_is(checking, checked, read, at):
    """A meter 1.8 high is found and put right: the oil it read is no older for that."""
    entries = [Change(at=at(0, "07:00"), fryer="big"), checked(0, 1.8)]
    entries += [read(day, "09:00", 6.0 + 1.5 * day) for day in range(5)]
    left = replace(checked(4, 0.0, adjusted=True), at=at(4, "10:00"))
    plain, adjusted = (
        assess(checking, book, now=at(4, "10:30"), of=["big"])[0] for book in (entries, [*entries, left])
    )
    assert adjusted.tpc_mean_pct == pytest.approx(plain.tpc_mean_pct, abs=0.05)
    assert adjusted.tpc_sd_pct == pytest.approx(plain.tpc_sd_pct, abs=0.05)


def test_a_reading_after_an_adjustment_is_taken_with_the_new_offset(checking, checked, read, at):
    """The same reading stands for older oil once the meter no longer reads too high."""
    entries = [Change(at=at(0, "07:00"), fryer="big"), checked(0, 1.8)]
    left = replace(checked(0, 0.0, adjusted=True), at=at(0, "08:20"))
    readings = [read(day, "09:00", 6.0 + 1.5 * day) for day in range(5)]
    high, right = (
        assess(checking, [*book, *readings], now=at(4, "09:30"), of=["big"])[0].tpc_mean_pct
        for book in (entries, [*entries, left])
    )
    assert right > high + 0.3


def test_a_new_bottle_brings_the_doubt_of_its_own_value(walk, checked, at):
    """The meter's deviation in it is known by its own readings again, as at first."""
    entries = [checked(day, 0.0) for day in range(0, 28, 7)]
    same, other = (walk([*entries, checked(28, 0.0, lot=lot)], at(28, "09:00")) for lot in ("R1", "R2"))
    found = same.belief.layout.found(0)
    assert shared(other, found)[1] > shared(same, found)[1]


def test_an_odd_check_does_not_carry_the_meter_away(offset, checked, at):
    """Six points off may be a wrong bottle: it moves by a part, and a good one takes that back."""
    steady = [checked(day, 0.0) for day in (0, 7, 14)]
    assert 0 < offset([*steady, checked(21, 6.0)], at(21, "09:00"))[0] < 2.0
    assert offset([*steady, checked(21, 6.0), checked(22, 0.0)], at(22, "09:00"))[0] < 1.0


@pytest.mark.parametrize("checks", [1, 2, 3])
def test_checks_that_agree_bear_each_other_out(offset, checked, at, checks):
    """Four points too little in three readings each moves the belief by more than two points too little."""
    steady = [checked(day, 0.0) for day in (0, 7, 14)]
    found = [
        offset([*steady, *(checked(20 + n, pct) for n in range(checks))], at(23, "09:00"))[0]
        for pct in (-1.0, -2.0, -4.0, -8.0)
    ]
    assert found == sorted(found, reverse=True)
    assert len(set(found)) == len(found)
    if checks == 3:
        assert found[2] < -1.5


def test_a_laboratory_sample_near_the_limit_teaches_the_gain_of_its_oil_and_something_of_others(
    walk, book, at
):
    entries, now = book(4, 8, 12, 16, 20), at(4, "10:00")
    result = LabResult(at=at(4, "09:10"), fryer="big", tpc_pct=20.5, u_pct=0.3)
    before, after = walk(entries, now), walk([*entries, result], now)
    rape, sun = (before.belief.layout.gains.start + oil for oil in (0, 1))
    narrowed = [shared(after, oil)[1] / shared(before, oil)[1] for oil in (rape, sun)]
    assert narrowed[0] < 0.7
    assert narrowed[0] < narrowed[1] < 0.95


def test_a_comparison_taken_over_sets_offset_and_gain(walk, book, at):
    taken = Adopted(
        at=at(5, "12:00"),
        meter="hand",
        oil="rape",
        offset_pct=1.5,
        offset_u_pct=0.3,
        gain=0.9,
        gain_u=0.015,
        correlation=-0.9,
    )
    walked = walk([*book(4, 8, 12, 16), taken], at(5, "13:00"))
    layout = walked.belief.layout
    gain, sd = shared(walked, layout.gains.start)
    assert gain == pytest.approx(0.9, abs=0.01)
    assert 0.015 < sd < np.hypot(0.015, LABORATORY_SD)
    assert shared(walked, layout.offsets(0).start) == pytest.approx((1.5, 0.3))


def test_a_second_meter_is_learnt_beside_the_first(checking, walk, checked, read, at):
    """Both read the same oil each day, the second 1.5 points more."""
    place = replace(checking, meters=(*checking.meters, replace(checking.meters[0], key="lent")))
    entries = [Change(at=at(0, "07:00"), fryer="big"), checked(0, 0.0)]
    for day in range(12):
        entries += [read(day, "09:00", 5.0 + day), read(day, "09:05", 6.5 + day, meter="lent")]
    walked = walk(entries, at(12, "09:00"), place)
    layout = walked.belief.layout
    first, second = (shared(walked, layout.offsets(meter).start)[0] for meter in (0, 1))
    level_pct = 10.0
    apart_pct = second + (shared(walked, layout.ratio(1))[0] - 1) * level_pct - first
    assert apart_pct == pytest.approx(1.5, abs=0.2)


def test_with_its_meter_out_of_use_a_kitchen_goes_by_the_book_and_the_senses(checking, book, at):
    out = MeterOut(at=at(4, "09:30"), meter="hand")
    back = MeterOut(at=at(4, "09:40"), meter="hand", back=True)
    entries, now = book(4, 6, 8, 10, 12), at(4, "10:00")
    with_it, without, again = (
        assess(checking, [*entries, *acts], now=now, of=["big"])[0] for acts in ((), (out,), (out, back))
    )
    assert (with_it.metered, without.metered, again.metered) == (True, False, True)
    assert not without.verdict.reason.metered
    assert without.verdict.key is VerdictKey.FRY_ON
    assert len(without.card.lines) == 1
    assert again.verdict == with_it.verdict


def test_the_card_is_made_for_the_meter_in_use(checking, book, at):
    """The second meter reads finer, and its card in steps of a tenth."""
    fine = replace(checking.meters[0], key="fine", resolution_pct=0.1)
    place = replace(checking, meters=(*checking.meters, fine))
    out = MeterOut(at=at(4, "09:30"), meter="hand")
    card = assess(place, [*book(4, 7, 11, 15, 18), out], now=at(4, "10:00"), of=["big"])[0].card
    assert any(line.from_pct % 0.5 > 0.01 for line in card.lines if line.from_pct)


def test_checks_in_one_service_are_taken_in_their_order(checking, walk, checked, read, at):
    """A reading between as found and as left is read with the meter as it was found."""
    found = checked(3, 1.8)
    left = replace(checked(3, 0.0, adjusted=True), at=at(3, "10:00"))
    entries = [Change(at=at(0, "07:00"), fryer="big"), *(read(day, "09:00", 6.0 + day) for day in range(4))]
    walked = walk([*entries, found, left], at(3, "10:00") + timedelta(minutes=5))
    layout = walked.belief.layout
    assert shared(walked, layout.found(0))[0] == pytest.approx(0.0, abs=0.15)
    assert shared(walked, layout.before)[0] > 1.0


def test_the_past_is_told_alike_before_and_after_the_entry_that_adjusts_a_meter(checking, checked, read, at):
    """In a step without a measurement the level is the same before and after, told as of today."""
    left = replace(checked(3, 0.0, adjusted=True), at=at(3, "08:30"))
    entries = [Change(at=at(0, "07:00"), fryer="big"), checked(3, 1.8), left]
    entries += [read(day, "09:00", 6.0 + 1.5 * day) for day in range(6)]
    walked, tracer = traced(checking, entries, now=at(6, "09:00"))
    adjusting = next(
        n for n, moment in enumerate(tracer.moments) if moment.noise_after.adjusted != moment.noise.adjusted
    )
    moment = restated(tracer.moments, tracer.noise)[adjusting]
    before, after = (
        one.base[0, 0] + one.sensitivity[0, 0] @ walked.state.belief.shared[0]
        for one in (moment.aged, moment.measured)
    )
    np.testing.assert_allclose(before, after, atol=1e-3)


@pytest.mark.parametrize("vague", ["R1", "R2"], ids=["old bottle", "new bottle"])
def test_another_bottle_brings_the_doubt_of_both_bottles_values(checking, walk, checked, at, vague):
    """The deviations in both are of one meter, and each is wrong by its own bottle's error."""

    def found_sd(of_vague):
        us = {lot.key: of_vague if lot.key == vague else 0.2 for lot in checking.reference_lots}
        lots = tuple(replace(lot, expanded_u_pct=us[lot.key]) for lot in checking.reference_lots)
        entries = [checked(day, 0.0) for day in range(0, 28, 7)]
        walked = walk(
            [*entries, checked(28, 0.0, lot="R2")], at(28, "09:00"), replace(checking, reference_lots=lots)
        )
        return shared(walked, walked.belief.layout.found(0))[1]

    assert found_sd(3.0) > 1.05 * found_sd(0.2)


def with_meters(kitchen, *keys):
    """Return a kitchen with these meters, all alike."""
    return replace(kitchen, meters=tuple(replace(kitchen.meters[0], key=key) for key in keys))


def gain_sd(belief, meter):
    """Return mean and standard deviation of what a meter shows for a point of TPC in rapeseed oil."""
    response = response_of(belief, meter, 0)
    along = response.by_gain[0]
    return response.gain[0], np.sqrt(along @ belief.shared_cov[0] @ along)


@pytest.mark.parametrize("meters", [1, 2, 3, 5])
def test_a_meter_is_believed_alike_whether_it_is_alone_or_among_others(checking, walk, at, meters):
    """The scale is the mean of those the kitchen began with; what is known of each does not rest on that."""
    alone = gain_sd(walk([], at(0, "09:00")).belief, 0)
    among = walk([], at(0, "09:00"), with_meters(checking, *"abcde"[:meters])).belief
    for meter in range(meters):
        assert gain_sd(among, meter) == pytest.approx(alone, rel=0.02)


def test_a_meter_that_came_later_is_believed_as_one_the_kitchen_began_with(checking, walk, at):
    first, both = with_meters(checking, "hand"), with_meters(checking, "hand", "lent")
    now = at(2, "09:00")
    came = walk([Change(at=at(0, "07:00"), fryer="big")], now, history_of(first).then(both, at(1, "08:00")))
    ever = walk([Change(at=at(0, "07:00"), fryer="big")], now, both)
    assert came.belief.layout.scale_meters == 1 < ever.belief.layout.scale_meters
    for meter in (0, 1):
        assert gain_sd(came.belief, meter) == pytest.approx(gain_sd(ever.belief, meter), rel=0.01)


def compared(at, meter, against, gain=0.9, offset_pct=1.5):
    """Return a comparison taken over."""
    return Adopted(
        at=at(5, "12:00"),
        meter=meter,
        against=against,
        oil="rape",
        offset_pct=offset_pct,
        offset_u_pct=0.3,
        gain=gain,
        gain_u=0.015,
        correlation=-0.9,
    )


@pytest.mark.parametrize(("meter", "against"), [(0, 1), (1, 0)])
def test_a_comparison_with_another_meter_taken_over_sets_how_the_two_read_beside_each_other(
    checking, walk, book, at, meter, against
):
    """As exactly as it was compared, though the other one is known to read points too much."""
    place, keys = with_meters(checking, "hand", "lent"), ("hand", "lent")
    entries = [*book(4, 8, 12, 16), LabResult(at=at(3, "09:10"), fryer="big", tpc_pct=15.0)]
    off = compared(at, keys[against], None, gain=0.95, offset_pct=4.0)
    entries += [replace(off, at=at(4, "12:00")), compared(at, keys[meter], keys[against])]
    belief = walk(entries, at(5, "13:00"), place).belief
    mine, other = (response_of(belief, n, 0) for n in (meter, against))
    gain = (mine.ratio / other.ratio)[0]
    assert gain == pytest.approx(0.9, abs=0.015)  # straight about what was believed, within its u
    for shown_pct in (5.0, 15.0, 25.0):
        tpc_pct = ((shown_pct - other.offset_pct) / other.gain)[0]
        assert mine.offset_pct[0] + mine.gain[0] * tpc_pct == pytest.approx(1.5 + 0.9 * shown_pct, abs=0.16)
        along = mine.at(tpc_pct)[0] - gain * other.at(tpc_pct)[0]
        sd = np.sqrt(along @ belief.shared_cov[0] @ along)
        compared_sd = np.sqrt(0.3**2 + 2 * -0.9 * 0.3 * 0.015 * shown_pct + (0.015 * shown_pct) ** 2)
        assert sd == pytest.approx(compared_sd, rel=0.1)


def test_what_one_meter_learns_from_the_laboratory_the_other_learns_through_their_comparison(
    checking, walk, book, at
):
    """Either may be the one that is compared with the laboratory."""
    place = with_meters(checking, "hand", "lent")
    known = compared(at, "lent", None, gain=0.95, offset_pct=0.5)
    without, with_it = (
        walk([*book(4, 8), *taken], at(5, "13:00"), place).belief
        for taken in ([compared(at, "hand", "lent")], [compared(at, "hand", "lent"), known])
    )
    assert gain_sd(with_it, 1)[0] == pytest.approx(0.95, rel=0.02)
    assert gain_sd(with_it, 1)[1] < np.hypot(0.015, LABORATORY_SD)
    assert gain_sd(with_it, 0)[1] < 0.6 * gain_sd(without, 0)[1]
    assert gain_sd(with_it, 0)[0] == pytest.approx(0.9 * gain_sd(with_it, 1)[0], rel=0.02)


def test_a_second_check_that_finds_the_same_moves_the_meter_no_further_than_that(offset, checked, at):
    """Found 1.5 points too high, and a day later again."""
    once, twice = (offset([checked(day, 1.5) for day in days], at(3, "09:00")) for days in ([1], [1, 2]))
    assert 0 < once[0] <= twice[0] < 1.6


@pytest.fixture
def forty(read, at):
    """A meter beside the laboratory on forty days, from fresh oil to near the limit."""
    pairs = []
    for day in range(40):
        tpc_pct = 4.0 + day % 10 * 2.0
        if not day % 10:
            pairs.append(Change(at=at(day, "08:30"), fryer="big"))
        pairs.append(read(day, "09:00", 0.5 + 0.95 * tpc_pct))
        pairs.append(LabResult(at=at(day, "09:10"), fryer="big", tpc_pct=tpc_pct))
    return pairs


def test_a_comparison_tells_the_gain_no_better_than_its_laboratory_is_known(checking, walk, forty, at):
    """However many pairs: what all results of one laboratory have in common is in the line, too."""
    side = side_by_side(checking, forty, meter="hand", against=None, oil="rape")
    taken = side.adopted(at(40, "12:00"))
    assert len(side.pairs) == 40
    assert taken.gain_u < 0.5 * LABORATORY_SD
    for entries in ([taken], [*forty, taken]):
        gain, sd = gain_sd(walk(entries, at(40, "13:00")).belief, 0)
        assert gain == pytest.approx(0.95, abs=0.02)
        assert sd > 0.75 * 0.95 * LABORATORY_SD


def test_what_a_comparison_leaves_open_is_the_laboratorys_bias_and_nothing_else(checking, walk, at):
    """Were the bias known, so would the gain be: as exactly as it was compared."""
    taken = compared(at, "hand", None, gain=0.95, offset_pct=0.5)
    belief = walk([taken], at(5, "13:00")).belief
    response, place, cov = response_of(belief, 0, 0), belief.layout.laboratory, belief.shared_cov[0]
    cov_known = cov - np.outer(cov[place], cov[place]) / cov[place, place]
    by = response.by_gain[0]
    assert np.sqrt(by @ cov_known @ by) == pytest.approx(0.015, rel=0.05)
    assert by @ cov[place] > 0


def test_a_log_of_wandering_goes_on_where_the_one_before_it_ended():
    """As if both had been one: what came, and when a meter was adjusted, counted from the beginning."""
    first, second, third = (
        np.full((2, meters), amount) for meters, amount in ((1, 0.5), (2, 0.25), (2, 2.0))
    )
    early = NoiseLog().for_meters(1).on(first).and_adjusted(0)
    late = NoiseLog().for_meters(2).on(second).and_adjusted(1).on(third)
    whole = early.for_meters(2).on(second).and_adjusted(1).on(third)
    joined = early.then(late)
    np.testing.assert_array_equal(joined.wandered, whole.wandered)
    np.testing.assert_array_equal(joined.wandered[:, 0], 0.5 + 0.25 + 2.0)
    assert [meter for meter, _ in joined.adjusted] == [0, 1]
    for (_, mine), (_, theirs) in zip(joined.adjusted, whole.adjusted, strict=True):
        np.testing.assert_array_equal(mine, theirs)
