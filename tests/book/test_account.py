"""The account of oil: which vessel holds what, and what cannot have happened."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.book import (
    Change,
    Fryer,
    Kitchen,
    LabResult,
    Move,
    Oil,
    Reading,
    Return,
    SensoryNote,
    Store,
    TopUp,
    find,
    history_of,
    in_order,
)
from kettlewell.book.account import (
    Content,
    Pour,
    account_after,
    account_of,
    in_fryer,
    kept_of,
)
from kettlewell.book.refusals import Impossible, Refusal, refusal

NOON = datetime(2026, 9, 7, 12, tzinfo=UTC)
KITCHEN = Kitchen(
    name="Test kitchen",
    fryers=(
        Fryer(key="big", name="Big pan", oil="rape", oil_mass_kg=20),
        Fryer(key="small", name="Small pan", oil="sun", oil_mass_kg=10),
        Fryer(key="twin", name="Its twin", oil="sun", oil_mass_kg=10),
    ),
    oils=tuple(Oil(key=key, name=key) for key in ("rape", "sun", "palm")),
)


def at(minutes):
    return NOON + timedelta(minutes=minutes)


def after(*entries):
    return account_after(entries, KITCHEN)


def poured(*entries):
    return after(*entries[:-1]).after(entries[-1], KITCHEN)[1]


STORED = Store(at=at(0), fryer="small")
CHANGED = Change(at=at(0), fryer="small", oil="palm", ref="#7")
READ = Reading(at=at(1), fryer="small", tpc_pct=14.0)


def test_before_the_book_begins_each_fryer_is_full_of_its_own_oil():
    assert after().bath("big") == Content(oil="rape", kg=20)
    assert after().kept("big") is None


def test_a_change_fills_fresh_with_the_oil_named_or_the_fryers_own():
    assert after(READ, CHANGED).bath("small") == Content(oil="palm", kg=10, since=at(0), fill="#7")
    assert after(CHANGED, Change(at=at(2), fryer="small")).bath("small").oil == "sun"
    assert poured(CHANGED) == (
        Pour(source=in_fryer("small"), into=None, oil="sun", kg=10),
        Pour(source=None, into=in_fryer("small"), oil="palm", kg=10, fresh=True, takes_over=True),
    )


def test_oil_that_is_kept_leaves_its_bath_empty_and_comes_back_as_it_was():
    was = after(CHANGED, READ).bath("small")
    stored = after(CHANGED, READ, Store(at=at(2), fryer="small"))
    assert stored.kept("small") == was
    assert stored.bath("small") == Content(oil="palm", kg=0, empty=True)
    back = after(CHANGED, READ, Store(at=at(2), fryer="small"), Return(at=at(3), fryer="small"))
    assert (back.bath("small"), back.kept("small")) == (was, None)


def test_a_bath_that_is_empty_cannot_be_stored_nor_moved():
    once = after(STORED)
    for act in (Store(at=at(1), fryer="small"), Move(at=at(1), fryer="small", into="big")):
        assert once.after(act, KITCHEN) == (once, ())


def test_where_nothing_is_kept_nothing_is_put_back():
    assert after(CHANGED, Return(at=at(1), fryer="small")) == after(CHANGED)


def test_oil_kept_a_second_time_takes_the_place_of_what_was_kept():
    pours = poured(STORED, CHANGED, Store(at=at(2), fryer="small"))
    assert pours[0] == Pour(source=kept_of("small"), into=None, oil="sun", kg=10)
    assert (pours[1].into, pours[1].oil) == (kept_of("small"), "palm")


def test_an_amount_mixes_by_its_share_of_the_bath():
    pours = poured(Move(at=at(0), fryer="small", into="big", mass_kg=5))
    assert pours[-1] == Pour(source=in_fryer("small"), into=in_fryer("big"), oil="sun", kg=5, share=0.25)
    assert pours[0] == Pour(source=in_fryer("big"), into=None, oil="rape", kg=5)
    stands = after(Move(at=at(0), fryer="small", into="big", mass_kg=5))
    assert (stands.bath("big").oil, stands.bath("big").kg, stands.bath("small").kg) == ("rape", 20, 5)


@pytest.mark.parametrize(("mass_kg", "oil", "since"), [(5.0, "sun", None), (5.1, "rape", at(0))])
def test_more_than_half_brings_label_and_age_but_no_readings(mass_kg, oil, since):
    changed = Change(at=at(0), fryer="big")
    read = [Reading(at=at(1), fryer=fryer, tpc_pct=9.0) for fryer in ("big", "small")]
    held = after(changed, *read, Move(at=at(2), fryer="big", into="small", mass_kg=mass_kg)).bath("small")
    assert (held.oil, held.since) == (oil, since)
    assert held.measured == (() if since else (read[1],))


def test_oil_moved_into_an_empty_bath_takes_it_over_however_little_it_is():
    move = Move(at=at(2), fryer="big", into="small", mass_kg=4)
    held = after(STORED, Reading(at=at(1), fryer="big", tpc_pct=9.0), move).bath("small")
    assert (held.oil, held.kg, [one.tpc_pct for one in held.measured]) == ("rape", 4, [9.0])
    (pour,) = poured(STORED, move)
    assert (pour.share, pour.takes_over) == (1.0, True)


@pytest.mark.parametrize(
    ("source", "into", "empty", "left_kg"),
    [("small", "big", True, 0), ("big", "small", False, 10), ("small", "twin", True, 0)],
)
def test_all_that_fits_empties_a_bath_that_is_no_larger(source, into, empty, left_kg):
    stands = after(Move(at=at(0), fryer=source, into=into))
    assert (stands.bath(source).empty, stands.bath(source).kg) == (empty, left_kg)
    assert stands.bath(into) == Content(oil=account_of(KITCHEN).bath(source).oil, kg=10)


def test_topping_up_begins_no_fill_and_stays_at_the_mark():
    short = Move(at=at(1), fryer="small", into="big", mass_kg=4)
    to_mark = after(CHANGED, short, TopUp(at=at(2), fryer="small"))
    assert (to_mark.bath("small").kg, to_mark.bath("small").since) == (10, at(0))
    pours = poured(CHANGED, short, TopUp(at=at(2), fryer="small", mass_kg=5))
    assert [(pour.kg, pour.into is None, pour.fresh) for pour in pours] == [
        (1, True, False),
        (5, False, True),
    ]
    assert (pours[1].share, pours[1].takes_over) == (0.5, False)


def test_topping_up_an_empty_bath_does_not_fill_it():
    assert poured(STORED, TopUp(at=at(1), fryer="small")) == ()
    assert after(STORED, TopUp(at=at(1), fryer="small")).bath("small").empty


def test_what_is_measured_stays_with_its_fill_and_fills_no_empty_bath():
    result = LabResult(at=at(2), fryer="small", tpc_pct=9)
    assert after(READ, result).bath("small").measured == (READ, result)
    assert after(STORED, READ).bath("small").empty


def test_what_moves_no_oil_changes_nothing():
    start = account_of(KITCHEN)
    assert start.after(SensoryNote(at=at(0), fryer="small", spoiled=True), KITCHEN) == (start, ())


def test_a_fryer_that_came_later_is_full_of_its_own_oil():
    more = replace(KITCHEN, fryers=(*KITCHEN.fryers, Fryer(key="new", name="New", oil="palm", oil_mass_kg=7)))
    measured = Reading(at=at(2), fryer="new", meter="m1", tpc_pct=9)
    came, _ = after(STORED).after(measured, more)
    assert came.bath("new") == Content(oil="palm", kg=7, measured=(measured,))


@pytest.mark.parametrize(
    ("before", "entry", "why"),
    [
        ([STORED], Store(at=at(1), fryer="small"), Refusal(code=Impossible.EMPTY)),
        ([STORED], Move(at=at(1), fryer="small", into="big"), Refusal(code=Impossible.EMPTY)),
        ([], Return(at=at(1), fryer="small"), Refusal(code=Impossible.NOTHING_KEPT)),
        ([STORED], Return(at=at(1), fryer="small"), None),
        (
            [],
            Move(at=at(1), fryer="small", into="big"),
            Refusal(code=Impossible.AMOUNT_NEEDED, field="mass_kg"),
        ),
        ([STORED], Move(at=at(1), fryer="twin", into="small"), None),
        ([], Move(at=at(1), fryer="small", into="big", mass_kg=10), None),
        (
            [],
            Move(at=at(1), fryer="small", into="big", mass_kg=10.1),
            Refusal(code=Impossible.MORE_THAN_HELD, field="mass_kg", kg=10),
        ),
        ([], TopUp(at=at(1), fryer="small"), None),
        ([], TopUp(at=at(1), fryer="small", mass_kg=10), None),
        (
            [],
            TopUp(at=at(1), fryer="small", mass_kg=10.1),
            Refusal(code=Impossible.MORE_THAN_BATH, field="amount", kg=10),
        ),
        ([STORED], Change(at=at(1), fryer="small"), None),
    ],
)
def test_what_cannot_have_happened_is_refused(before, entry, why):
    assert refusal(after(*before), entry, KITCHEN) == why


FRYERS = st.sampled_from([fryer.key for fryer in KITCHEN.fryers])
MASSES = st.none() | st.floats(0, 25)
STAMP = {"at": st.integers(0, 9).map(at), "fryer": FRYERS}
ACTS = st.one_of(
    st.builds(Change, oil=st.none() | st.sampled_from(["rape", "palm"]), **STAMP),
    st.builds(Store, **STAMP),
    st.builds(Return, **STAMP),
    st.builds(TopUp, mass_kg=MASSES, **STAMP),
    st.builds(Reading, tpc_pct=st.floats(0, 40), **STAMP),
    st.tuples(STAMP["at"], FRYERS, FRYERS, MASSES)
    .filter(lambda drawn: drawn[1] != drawn[2])
    .map(lambda drawn: Move(at=drawn[0], fryer=drawn[1], into=drawn[2], mass_kg=drawn[3])),
)


@given(st.lists(ACTS, max_size=12))
def test_no_oil_comes_from_nowhere_nor_is_lost(entries):
    """What is held changes by what was poured and nothing else, in every vessel."""
    account = account_of(KITCHEN)
    for entry in in_order(entries):
        stands, pours = account.after(entry, KITCHEN)
        for vessel in {*account.contents, *stands.contents}:
            held_kg = [one.contents[vessel].kg if vessel in one.contents else 0 for one in (account, stands)]
            came_kg = sum(pour.kg for pour in pours if pour.into == vessel)
            went_kg = sum(pour.kg for pour in pours if pour.source == vessel)
            assert held_kg[1] == pytest.approx(held_kg[0] + came_kg - went_kg, abs=1e-9)
        assert all(0 <= pour.share <= 1 and pour.kg >= 0 for pour in pours)
        account = stands


@given(st.lists(ACTS, max_size=12))
def test_no_bath_holds_more_than_its_mark_nor_less_than_nothing(entries):
    stands = account_after(in_order(entries), KITCHEN)
    for fryer in KITCHEN.fryers:
        assert -1e-9 <= stands.bath(fryer.key).kg <= fryer.oil_mass_kg + 1e-9
        assert stands.bath(fryer.key).kg == 0 or not stands.bath(fryer.key).empty


@given(st.lists(ACTS, max_size=8).flatmap(lambda acts: st.tuples(st.just(acts), st.permutations(acts))))
def test_the_order_of_writing_and_writing_twice_change_nothing(drawn):
    entries, shuffled = drawn
    once, twice = (account_after(in_order(written), KITCHEN) for written in (entries, [*shuffled, *entries]))
    assert once == twice


def test_a_bath_holds_the_oil_of_its_day():
    """The fryer was given another oil in the settings later: what was filled before stays what it was."""
    other = replace(find(KITCHEN.fryers, "small"), oil="rape")
    rest = tuple(fryer for fryer in KITCHEN.fryers if fryer.key != "small")
    history = history_of(KITCHEN).then(replace(KITCHEN, fryers=(*rest, other)), at(2))
    filled, again = Change(at=at(1), fryer="small"), Change(at=at(3), fryer="small")
    assert account_after([], history).bath("small").oil == "sun"
    assert account_after([filled], history).bath("small").oil == "sun"
    assert account_after([filled, again], history).bath("small").oil == "rape"


def test_oil_that_fits_beside_what_is_there_drives_none_of_it_out():
    """Four kg go to the twin, which was full and loses as many; four kg back fill the gap."""
    there = Move(at=at(1), fryer="small", into="twin", mass_kg=4)
    back = Move(at=at(2), fryer="twin", into="small", mass_kg=4)
    account, poured = after(there).after(back, KITCHEN)
    assert [pour.kg for pour in poured] == [4]
    assert (account.bath("small").kg, account.bath("twin").kg) == (10, 6)
