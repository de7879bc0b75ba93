"""Every meter is a meter: whichever is listed first, compared with what, retired or new."""

from dataclasses import replace

import numpy as np
import pytest
from states import assert_alike, differences

from kettlewell.book import Adopted, Change, LabResult, MeterOut, Reading, history_of
from kettlewell.core import assess, checkpoint
from kettlewell.core.belief.response import beside_laboratory, response_of
from kettlewell.core.belief.settle import place_of
from kettlewell.core.belief.walk import walk_to
from kettlewell.core.metering.pairs import side_by_side
from kettlewell.core.outlook.lookback import look_back
from kettlewell.core.outlook.meters import meter_reports

SHOWS = {"hand": (1.0, 1.0), "lent": (1.5, 0.9)}  # offset and gain


@pytest.fixture
def two(checking):
    """A kitchen with two meters, the second of another make."""
    lent = replace(checking.meters[0], key="lent", name="Lent meter", largest_error_pct=3.0)
    return replace(checking, meters=(*checking.meters, lent))


@pytest.fixture
def entries(checked, read, at):
    """Eight days in which both meters and the laboratory measure the big pan, and each is checked."""
    begun = [Change(at=at(0, "07:00"), fryer="big"), checked(0, 0.3), checked(3, -0.4, meter="lent")]
    for day in range(8):
        tpc = 5.0 + 2.4 * day
        begun += [
            read(day, clock, offset + gain * tpc, meter=key)
            for clock, (key, (offset, gain)) in zip(("09:00", "09:05"), SHOWS.items(), strict=True)
        ]
        begun.append(LabResult(at=at(day, "09:10"), fryer="big", tpc_pct=tpc, u_pct=0.3))
    return begun


def response(place, book, now, meter, *, beside=lambda _, response: response):
    """Return offset, gain and their covariance of a meter in rapeseed oil, as believed."""
    walked = walk_to(place, book, now=now)
    belief, baths = walked.state.belief, walked.place.baths
    of_it = response_of(belief, baths.meter_index(meter), baths.oil_index("rape"))
    found = beside(belief, of_it).of_kitchen(0)
    by = np.stack([found.by_offset, found.by_gain])
    return (float(found.offset_pct), float(found.gain)), by @ belief.shared_cov[0] @ by.T


@pytest.mark.parametrize(
    ("meter", "against"), [("hand", None), ("lent", None), ("hand", "lent"), ("lent", "hand")]
)
def test_whichever_meter_is_listed_first_every_answer_is_the_same(two, entries, at, meter, against):
    """Also after a comparison was taken over; in the end one meter is in use, for which the card is made."""
    now, turned = at(8, "10:00"), replace(two, meters=two.meters[::-1])
    sides = [
        side_by_side(place, entries, meter=meter, against=against, oil="rape") for place in (two, turned)
    ]
    taken = [side.adopted(at(8, "08:00")) for side in sides]
    assert sides[0].pairs == sides[1].pairs
    assert_alike(*taken)
    book = [*entries, taken[0], MeterOut(at=at(8, "09:00"), meter="hand")]
    for answers in zip(*(assess(place, book, now=now) for place in (two, turned)), strict=True):
        assert_alike(*answers)
    reports = [
        {report.meter.key: report for report in meter_reports(place, book, now=now, lately=book)}
        for place in (two, turned)
    ]
    for key in ("hand", "lent"):
        assert_alike(reports[0][key], reports[1][key])


@pytest.mark.parametrize("meter", ["hand", "lent"])
@pytest.mark.parametrize("turned", [False, True])
def test_a_meter_taken_over_beside_the_laboratory_is_believed_to_read_so(two, entries, at, meter, turned):
    """But for the gain's being a product of two unknowns, taken as straight."""
    place = replace(two, meters=two.meters[::-1]) if turned else two
    taken = side_by_side(place, entries, meter=meter, against=None, oil="rape").adopted(at(8, "08:00"))
    book, now = [*entries, taken], at(8, "09:00")
    (offset, gain), cov = response(place, book, now, meter, beside=beside_laboratory)
    assert (offset, gain) == pytest.approx((taken.offset_pct, taken.gain), rel=1e-3)
    assert np.sqrt(np.diag(cov)) == pytest.approx([taken.offset_u_pct, taken.gain_u], rel=0.03)


def test_two_meters_teach_the_same_whichever_is_held_against_the_other(two, entries, at):
    """The pairs are the same, and so is what is learnt of both, but for a line that is no quotient."""
    now, found = at(8, "09:00"), []
    readings = [entry for entry in entries if not isinstance(entry, LabResult)]
    for meter, against in (("hand", "lent"), ("lent", "hand")):
        taken = side_by_side(two, readings, meter=meter, against=against, oil="rape").adopted(at(8, "08:00"))
        found.append([response(two, [*readings, taken], now, key) for key in ("hand", "lent")])
    for (means, cov), (other_means, other_cov) in zip(*found, strict=True):
        sds = np.sqrt(np.diag(cov))
        assert np.abs(np.subtract(means, other_means) / sds).max() < 0.05
        assert np.sqrt(np.diag(other_cov)) == pytest.approx(sds, rel=0.05)


def test_a_meter_that_reads_more_than_another_is_learnt_so_from_either_side(two, at):
    """Taken over alone: one reads a tenth steeper, the other so much flatter."""
    known = {"at": at(0, "08:00"), "oil": "rape", "offset_u_pct": 0.3, "gain_u": 0.01, "correlation": -0.5}
    steeper = Adopted(meter="lent", against="hand", gain=1.1, offset_pct=0.0, **known)
    flatter = Adopted(meter="hand", against="lent", gain=1 / 1.1, offset_pct=0.0, **known)
    for taken in (steeper, flatter):
        gains = [response(two, [taken], at(0, "09:00"), key)[0][1] for key in ("hand", "lent")]
        assert gains[1] / gains[0] == pytest.approx(1.1, abs=0.01)  # a quotient, taken straight


def test_what_is_taken_over_of_a_meter_teaches_the_other_through_their_readings(two, entries, at):
    """The lent meter alone is compared with the laboratory; both read the same oil."""
    readings = [entry for entry in entries if not isinstance(entry, LabResult)]
    taken = side_by_side(two, entries, meter="lent", against=None, oil="rape").adopted(at(8, "08:00"))
    now = at(8, "09:00")
    (_, before), (_, after) = (response(two, book, now, "hand") for book in (readings, [*readings, taken]))
    assert after[1, 1] < 0.5 * before[1, 1]
    assert response(two, [*readings, taken], now, "hand")[0][1] == pytest.approx(1.0, abs=0.05)


@pytest.fixture
def replaced(checking, at):
    """A kitchen whose only meter is retired on the fourth day, and another one bought."""
    new = replace(checking.meters[0], key="new", name="New meter", in_use_since=at(3, "07:00").date())
    return history_of(checking).then(replace(checking, meters=(new,)), at(3, "07:00"))


@pytest.fixture
def handed_over(checked, read, at):
    """The hand meter reads for three days; the new one, which shows 1.5 + 0.9 TPC, five more."""
    begun = [Change(at=at(0, "07:00"), fryer="big"), checked(0, 0.0)]
    begun += [read(day, "09:00", 5.0 + 2.4 * day, meter="hand") for day in range(3)]
    begun += [checked(3, 0.0, meter="new"), MeterOut(at=at(3, "07:30"), meter="hand")]
    for day in range(3, 9):
        tpc = 5.0 + 2.4 * day
        begun.append(read(day, "09:00", 1.5 + 0.9 * tpc, meter="new"))
        begun.append(LabResult(at=at(day, "09:10"), fryer="big", tpc_pct=tpc, u_pct=0.3))
    return begun


def test_a_new_meter_follows_the_only_one_and_is_compared_with_the_laboratory(replaced, handed_over, at):
    now = at(9, "09:00")
    taken = side_by_side(replaced, handed_over, meter="new", against=None, oil="rape").adopted(at(9, "08:00"))
    book = [*handed_over, taken]
    believed, beside = (
        response(replaced, book, now, "new", **how)[0] for how in ({}, {"beside": beside_laboratory})
    )
    assert beside == pytest.approx((taken.offset_pct, taken.gain), rel=2e-3)
    assert believed == pytest.approx(beside, rel=0.02)
    (report,) = meter_reports(replaced, book, now=now, lately=book)
    assert (report.meter.key, report.in_use, len(report.checks)) == ("new", True, 1)
    rape = next(worth for worth in report.oils if worth.oil.key == "rape")
    assert (rape.offset_pct, rape.gain) == believed
    answers = {answer.fryer: answer for answer in assess(replaced, book, now=now)}
    assert answers["big"].metered
    assert answers["big"].tpc_mean_pct == pytest.approx(5.0 + 2.4 * 9, abs=1.0)


def test_the_retired_meter_is_still_known_by_what_it_read(replaced, handed_over, at):
    """Retired meters stay in the scale: what the new one teaches of the oil is told of them too."""
    (_, early), (_, late) = (
        response(replaced, handed_over, now, "hand") for now in (at(2, "10:00"), at(9, "09:00"))
    )
    assert late[1, 1] < early[1, 1]


def test_of_a_single_meter_all_is_as_before_whatever_it_is_called(checking, entries, at):
    """Its ratio is 1 by choice of the scale; its comparison with the laboratory is believed as it is."""
    alone = [entry for entry in entries if getattr(entry, "meter", "hand") == "hand"]
    taken = side_by_side(checking, alone, meter="hand", against=None, oil="rape").adopted(at(8, "08:00"))
    assert not walk_to(checking, alone, now=at(8, "09:00")).state.belief.layout.several
    means, cov = response(checking, [*alone, taken], at(8, "09:00"), "hand", beside=beside_laboratory)
    assert means == pytest.approx((taken.offset_pct, taken.gain), rel=1e-5)
    assert cov[0, 1] == pytest.approx(taken.correlation * taken.offset_u_pct * taken.gain_u, rel=2e-3)


def test_a_failed_check_of_the_new_meter_is_looked_back_from_past_the_retired_ones_readings(
    replaced, handed_over, checked, at
):
    """It was never found good, so that all is looked at that was read since the book began."""
    failed = checked(9, 2.5, meter="new")
    book = [entry for entry in handed_over if getattr(entry, "lot", None) is None or entry.meter == "hand"]
    book.append(failed)
    (report,) = meter_reports(replaced, book, now=at(9, "09:00"))
    found = look_back(replaced, book, failed, report=report)
    assert found.good is None
    assert {relied.reading.meter for relied in found.relied} == {"new"}
    assert len(found.relied) == 6


def test_a_reading_that_names_no_meter_is_believed_of_the_first_of_its_day(replaced, handed_over, at):
    """As it is paired, also once the hand meter was retired, and on from a checkpoint after that."""
    unnamed = [replace(entry, meter=None) if isinstance(entry, Reading) else entry for entry in handed_over]
    now = at(9, "09:00")
    found, named = (checkpoint(replaced, book, at=now) for book in (unnamed, handed_over))
    np.testing.assert_array_equal(found.belief.shared, named.belief.shared)
    early = checkpoint(replaced, unnamed, at=at(6, "12:00"))
    later = [entry for entry in unnamed if entry.at >= place_of(early).covers_to]
    assert not differences(checkpoint(replaced, later, at=now, since=early), found)
