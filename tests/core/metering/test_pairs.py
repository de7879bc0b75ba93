"""A meter beside the laboratory, or beside another meter, from pairs in the day book."""

from dataclasses import replace

import numpy as np
import pytest

from kettlewell.book import Change, LabResult, Load, MeterCheck, Move, Return, Store, history_of
from kettlewell.core.metering.pairs import side_by_side

TPC_PCT = (5.0, 9.0, 13.0, 17.0, 21.0, 23.0)


@pytest.fixture
def pairs(read, at):
    """A meter that shows 1.5 + 0.9·TPC, beside exact results of a laboratory."""
    readings = [read(day, "09:00", 1.5 + 0.9 * tpc) for day, tpc in enumerate(TPC_PCT)]
    results = [
        LabResult(at=at(day, "09:10"), fryer="big", tpc_pct=tpc, u_pct=0.3) for day, tpc in enumerate(TPC_PCT)
    ]
    return [*readings, *results]


def beside(kitchen, entries, **names):
    return side_by_side(kitchen, entries, **{"meter": "hand", "against": None, "oil": "rape"} | names)


def test_the_line_tells_offset_and_gain_and_the_plot_where_they_disagree(kitchen, pairs):
    found = beside(kitchen, pairs)
    assert (found.comparison.line.intercept, found.comparison.line.slope) == pytest.approx((1.5, 0.9))
    assert found.differences.mean == pytest.approx(np.mean([1.5 - 0.1 * tpc for tpc in TPC_PCT]))


def test_each_measurement_counts_in_one_pair_with_the_nearest(kitchen, read, at):
    entries = [
        read(0, "09:00", 10.0),
        read(0, "09:25", 11.0),
        LabResult(at=at(0, "09:20"), fryer="big", tpc_pct=11.5),
    ]
    (pair,) = beside(kitchen, entries).pairs
    assert (pair.other_pct, pair.meter_pct) == (11.5, 11.0)


@pytest.mark.parametrize(
    "spoilt",
    [
        lambda read, _: [read(0, "07:00", 10.0)],
        lambda read, _: [read(0, "09:00", 10.0, fryer="small")],
        lambda read, _: [read(0, "09:00", 10.0, sound=False)],
        lambda read, at: [read(0, "09:00", 10.0), Load(at=at(0, "09:10"), fryer="big", product="fries")],
        lambda read, at: [read(0, "09:00", 10.0), Change(at=at(0, "09:10"), fryer="big")],
    ],
    ids=["an hour apart", "another bath", "not sound", "fried in between", "changed in between"],
)
def test_what_was_not_the_same_oil_or_not_sound_is_no_pair(kitchen, read, at, spoilt):
    result = LabResult(at=at(0, "09:20"), fryer="big", tpc_pct=11.0)
    assert beside(kitchen, [*spoilt(read, at), result]).pairs == ()


def test_two_meters_are_paired_by_their_own_names(kitchen, read):
    place = replace(kitchen, meters=(*kitchen.meters, replace(kitchen.meters[0], key="lent")))
    entries = [
        read(day, clock, tpc + more, meter=key)
        for day, tpc in enumerate(TPC_PCT)
        for key, clock, more in (("hand", "09:00", 0.0), ("lent", "09:05", 1.0))
    ]
    found = beside(place, entries, meter="lent", against="hand")
    assert (found.comparison.line.intercept, found.comparison.line.slope) == pytest.approx((1.0, 1.0))


def test_below_three_pairs_there_is_no_line_and_below_five_none_to_take_over(kitchen, pairs, at):
    few = [entry for entry in pairs if entry.at < at(2, "00:00")]
    assert beside(kitchen, few).comparison is None
    some = beside(kitchen, [entry for entry in pairs if entry.at < at(4, "00:00")])
    assert some.comparison is not None
    with pytest.raises(ValueError, match="5 pairs"):
        some.adopted(at(9, "12:00"))


def test_pairs_that_lie_on_no_line_are_shown_without_one(kitchen, read, at):
    entries = [read(day, "09:00", 8.0 + day) for day in range(5)]
    entries += [LabResult(at=at(day, "09:10"), fryer="big", tpc_pct=10.0) for day in range(5)]
    found = beside(kitchen, entries)
    assert (len(found.pairs), found.comparison) == (5, None)
    assert not found.may_be_adopted


def test_what_is_taken_over_is_the_line_and_as_uncertain_as_it_is_at_every_value(kitchen, pairs, at):
    found = beside(kitchen, pairs)
    taken = found.adopted(at(9, "12:00"))
    both = taken.correlation * taken.offset_u_pct * taken.gain_u
    for tpc in (0.0, 12.0, 24.0):
        var = taken.offset_u_pct**2 + (tpc * taken.gain_u) ** 2 + 2 * tpc * both
        assert np.sqrt(var) == pytest.approx(float(found.comparison.line.value_u(tpc)))


def test_pairs_that_scatter_more_than_they_should_are_taken_over_with_more_doubt(kitchen, pairs, at):
    odd = [
        replace(entry, tpc_pct=entry.tpc_pct + 0.7 * (-1) ** n) if isinstance(entry, LabResult) else entry
        for n, entry in enumerate(pairs)
    ]
    tidy, wild = (beside(kitchen, entries) for entries in (pairs, odd))
    assert tidy.widened == 1.0
    assert wild.widened > 1.2
    taken = wild.adopted(at(9, "12:00"))
    assert taken.gain_u == pytest.approx(wild.widened * wild.comparison.line.slope_u)


@pytest.mark.parametrize(
    "shown",
    [
        lambda tpc: 20.0 - 0.5 * tpc,
        lambda tpc: 18.0 + 0.1 * tpc,
    ],
    ids=["a line that falls", "all near one value"],
)
def test_a_line_that_tells_nothing_of_a_meter_is_not_taken_over(kitchen, read, at, shown):
    tpcs = TPC_PCT if shown(0) > 19 else [20.0 + 0.2 * n for n in range(6)]
    entries = [read(day, "09:00", shown(tpc)) for day, tpc in enumerate(tpcs)]
    entries += [
        LabResult(at=at(day, "09:10"), fryer="big", tpc_pct=tpc, u_pct=0.3) for day, tpc in enumerate(tpcs)
    ]
    found = beside(kitchen, entries)
    assert len(found.pairs) == 6
    assert not found.may_be_adopted
    with pytest.raises(ValueError, match="known well"):
        found.adopted(at(9, "12:00"))


@pytest.fixture
def both(kitchen, read, at):
    """Two meters that show TPC + 1 and 0.9·TPC + 1.5, and the laboratory, each day in one oil."""
    place = replace(kitchen, meters=(*kitchen.meters, replace(kitchen.meters[0], key="lent")))
    shows = {"hand": (1.0, 1.0), "lent": (1.5, 0.9)}
    entries = [
        read(day, clock, offset + gain * tpc, meter=key)
        for day, tpc in enumerate(TPC_PCT)
        for clock, (key, (offset, gain)) in zip(("09:00", "09:05"), shows.items(), strict=True)
    ]
    entries += [
        LabResult(at=at(day, "09:10"), fryer="big", tpc_pct=tpc, u_pct=0.3) for day, tpc in enumerate(TPC_PCT)
    ]
    return place, entries


@pytest.mark.parametrize(
    ("meter", "against", "line"),
    [
        ("hand", None, (1.0, 1.0)),
        ("lent", None, (1.5, 0.9)),
        ("lent", "hand", (0.6, 0.9)),
        ("hand", "lent", (-0.6 / 0.9, 1 / 0.9)),
    ],
)
def test_any_meter_may_be_taken_over_beside_the_laboratory_or_another_however_they_are_listed(
    both, at, meter, against, line
):
    place, entries = both
    turned = replace(place, meters=place.meters[::-1])
    found, other = (
        beside(listed, entries, meter=meter, against=against).adopted(at(9, "12:00"))
        for listed in (place, turned)
    )
    assert (found.offset_pct, found.gain) == pytest.approx(line)
    assert (found.meter, found.against) == (meter, against)
    assert other == found


def test_pairs_from_before_an_adjustment_are_left_out(checking, pairs, at):
    left = MeterCheck(at=at(3, "08:00"), meter="hand", lot="R1", readings_pct=(10.0,), adjusted=True)
    assert len(beside(checking, [*pairs, left]).pairs) == 3


def test_a_bath_counts_for_the_oil_it_held_then(kitchen, pairs, at):
    """Filled with another oil on the third day, and with its own again on the fifth."""
    filled = [
        Change(at=at(2, "07:00"), fryer="big", oil="sun"),
        Change(at=at(4, "07:00"), fryer="big"),
    ]
    entries = [*pairs, *filled]
    assert [len(beside(kitchen, entries, oil=oil).pairs) for oil in ("rape", "sun")] == [4, 2]


def test_oil_poured_into_an_empty_bath_is_what_is_measured_there(kitchen, read, at):
    """However little it is: 4 kg of rapeseed in a bath of 10 kg whose own oil is kept."""
    entries = [
        Store(at=at(0, "07:00"), fryer="small"),
        Move(at=at(0, "07:10"), fryer="big", into="small", mass_kg=4),
        read(0, "09:00", 10.0, fryer="small"),
        LabResult(at=at(0, "09:20"), fryer="small", tpc_pct=11.0),
    ]
    assert [len(beside(kitchen, entries, oil=oil).pairs) for oil in ("rape", "sun")] == [1, 0]


def test_putting_back_where_nothing_was_kept_changes_no_oil(kitchen, read, at):
    entries = [
        Change(at=at(0, "07:00"), fryer="small", oil="rape"),
        Return(at=at(0, "07:10"), fryer="small"),
        read(0, "09:00", 10.0, fryer="small"),
        LabResult(at=at(0, "09:20"), fryer="small", tpc_pct=11.0),
    ]
    assert [len(beside(kitchen, entries, oil=oil).pairs) for oil in ("rape", "sun")] == [1, 0]


def test_each_pair_is_made_under_the_settings_of_its_day(kitchen, pairs, at):
    """On the third day the pan is set up for sunflower oil and filled with it, on the fifth it is removed."""
    big, small = kitchen.fryers
    sun = replace(kitchen, fryers=(replace(big, oil="sun"), small))
    settings = history_of(kitchen).then(sun, at(2, "06:00"))
    gone = settings.then(replace(sun, fryers=(small,)), at(4, "06:00"))
    entries = [*pairs, Change(at=at(2, "07:00"), fryer="big")]
    for told in (settings, gone):
        assert [len(beside(told, entries, oil=oil).pairs) for oil in ("rape", "sun")] == [2, 4]


def test_a_reading_that_names_no_meter_is_by_the_first_of_its_day(kitchen, pairs, at):
    """For three days there was the hand meter alone, then a new one in its place."""
    new = replace(kitchen.meters[0], key="new")
    settings = history_of(kitchen).then(replace(kitchen, meters=(new,)), at(3, "06:00"))
    assert [len(beside(settings, pairs, meter=key).pairs) for key in ("hand", "new")] == [3, 3]
