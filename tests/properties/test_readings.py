"""What must hold of readings, whatever the book, the limit and the risk."""

import math
from dataclasses import replace
from datetime import timedelta
from itertools import accumulate, pairwise, permutations

import drawn
import numpy as np
import pytest
from drawn import FEW, FEWER, KITCHEN, NOW
from hypothesis import example, given
from hypothesis import strategies as st

from kettlewell.book import Change, Reading
from kettlewell.core import assess
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.readings import Expected, Together, weigh
from kettlewell.core.belief.walk import walk_to
from kettlewell.core.outlook.here import here_of

MILDEST_FIRST = ["fry_on", "measure_again", "change_after", "change_before"]
SHOWN_PCT = [0.5 * half for half in range(0, 72, 4)]

levels = st.integers(8, 80).map(lambda halves: halves / 2)
risks = st.sampled_from([0.01, 0.05, 0.1, 0.5])
limits = st.sampled_from([18.0, 21.0, 24.0, 25.0, 27.0])
# a fill read each morning, by steps of a usual day or none at all, from fresh oil
mornings = st.lists(st.sampled_from([0.0, 0.5, 1.0, 2.0, 3.0, 4.0]), min_size=1, max_size=7)


def judged_by(limit_pct, risk):
    (limit,) = KITCHEN.limits
    return replace(KITCHEN, risk=risk, limits=(replace(limit, value=limit_pct),))


def shown(pct, *, before_min=0.0, fryer="one", sound=True):
    at = NOW - timedelta(minutes=before_min)
    return Reading(at=at, fryer=fryer, tpc_pct=pct, oil_temp_c=150.0, meter="hand", sound=sound)


def filled(steps):
    """Return a change and a reading every morning but today's."""
    days = list(accumulate(steps, initial=4.0))
    change = Change(at=NOW - timedelta(days=len(days), hours=1), fryer="one")
    read = [shown(pct, before_min=24 * 60 * (len(days) - day)) for day, pct in enumerate(days)]
    return [change, *read]


def told(kitchen, entries, fryer="one"):
    return next(one for one in assess(kitchen, entries, now=NOW, of=[fryer]) if one.fryer == fryer)


def told_by(card, reading_pct):
    (line,) = (
        line
        for line in card.lines
        if (line.from_pct is None or reading_pct >= line.from_pct)
        and (line.to_pct is None or reading_pct < line.to_pct)
    )
    return line.key


def once_read(kitchen, entries):
    return [told(kitchen, [*entries, shown(pct)]) for pct in SHOWN_PCT]


def strictness(answers):
    """Return how strict the verdicts are, from the first on that is not "measure again"."""
    keys = [MILDEST_FIRST.index(one.verdict.key) for one in answers]
    first = next((n for n, key in enumerate(keys) if key != MILDEST_FIRST.index("measure_again")), len(keys))
    return keys[first:]


@given(entries=drawn.books, limit_pct=limits, risk=risks)
@FEWER
def test_a_higher_reading_never_leads_to_a_milder_verdict(entries, limit_pct, risk):
    """Nor does the card say so; below, a reading far from the book is measured again."""
    found = strictness(once_read(judged_by(limit_pct, risk), entries))
    assert found == sorted(found)


@given(steps=mornings, others=st.lists(levels, max_size=2), limit_pct=limits, risk=risks)
@example(steps=[3.0, 3.0, 3.0, 3.0, 2.0], others=[], limit_pct=25.0, risk=0.05)
@FEWER
def test_nor_does_it_beside_others_of_the_same_occasion(steps, others, limit_pct, risk):
    lately = [shown(pct, before_min=3.0 * (n + 1)) for n, pct in enumerate(others)]
    found = strictness(once_read(judged_by(limit_pct, risk), [*filled(steps), *lately]))
    assert found == sorted(found)


@given(steps=mornings, limit_pct=limits, risk=risks)
@FEWER
def test_the_probability_of_passing_a_limit_rises_with_the_reading(steps, limit_pct, risk):
    """Up to even chances, beyond which a wider belief is a less certain one."""
    answers = once_read(judged_by(limit_pct, risk), filled(steps))
    chances = [
        one.verdict.passing_probability for one in answers if one.verdict.reason.code != "contradicted"
    ]
    odds = [min(chance, 0.5) for chance in chances]
    assert all(higher >= lower - 1e-9 for lower, higher in pairwise(odds))


@given(
    entries=drawn.books,
    limit_pct=limits,
    risk=risks,
    above=st.integers(1, 30),
    sound=st.booleans(),
)
@FEWER
def test_past_a_limit_it_is_measured_again_or_changed(entries, limit_pct, risk, above, sound):
    """Unless the oil was changed, or measured in a laboratory, at that very moment."""
    reading = shown(limit_pct + above / 2, sound=sound)
    before = [entry for entry in entries if entry.at < reading.at]
    answer = told(judged_by(limit_pct, risk), [*before, reading])
    assert answer.verdict.key in ("measure_again", "change_before")


@given(steps=mornings, above=st.tuples(st.integers(1, 30), st.integers(1, 30)), risk=risks)
@example(steps=[4.0, 4.0], above=(2, 18), risk=0.05)
@FEWER
def test_two_readings_past_a_limit_on_one_occasion_are_a_change(steps, above, risk):
    two = [shown(25.0 + more / 2, before_min=8.0 * n) for n, more in enumerate(above)]
    assert told(judged_by(25.0, risk), [*filled(steps), *two]).verdict.key == "change_before"


@given(steps=mornings, occasion=st.lists(levels, min_size=2, max_size=3), limit_pct=limits, risk=risks)
@example(steps=[4.0, 4.0, 4.0, 4.0], occasion=[26.0, 26.0, 20.5], limit_pct=25.0, risk=0.05)
@example(steps=[4.0, 4.0, 4.0, 4.0], occasion=[26.0, 26.0, 20.5], limit_pct=27.0, risk=0.5)
@example(steps=[4.0, 4.0, 4.0, 4.0], occasion=[20.0, 15.0, 15.0], limit_pct=25.0, risk=0.5)
@example(steps=[0.0], occasion=[4.0, 4.5], limit_pct=18.0, risk=0.01)
@FEWER
def test_the_order_of_the_readings_of_an_occasion_says_nothing(steps, occasion, limit_pct, risk):
    found = []
    for order in set(permutations(occasion)):
        lately = [shown(pct, before_min=9.0 - 4 * n) for n, pct in enumerate(order)]
        one = told(judged_by(limit_pct, risk), [*filled(steps), *lately])
        asked = sorted((flag.kind, flag.reading_pct) for flag in one.flags)
        found.append((one.verdict.key, one.verdict.reason.code, asked, one.tpc_mean_pct, one.tpc_sd_pct))
    for other in found[1:]:
        assert other[:3] == found[0][:3]
        assert other[3:] == pytest.approx(found[0][3:], rel=1e-9)


@given(
    apart=st.lists(st.one_of(st.just(math.nan), st.floats(-3, 3)), min_size=1, max_size=4),
    book_sd=st.floats(0.1, 3),
    own_sd=st.floats(0.3, 3),
)
@FEW
def test_single_readings_are_weighed_as_an_occasion_of_one(apart, book_sd, own_sd):
    """With room for a second reading that nobody took."""
    innovation = np.array(apart)[None, :, None]
    none, var = np.full_like(innovation, np.nan), np.full_like(innovation, own_sd**2)
    nothing = np.zeros((1, len(apart)))
    expected = Expected(
        mean=nothing,
        var=nothing + book_sd**2,
        direction=nothing[..., None],
        tied=nothing[..., None],
        fresh_mean=nothing - 5,
        fresh_var=nothing + 1,
        pending=nothing + np.nan,
    )
    single, roomy = (
        weigh(
            PACKAGED,
            expected,
            Together(innovation=z, var=var + 0 * np.nan_to_num(z), well=np.ones(z.shape, bool)),
        )
        for z in (innovation, np.concatenate([innovation, none], axis=-1))
    )
    read = ~np.isnan(innovation[..., 0])
    for name in ("apart", "shift", "leap", "excess", "weight", "trusted", "fresh", "changed"):
        np.testing.assert_allclose(
            getattr(single, name)[read], getattr(roomy, name)[read], rtol=1e-12, atol=1e-12, err_msg=name
        )
    np.testing.assert_array_equal(single.doubt[read][:, 0], roomy.doubt[read][:, 0])
    assert (single.weight[~read] == 0).all()


@given(steps=mornings, apart=st.integers(-2, 2))
@FEWER
def test_a_reading_that_fits_never_widens_what_it_measures(steps, apart):
    entries = filled(steps)
    before = told(KITCHEN, entries)
    gain = 0.965
    read = told(KITCHEN, [*entries, shown(round(2 * gain * before.tpc_mean_pct) / 2 + apart / 4)])
    assert read.tpc_sd_pct <= before.tpc_sd_pct + 1e-9


@given(steps=mornings, pct=levels)
@FEWER
def test_a_doubted_reading_never_narrows_what_it_measures(steps, pct):
    entries = filled(steps)
    before, read = told(KITCHEN, entries), told(KITCHEN, [*entries, shown(pct)])
    if read.verdict.reason.code in ("doubted", "contradicted"):
        assert read.tpc_sd_pct >= before.tpc_sd_pct - 1e-9


@given(entries=drawn.books, lately=st.lists(st.tuples(levels, st.sampled_from(["one", "two"])), max_size=3))
@FEWER
def test_the_card_equals_the_verdict_at_every_step_of_any_book(entries, lately):
    """Of two fryers and two meters, with readings of the occasion that lasts; none of this very moment."""
    entries = [entry for entry in entries if entry.at < NOW]
    more = [shown(pct, before_min=11.0 * (n + 1), fryer=fryer) for n, (pct, fryer) in enumerate(lately)]
    entries = [*entries, *more]
    for fryer in ("one", "two"):
        before = told(KITCHEN, entries, fryer)
        if len(before.card.lines) == 1:
            continue
        for pct in SHOWN_PCT:
            reading = replace(shown(pct, fryer=fryer), meter=before_meter(entries))
            after = told(KITCHEN, [*entries, reading], fryer)
            assert told_by(before.card, pct) == after.verdict.key


def before_meter(entries):
    """Return the meter that the card is for: the first in use that no check found off, or of all."""
    here = here_of(walk_to(KITCHEN, entries, now=NOW), NOW)
    return here.place.baths.meters[here.meter_in_use or 0].key
