"""What is told today and what a look-back tells of yesterday never contradict each other."""

from dataclasses import replace
from datetime import timedelta
from itertools import accumulate

import drawn
from drawn import FEW, FEWER, KITCHEN, NOW, START, last_measured
from hypothesis import example, given
from hypothesis import strategies as st

from kettlewell.book import Change, MeterCheck, Reading
from kettlewell.core import assess
from kettlewell.core.outlook.lookback import look_back
from kettlewell.core.outlook.meters import meter_reports
from kettlewell.core.outlook.values import FlagKind

NOT_NOW = ("measure_again", "change_before")
STRICTER = ("fry_on", "change_after", "measure_again", "change_before")  # how soon it may not fry
FAILED, RIGHT, READ = (NOW - timedelta(minutes=minutes) for minutes in (30, 20, 10))

WRONG = {-1: "fry_on", 1: "change_before"}  # what is told if a meter reads too little, or too much

limits = st.sampled_from([18.0, 21.0, 24.0, 27.0])
steps = st.lists(st.sampled_from([0.0, 0.5, 1.0, 2.0, 3.0, 4.0]), min_size=5, max_size=5)
sizes = st.sampled_from([1.5, 2.0, 3.0, 4.0, 6.0])
deviations = st.tuples(st.sampled_from([-1, 1]), sizes).map(lambda sign_size: sign_size[0] * sign_size[1])
rights = st.sampled_from(["", "adjusted", "found fit"])


def judged_by(limit_pct):
    (limit,) = KITCHEN.limits
    return replace(KITCHEN, limits=(replace(limit, value=limit_pct),))


def checked(at, off_pct, *, adjusted=False):
    value = KITCHEN.reference_lots[0].tpc_pct + off_pct
    return MeterCheck(
        at=at, meter="hand", lot="R1", readings_pct=(value,) * 3, oil_temp_c=50.0, adjusted=adjusted
    )


def read(at, fryer, pct):
    return Reading(at=at, fryer=fryer, tpc_pct=pct, oil_temp_c=150.0, meter="hand")


def mornings(one, two):
    """Return a good check, and two baths read every morning."""
    book = [checked(START, 0.0)]
    for fryer, of_it in (("one", one), ("two", two)):
        book.append(Change(at=START, fryer=fryer))
        days = enumerate(accumulate(of_it, initial=4.0))
        book += [read(START + timedelta(days=day, hours=2), fryer, pct) for day, pct in days]
    return book


def put_right(how):
    """Return what was done to a meter that was found off."""
    return [checked(RIGHT, 0.0, adjusted=how == "adjusted")] if how else []


def looked_back(kitchen, entries, failed):
    report = next(one for one in meter_reports(kitchen, entries, now=failed.at) if one.meter.key == "hand")
    return look_back(kitchen, entries, failed, report=report).relied


def told(kitchen, entries):
    return {bath.fryer: bath for bath in assess(kitchen, entries, now=NOW)}


def in_doubt_today(relied, entries):
    """Return the fryers whose newest verdict is in doubt, with nothing measured or filled since."""
    newest = {one.reading.fryer: one for one in relied}
    return {
        fryer
        for fryer, one in newest.items()
        if one.in_doubt and last_measured(entries, fryer) == one.reading
    }


@given(
    one=steps,
    two=steps,
    others=st.lists(drawn.kinds, max_size=6),
    off_pct=deviations,
    right=rights,
    limit_pct=limits,
)
@example(
    one=[4.0, 4.0, 2.0, 2.0, 2.0], two=[0.0] * 5, others=[], off_pct=-6.0, right="adjusted", limit_pct=24.0
)
@FEW
def test_what_the_look_back_doubts_fries_nothing_until_it_is_read_again(
    one, two, others, off_pct, right, limit_pct
):
    """Also once the meter was put right: what it read before is no truer for that."""
    kitchen, failed = judged_by(limit_pct), checked(FAILED, off_pct)
    entries = [*mornings(one, two), *(entry for entry in others if entry.at < FAILED), failed]
    doubted = in_doubt_today(looked_back(kitchen, entries, failed), entries)
    baths = told(kitchen, [*entries, *put_right(right)])
    assert {baths[fryer].verdict.key for fryer in doubted} <= set(NOT_NOW)


@given(one=steps, two=steps, off_pct=deviations, right=rights.filter(bool), limit_pct=limits)
@FEWER
def test_once_put_right_and_read_again_nothing_speaks_of_doubt(one, two, off_pct, right, limit_pct):
    kitchen, failed = judged_by(limit_pct), checked(FAILED, off_pct)
    entries = [*mornings(one, two), failed, *put_right(right)]
    before = told(kitchen, entries)
    again = [read(READ, fryer, round(2 * bath.tpc_mean_pct) / 2) for fryer, bath in before.items()]
    after = told(kitchen, [*entries, *again])
    assert {FlagKind.METER_OFF} <= {flag.kind for bath in before.values() for flag in bath.flags}
    assert FlagKind.METER_OFF not in {flag.kind for bath in after.values() for flag in bath.flags}
    assert all(bath.verdict.reason.code != "meter_off" for bath in after.values())
    assert not {relied.reading for relied in looked_back(kitchen, [*entries, *again], failed)} & set(again)


@given(
    one=steps,
    two=steps,
    sign=st.sampled_from([-1, 1]),
    found=st.tuples(*2 * [st.integers(3, 24)]).map(sorted),
    limit_pct=limits,
)
@FEW
def test_the_further_off_a_meter_is_found_the_stricter_are_today_and_the_look_back(
    one, two, sign, found, limit_pct
):
    """Read too much, oil is better than it was told: it is measured again all the same."""
    kitchen, book, answers = judged_by(limit_pct), mornings(one, two), []
    for quarters in found:
        failed = checked(FAILED, sign * quarters / 4)
        entries = [*book, failed]
        relied = looked_back(kitchen, entries, failed)
        doubted = {each.reading for each in relied if each.in_doubt and each.told == WRONG[sign]}
        answers.append((told(kitchen, entries), doubted))
    (nearer, fewer), (further, more) = answers
    assert fewer <= more
    for fryer, bath in nearer.items():
        keys = [STRICTER.index(each.verdict.key) for each in (bath, further[fryer])]
        assert keys == sorted(keys) or (sign > 0 and set(keys) <= {2, 3})
