"""A limit on polymers, judged through polar compounds, or by what the laboratory finds."""

from dataclasses import replace

import pytest

from kettlewell.book import LabResult, Polymers
from kettlewell.core import assess, checkpoint


@pytest.fixture
def place(kitchen):
    """A kitchen whose law limits polymers beside polar compounds."""
    polar = replace(kitchen.limits[0], value=27)
    return replace(kitchen, limits=(polar, replace(polar, quantity="polymerised triglycerides", value=12)))


def big(place, entries, at, now, since=None):
    """Return what is said of the big fryer, which holds rapeseed oil."""
    return next(bath for bath in assess(place, entries, now=now, since=since) if bath.fryer == "big")


def sampled(at, polymers_pct, tpc_pct=19.0):
    """Return a result on the big fryer's oil of the fourth morning."""
    return LabResult(at=at(3, "09:10"), fryer="big", tpc_pct=tpc_pct, u_pct=0.5, polymers_pct=polymers_pct)


def test_polymers_past_the_limit_in_the_laboratory_are_a_change_though_polar_compounds_are_below(
    place, book, at
):
    now = at(3, "09:30")
    past, below = (big(place, [*book(4, 9, 14), sampled(at, pct)], at, now) for pct in (14.0, 6.0))
    assert (past.verdict.key, past.verdict.reason.quantity) == ("change_before", "polymerised triglycerides")
    assert below.verdict.key == "fry_on"


def test_what_the_laboratory_found_counts_from_a_checkpoint_on(place, book, at):
    entries, now = [*book(4, 9, 14), sampled(at, 11.0)], at(5, "09:30")
    since = checkpoint(place, entries, at=at(5, "09:00"))
    assert big(place, entries, at, now, since=since) == big(place, entries, at, now)
    assert since.place.polymers


def test_a_figure_of_many_polymers_moves_the_limit_of_that_oil(place, book, at):
    then = [*book(4, 9, 14), sampled(at, 14.0)]
    without = [*book(4, 9, 14), sampled(at, None)]
    lowest = [
        min(each.tpc_pct for each in big(place, book_, at, at(3, "09:30")).limits)
        for book_ in (then, without)
    ]
    assert lowest[0] < lowest[1]


def test_a_chef_may_leave_polymers_to_the_laboratory(place, book, at):
    left = replace(place, polymers=Polymers.LABORATORY)
    before = big(left, book(4, 9, 14), at, at(3, "09:05"))
    after = big(left, [*book(4, 9, 14), sampled(at, 14.0)], at, at(3, "09:30"))
    assert [limit.mapped for limit in before.limits] == [False]
    assert after.verdict.key == "change_before"
