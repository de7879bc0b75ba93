"""Oil treated with filter powder, skimmed or filtered."""

import pytest

from kettlewell.book import Care, Change
from kettlewell.core.belief.walk import walk_to


@pytest.fixture
def cared(at):
    """Care for ``big`` on the evening of the third day."""
    return lambda kind, day=2, clock="21:00": Care(at=at(day, clock), fryer="big", kind=kind)


@pytest.mark.parametrize("kind", ["skim", "filter", "shared-filter", "boil-out"])
def test_no_other_care_changes_what_is_believed_of_the_oil(told, book, at, cared, kind):
    entries, now = book(4, 9, 14), at(3, "09:30")
    usual, after = told(entries, now), told([*entries, cared(kind)], now)
    assert (after.tpc_mean_pct, after.tpc_sd_pct) == (usual.tpc_mean_pct, usual.tpc_sd_pct)


def test_powder_takes_a_little_out_and_leaves_more_to_be_read(told, book, at, cared):
    entries, now = book(4, 9, 14), at(3, "09:30")
    usual, after = told(entries, now), told([*entries, cared("adsorbent")], now)
    assert after.tpc_mean_pct == pytest.approx(usual.tpc_mean_pct - 0.4, abs=0.05)
    assert after.tpc_sd_pct > usual.tpc_sd_pct
    assert after.rate_sd_pct_per_h > usual.rate_sd_pct_per_h
    assert after.rate_pct_per_h == pytest.approx(usual.rate_pct_per_h)


def test_powder_never_makes_oil_fresher_than_fresh(told, at, cared):
    change = Change(at=at(0, "08:00"), fryer="big")
    fresh, after = (
        told(book, at(0, "10:30")) for book in ([change], [change, cared("adsorbent", 0, "09:00")])
    )
    assert after.tpc_mean_pct == pytest.approx(fresh.tpc_mean_pct, abs=0.01)


def test_a_reading_after_it_weighs_more_than_one_without_powder(told, book, read, at, cared):
    """What the powder is said to have done is believed as far as the next reading bears it out."""
    low, now = read(3, "09:00", 11.0), at(3, "09:30")
    without = told([*book(4, 9, 14), low], now)
    treated = told([*book(4, 9, 14), cared("adsorbent"), low], now)
    assert treated.tpc_mean_pct < without.tpc_mean_pct


def test_what_powder_does_every_evening_ends_up_in_the_rate_of_its_fryer(kitchen, at, read, cared):
    """Two fryers read alike, one of them treated every evening: its oil is believed to age faster."""
    entries, treated = [Change(at=at(0, "08:00"), fryer="big")], []
    for day in range(10):
        entries.append(read(day, "09:00", 4 + 1.2 * day))
        treated.append(cared("adsorbent", day))
    now = at(9, "10:00")
    rates = [
        walk_to(kitchen, book, now=now).state.belief.own_mean()[0, 0, 1]
        for book in (entries, [*entries, *treated])
    ]
    assert rates[1] > rates[0]
