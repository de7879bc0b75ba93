"""A kitchen without a meter is told to smell and look before anybody tells it to change its oil."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import example, given, settings
from hypothesis import strategies as st

from kettlewell.book import Change, SensoryNote
from kettlewell.core import assess
from kettlewell.folder import MARROWBY, read_folder

KITCHEN = replace(read_folder(MARROWBY).setup.kitchen, meters=(), reference_lots=())
FRYERS = [fryer.key for fryer in KITCHEN.fryers]
MONDAY = datetime(2026, 11, 16, tzinfo=UTC)
LONGEST_DAYS = 60  # as far back as the step of set-up that asks can go
A_CHANGE = {"change_before", "change_after"}
told_ages = st.fixed_dictionaries({key: st.none() | st.integers(0, LONGEST_DAYS) for key in FRYERS})
hours = st.integers(0, 7 * 24 - 1)


def filled(ages, now):
    """Return what set-up writes of the ages that were told."""
    return [
        Change(at=now - timedelta(days=days), fryer=key) for key, days in ages.items() if days is not None
    ]


@given(ages=told_ages, hour=hours)
@example(ages=dict.fromkeys(FRYERS, LONGEST_DAYS), hour=9)
@settings(deadline=None, max_examples=25)
def test_the_first_verdict_is_never_a_change_however_old_the_oil_is_said_to_be(ages, hour):
    now = MONDAY + timedelta(hours=hour)
    for assessment in assess(KITCHEN, filled(ages, now), now=now):
        assert assessment.verdict.key not in A_CHANGE
        assert assessment.verdict.reason.code in {"unknown_fill", "unseen", "risk_accepted"}


@given(hour=hours)
@settings(deadline=None, max_examples=10)
def test_once_it_was_looked_at_the_records_decide(hour):
    now = MONDAY + timedelta(hours=hour)
    old = filled(dict.fromkeys(FRYERS, LONGEST_DAYS), now)
    fine = [SensoryNote(at=now, fryer=key, spoiled=False) for key in FRYERS]
    unseen = assess(KITCHEN, old, now=now)
    assert {each.verdict.reason.code for each in unseen} == {"unseen"}
    assert {each.verdict.changes_if.code for each in unseen} == {"looked_at"}
    assert all(each.verdict.key in A_CHANGE for each in assess(KITCHEN, [*old, *fine], now=now))


def test_what_was_seen_of_other_oil_says_nothing_of_this():
    now = MONDAY + timedelta(hours=9)
    fine = [SensoryNote(at=now - timedelta(days=61), fryer=key, spoiled=False) for key in FRYERS]
    old = filled(dict.fromkeys(FRYERS, LONGEST_DAYS), now)
    assert {each.verdict.reason.code for each in assess(KITCHEN, [*fine, *old], now=now)} == {"unseen"}
