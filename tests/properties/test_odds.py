"""What must hold of the odds that a limit is passed, and of what they lead to, in any book."""

from dataclasses import replace

from drawn import FEWER, KITCHEN, NOW, books
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.core import assess

MILDEST_FIRST = ["fry_on", "measure_again", "change_after", "change_before"]
two_limits = st.lists(st.integers(12, 30), min_size=2, max_size=2).map(sorted)
two_risks = st.lists(st.sampled_from([0.01, 0.03, 0.05, 0.1, 0.3, 0.5]), min_size=2, max_size=2).map(sorted)


def told(entries, *, limit_pct=24, risk=0.05):
    (limit,) = KITCHEN.limits
    kitchen = replace(KITCHEN, risk=risk, limits=(replace(limit, value=limit_pct),))
    return {bath.fryer: bath for bath in assess(kitchen, entries, now=NOW)}


def strictness(verdict_key):
    return MILDEST_FIRST.index(verdict_key)


def strictness_by_reading(card):
    """Return how strict a card is at every half point."""
    found = []
    for pct in (n / 2 for n in range(81)):
        (line,) = (
            line
            for line in card.lines
            if (line.from_pct is None or pct >= line.from_pct) and (line.to_pct is None or pct < line.to_pct)
        )
        found.append(strictness(line.key))
    return found


def assert_no_milder(stricter, milder):
    for fryer, bath in stricter.items():
        other = milder[fryer]
        assert strictness(bath.verdict.key) >= strictness(other.verdict.key)
        by_reading = zip(strictness_by_reading(bath.card), strictness_by_reading(other.card), strict=True)
        assert all(strict >= mild for strict, mild in by_reading)


@given(entries=books, two=two_limits)
@FEWER
def test_a_lower_limit_is_passed_more_probably_and_never_leads_to_a_milder_verdict(entries, two):
    """Up to certainty, in every service to come and on every line of the card."""
    low, high = (told(entries, limit_pct=limit_pct) for limit_pct in two)
    assert_no_milder(low, high)
    for fryer, bath in low.items():
        for near, far in zip(bath.forecast, high[fryer].forecast, strict=True):
            assert near.passing_probability >= far.passing_probability - 1e-12
        chances = [coming.passing_probability for coming in bath.forecast]
        assert bath.verdict.passing_probability <= bath.verdict.passing_probability_next
        assert chances == sorted(chances)


@given(entries=books, two=two_risks)
@FEWER
def test_who_accepts_less_risk_is_never_told_anything_milder(entries, two):
    """Nor by any line of the card."""
    assert_no_milder(*(told(entries, risk=risk) for risk in two))
