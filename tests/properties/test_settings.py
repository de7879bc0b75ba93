"""Settings have a time: a change counts from its day on, and what-if equals what then happens."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from drawn import DAYS, FEW, FEWER, KITCHEN, NOW, START, begun, moments, written
from hypothesis import given
from hypothesis import strategies as st
from settings_drawn import CHANGES, changed, names, of_things
from states import assert_alike, differences

from kettlewell.book import Care, Change, MeterOut, OfService, Reading, Return, history_from, history_of
from kettlewell.core import assess, checkpoint, history
from kettlewell.core.belief.walk import walk_to

LATER = timedelta(hours=5)
RUNS = timedelta(hours=15)  # from a day's first service to the end of its last


def from_the_first(entries, *moments):
    """Return moments in order, all of them once the book has begun."""
    first = min(entry.at for entry in entries) + timedelta(minutes=5)
    return sorted(max(first, moment) for moment in moments)


def since(entries, state):
    """Return the entries that a state does not cover."""
    return [entry for entry in entries if entry.at >= state.covers_to]


@pytest.mark.parametrize("name", CHANGES)
@given(entries=begun, first=moments, now=moments)
@FEWER
def test_what_if_equals_what_then_happens(name, entries, first, now):
    """As supposed, so saved: told at once or later, from nothing or a checkpoint; to the last bit."""
    first, now = from_the_first(entries, first, now)
    other = changed(KITCHEN, [name])
    supposed = assess(history_of(KITCHEN).then(other, now), entries, now=now)
    saved = history_from([(START, KITCHEN), (now, other), (now + LATER, changed(other, ["hotter"]))])
    assert assess(saved, entries, now=now) == supposed
    before = checkpoint(KITCHEN, entries, at=first)
    assert assess(saved, since(entries, before), now=now, since=before) == supposed


@given(entries=begun, now=moments, temps_c=st.lists(st.integers(100, 175), min_size=2, max_size=2))
@FEW
def test_a_thermostat_turned_down_further_between_loads_never_ages_the_oil_more(entries, now, temps_c):
    """None of what is believed now moves, and every service to come reaches no higher level."""
    (now,) = from_the_first(entries, now)
    lower, higher = (
        {
            bath.fryer: bath
            for bath in assess(
                history_of(KITCHEN).then(of_things("fryers", standby_temp_c=temp_c)(KITCHEN), now),
                entries,
                now=now,
            )
        }
        for temp_c in sorted(temps_c)
    )
    assert lower.keys() == higher.keys()
    for fryer, bath in lower.items():
        assert bath.tpc_mean_pct == higher[fryer].tpc_mean_pct
        for one, other in zip(bath.forecast, higher[fryer].forecast, strict=False):
            assert one.tpc_mean_pct <= other.tpc_mean_pct + 1e-9


@given(
    begins=st.sampled_from([Change, Return]),
    entries=begun,
    changes=names,
    times=st.tuples(moments, moments, moments, moments),
)
@FEW
def test_going_on_over_a_change_of_settings_is_exactly_a_replay(begins, entries, changes, times):
    """From a checkpoint made before the change, which stays valid, and from one made from it after it.

    The book begins by telling of every bath, so that what a state says of it rests on nothing later; no
    service begins on the instant of the change, which would be the first of a day that ends the last.
    """
    first, then, second, now = times
    entries = [*(begins(at=START - LATER, fryer=fryer.key) for fryer in KITCHEN.fryers), *entries]
    first, now = from_the_first(entries, first, now)
    second = min(max(first, second), now)
    settings = history_of(KITCHEN).then(changed(KITCHEN, changes), max(then, first) + timedelta(minutes=1))
    before = checkpoint(KITCHEN, entries, at=first)
    assert not differences(before, checkpoint(settings, entries, at=first))
    replayed = assess(settings, entries, now=now)
    assert assess(settings, since(entries, before), now=now, since=before) == replayed
    gone_on = checkpoint(settings, since(entries, before), at=second, since=before)
    assert not differences(gone_on, checkpoint(settings, entries, at=second))
    assert assess(settings, since(entries, gone_on), now=now, since=gone_on) == replayed


DAILY = [START + timedelta(days=day, minutes=1) for day in range(DAYS + 1)]
OF_OIL = ("tpc_mean_pct", "tpc_sd_pct", "filled_at", "last_reading_at", "last_reading_pct", "empty")


@pytest.mark.parametrize("name", CHANGES)
@given(entries=begun, now=moments)
@FEWER
def test_a_change_of_settings_changes_nothing_that_is_believed_of_the_oil_now(name, entries, now):
    """What is measured at that very moment is measured under the new settings, and so left out.

    Something is written every day: a service that comes with the settings may begin a day, and then it is
    known that nothing was written of the one before.
    """
    (now,) = from_the_first(entries, now)
    entries = [entry for entry in entries if entry.at != now]
    begins = min(entry.at for entry in entries) if entries else now
    entries += [Care(at=day, fryer="one", kind="skim") for day in DAILY if begins < day < now]
    was = {bath.fryer: bath for bath in assess(KITCHEN, entries, now=now)}
    settings = history_of(KITCHEN).then(changed(KITCHEN, [name]), now)
    for bath in assess(settings, entries, now=now):
        if bath.fryer in was:
            for field in OF_OIL:
                told, before = getattr(bath, field), getattr(was[bath.fryer], field)
                assert_alike(told, before, rel=1e-7, path=f"{bath.fryer} {field}")


# what was known stays known, in the order it was; and an entry that names what is gone brings it back
NO_CHANGE = {"a meter less", "a fryer less", "oils in another order"}
real_changes = st.lists(
    st.sampled_from(sorted(set(CHANGES) - NO_CHANGE)), min_size=1, max_size=3, unique=True
).filter(lambda names: changed(KITCHEN, names) != KITCHEN)


@given(entries=begun, changes=real_changes, then=moments)
@FEW
def test_a_change_of_settings_leaves_the_past_before_it_as_it_was_told(entries, changes, then):
    """Every bath was filled when the book began, and no later load tells of an earlier service.

    But for the services of the day that still ran: that nothing was written of it is known as it ends.
    """
    entries = [*(Change(at=START - LATER, fryer=fryer.key) for fryer in KITCHEN.fryers), *entries]
    (then,) = from_the_first(entries, then)
    entries = [entry for entry in entries if entry.at < then or not isinstance(entry, OfService)]
    before = then - timedelta(seconds=1)
    told = history(KITCHEN, entries, now=before)
    settings = history_of(KITCHEN).then(changed(KITCHEN, changes), then)
    later = history(settings, entries, now=NOW)
    for fryer, past in told.items():
        if fryer in later:
            known = {moment.at: moment for moment in later[fryer]}
            for moment in past:
                if moment.at < past[-1].at - RUNS:
                    assert_alike(known[moment.at], moment, rel=1e-6, path=fryer)


EVERYTHING = written(
    fryers=("one", "two", "three"),
    oils=("rape", "sun", "palm"),
    meters=("hand", "lent", "bought"),
    products=("fries", "fish"),
    lots=("R1", "R2", "R3"),
)
EVER = ["a fryer more", "a meter more", "a bottle more"]


@st.composite
def lives(draw):
    """Draw the settings of a kitchen in which things come, change and go, and ever had all that is named."""
    times = sorted(draw(st.lists(moments, min_size=1, max_size=4, unique=True)))
    kitchens = [KITCHEN, changed(KITCHEN, EVER)]
    for _ in times[1:]:
        kitchens.append(changed(kitchens[-1], draw(names)))
    return history_from(zip([START - timedelta(days=9), *times], kitchens, strict=True))


@given(settings=lives(), entries=st.lists(EVERYTHING, min_size=1, max_size=25), now=moments, first=moments)
@FEW
def test_things_come_change_and_go_while_entries_name_them_at_any_time(settings, entries, now, first):
    """Before they were written down, while they were there, and after they were removed."""
    first, now = from_the_first(entries, first, now)
    answers = assess(settings, entries, now=now)
    assert {bath.fryer for bath in answers} <= {fryer.key for fryer in settings.at(now).fryers}
    assert all(
        np.isfinite([bath.tpc_mean_pct, bath.tpc_sd_pct, bath.rate_pct_per_h]).all() for bath in answers
    )
    belief = walk_to(settings, entries, now=now).up_to_date()
    for cov in (belief.shared_cov, belief.own_cov):
        assert np.linalg.eigvalsh((cov + cov.swapaxes(-1, -2)) / 2).min() > -1e-9
    assert assess(settings, entries[::-1], now=now) == answers
    before = checkpoint(settings, entries, at=first)
    assert assess(settings, since(entries, before), now=now, since=before) == answers
    for past in history(settings, entries, now=now).values():
        assert np.isfinite([[moment.tpc_mean_pct, moment.tpc_sd_pct] for moment in past]).all()


def test_oil_in_a_bath_that_is_set_up_only_later_is_judged_all_the_same():
    later = replace(KITCHEN, oils=(*KITCHEN.oils, replace(KITCHEN.oils[0], key="new", name="New oil")))
    settings = history_of(KITCHEN).then(later, START + timedelta(hours=1))
    fryer = KITCHEN.fryers[0].key
    answers = assess(settings, [Change(at=START, fryer=fryer, oil="new")], now=START)
    assert fryer in {bath.fryer for bath in answers}


@pytest.mark.parametrize("table", ["meters", "oils", "fryers"])
@given(entries=begun, now=moments)
@FEW
def test_the_order_in_which_things_are_listed_never_matters(table, entries, now):
    """Every reading names its meter; in the end one meter is in use, for which the card is made."""
    (now,) = from_the_first(entries, now)
    named = [
        replace(entry, meter=entry.meter or "hand") if isinstance(entry, Reading) else entry
        for entry in entries
    ]
    named = [entry for entry in named if not isinstance(entry, MeterOut)]
    named.append(MeterOut(at=now, meter="lent"))
    other = replace(KITCHEN, **{table: getattr(KITCHEN, table)[::-1]})
    answers = [{bath.fryer: bath for bath in assess(place, named, now=now)} for place in (KITCHEN, other)]
    for fryer, bath in answers[0].items():
        assert_alike(answers[1][fryer], bath, rel=1e-9, path=fryer)
