"""The one rule: the earliest cause that holds gives the verdict, for one bath or for many."""

import re
from dataclasses import fields, replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.core.decision import (
    REASONS,
    URGENCY,
    Doubt,
    Evidence,
    LimitsInForce,
    Reason,
    VerdictKey,
    decide,
)

NOMENCLATURE = Path(__file__).parents[3] / "docs" / "reference" / "nomenclature.md"
RISK = 0.05
LIMIT = LimitsInForce(
    tpc_pct=np.array([24.0]), risk=np.array([RISK]), mapped=np.array([False]), reached=np.array([False])
)
CALM = Evidence(
    empty=False,
    recalled=False,
    spoiled=False,
    out_of_order=False,
    metered=True,
    unknown=False,
    overdue=False,
    unread=False,
    unseen=False,
    could_fry_on=True,
    meter_off=False,
    doubt=Doubt.NONE,
    mean_pct=12.0,
    highest_pct=12.0,
    readings=1,
    laboratory=False,
)
LOW, HIGH = 0.01, 0.9
# what makes each cause hold, in the order of the rule as the product states it
RULE = {
    Reason.EMPTY: ("change_before", {"empty": True}),
    Reason.RECALLED: ("change_before", {"recalled": True}),
    Reason.SPOILED: ("change_before", {"spoiled": True}),
    Reason.OUT_OF_ORDER: ("measure_again", {"out_of_order": True}),
    Reason.UNKNOWN_FILL: ("measure_again", {"unknown": True}),
    Reason.MEAN_PAST: ("change_before", {"mean_pct": 24.5, "highest_pct": 25.0, "readings": 2}),
    Reason.CONTRADICTED: ("measure_again", {"doubt": Doubt.CONTRADICTS}),
    Reason.OVERDUE: ("measure_again", {"overdue": True}),
    Reason.UNREAD: ("measure_again", {"unread": True, "odds": (LOW, HIGH)}),
    Reason.UNSEEN: ("measure_again", {"unseen": True, "odds": (LOW, HIGH)}),
    Reason.TOO_RISKY: ("change_before", {"odds": (HIGH, HIGH)}),
    Reason.PAST_AND_RISKY: ("change_before", {"highest_pct": 25.0, "odds": (LOW, HIGH)}),
    Reason.METER_OFF: ("measure_again", {"meter_off": True, "odds": (LOW, HIGH)}),
    Reason.TOO_RISKY_NEXT: ("change_after", {"odds": (LOW, HIGH)}),
    Reason.DOUBTED: ("measure_again", {"doubt": Doubt.WET}),
    Reason.ONE_PAST: ("measure_again", {"highest_pct": 25.0}),
    Reason.RISK_ACCEPTED: ("fry_on", {}),
}


def told(evidence=CALM, odds=(LOW, LOW), limits=LIMIT):
    """Return verdict and reason of one bath judged by one limit."""
    decided = decide(np.array([odds]), evidence, limits=limits)
    return URGENCY[int(decided.verdict)], REASONS[int(decided.reason)]


def given_all(*causes):
    """Return evidence and odds in which several causes hold at once."""
    merged = {}
    for cause in causes:
        for name, value in RULE[cause][1].items():
            merged[name] = max(merged.get(name, value), value)
    odds = merged.pop("odds", (LOW, LOW))
    return replace(CALM, **merged), odds


def test_the_rule_has_a_cause_for_every_reason():
    assert set(RULE) == set(Reason)


def test_every_reason_is_documented_with_its_verdict_in_the_order_of_the_rule():
    section = NOMENCLATURE.read_text(encoding="utf-8").split("### Reasons")[1].split("\n## ")[0]
    rows = re.findall(r"^\| `(\w+)` \| `(\w+)` \|", section, flags=re.MULTILINE)
    assert rows == [(str(reason), verdict) for reason, (verdict, _) in RULE.items()]


@pytest.mark.parametrize("reason", RULE)
def test_each_cause_alone_gives_its_verdict(reason):
    assert told(*given_all(reason)) == (RULE[reason][0], reason)


# a reading past the limit makes of odds that are too bad soon a cause of their own
OF_THEIR_OWN = {(Reason.TOO_RISKY_NEXT, Reason.ONE_PAST), (Reason.METER_OFF, Reason.ONE_PAST)}
TOGETHER = [pair for pair in combinations(RULE, 2) if pair not in OF_THEIR_OWN]


@pytest.mark.parametrize(("earlier", "later"), TOGETHER)
def test_of_two_causes_at_once_the_earlier_gives_the_verdict(earlier, later):
    assert told(*given_all(earlier, later)) == (RULE[earlier][0], earlier)


@pytest.mark.parametrize(
    ("doubt", "reason"),
    [
        (Doubt.UNSOUND, Reason.DOUBTED),
        (Doubt.OUT_OF_RANGE, Reason.DOUBTED),
        (Doubt.WET, Reason.DOUBTED),
        (Doubt.UNLOGGED_CHANGE, Reason.CONTRADICTED),
        (Doubt.CONTRADICTS, Reason.CONTRADICTED),
    ],
)
def test_a_reading_below_the_book_contradicts_the_odds_and_any_other_doubt_comes_after_them(doubt, reason):
    doubted = replace(CALM, doubt=doubt)
    assert told(doubted) == ("measure_again", reason)
    risky = Reason.CONTRADICTED if reason is Reason.CONTRADICTED else Reason.TOO_RISKY
    assert told(doubted, (HIGH, HIGH))[1] is risky


@pytest.mark.parametrize("odds", [(LOW, LOW), (LOW, HIGH), (HIGH, HIGH)])
@pytest.mark.parametrize("metered", [True, False])
def test_oil_of_which_nothing_is_known_is_looked_at_before_anybody_throws_it_away(odds, metered):
    unknown = replace(CALM, unknown=True, metered=metered)
    assert told(unknown, odds) == ("measure_again", Reason.UNKNOWN_FILL)
    assert told(replace(unknown, spoiled=True), odds) == ("change_before", Reason.SPOILED)


@pytest.mark.parametrize("reason", [Reason.OVERDUE, Reason.UNREAD])
def test_without_a_meter_nobody_is_asked_to_read(reason):
    evidence, odds = given_all(reason)
    assert told(replace(evidence, metered=False), odds)[1] in (Reason.RISK_ACCEPTED, Reason.TOO_RISKY_NEXT)


@pytest.mark.parametrize("reason", [Reason.OVERDUE, Reason.UNREAD])
def test_nor_where_no_reading_could_let_it_fry_on(reason):
    evidence, odds = given_all(reason)
    assert told(replace(evidence, could_fry_on=False), odds)[1] in (
        Reason.RISK_ACCEPTED,
        Reason.TOO_RISKY_NEXT,
    )


def test_a_fill_that_was_never_read_is_measured_only_where_the_odds_are_too_bad():
    unread = replace(CALM, unread=True)
    assert told(unread) == ("fry_on", Reason.RISK_ACCEPTED)
    assert told(unread, (HIGH, HIGH)) == ("measure_again", Reason.UNREAD)


@pytest.mark.parametrize(("odds", "key"), [((RISK, RISK), "fry_on"), ((0.0501, 0.06), "change_before")])
def test_a_risk_just_reached_is_still_accepted(odds, key):
    assert told(odds=odds)[0] == key


@pytest.mark.parametrize(
    ("readings", "key"), [(1, "measure_again"), (2, "change_before"), (3, "change_before")]
)
def test_two_readings_decide_alone_and_one_does_not(readings, key):
    past = replace(CALM, mean_pct=24.1, highest_pct=24.1, readings=readings)
    assert told(past)[0] == key


def test_a_laboratory_result_decides_alone():
    past = replace(CALM, mean_pct=24.1, highest_pct=24.1, readings=1, laboratory=True)
    assert told(past) == ("change_before", Reason.MEAN_PAST)


def test_the_highest_of_two_readings_past_a_limit_is_read_again_where_their_mean_is_not():
    apart = replace(CALM, mean_pct=23.5, highest_pct=25.0, readings=2)
    assert told(apart) == ("measure_again", Reason.ONE_PAST)


def test_no_sound_reading_lies_past_no_limit():
    assert told(replace(CALM, mean_pct=np.nan, highest_pct=np.nan, readings=2))[0] == "fry_on"


@pytest.mark.parametrize(("reached", "key"), [(False, "fry_on"), (True, "change_before")])
def test_a_reading_at_a_limit_is_past_it_only_where_reaching_it_is_unfit(reached, key):
    at_limit = replace(CALM, mean_pct=24.0, highest_pct=24.0, readings=2)
    assert told(at_limit, limits=replace(LIMIT, reached=np.array([reached])))[0] == key


def several(tpc_pct, *, risk, mapped):
    return LimitsInForce(
        tpc_pct=np.array(tpc_pct),
        risk=np.array(risk),
        mapped=np.array(mapped),
        reached=np.zeros(len(tpc_pct), bool),
    )


def test_a_reading_is_held_against_the_lowest_limit_on_polar_compounds_itself():
    limits = several([21.0, 27.0, 24.0], risk=[RISK] * 3, mapped=[True, False, False])
    odds = np.full((3, 2), LOW)
    two = replace(CALM, mean_pct=22.0, highest_pct=22.0, readings=2)
    assert URGENCY[int(decide(odds, two, limits=limits).verdict)] is VerdictKey.FRY_ON
    past_both = decide(odds, replace(two, mean_pct=28.0), limits=limits)
    assert (URGENCY[int(past_both.verdict)], int(past_both.limit)) == (VerdictKey.CHANGE_BEFORE, 2)
    highest = decide(odds, replace(two, highest_pct=24.5), limits=limits)
    assert (REASONS[int(highest.reason)], int(highest.limit)) == (Reason.ONE_PAST, 2)


def test_the_mean_and_the_highest_may_pass_different_limits():
    limits = several([26.0, 24.0], risk=[RISK] * 2, mapped=[False, False])
    odds = np.full((2, 2), LOW)
    two = replace(CALM, mean_pct=24.5, highest_pct=27.0, readings=2)
    assert int(decide(odds, two, limits=limits).limit) == 1
    higher = replace(CALM, mean_pct=20.0, highest_pct=24.5, readings=2)
    assert int(decide(odds, higher, limits=limits).limit) == 1


def test_the_limit_that_presses_most_is_told_by_its_own_risk_and_service():
    limits = several([21.0, 24.0], risk=[0.3, 0.05], mapped=[True, False])
    odds = np.array([[0.28, 0.9], [0.04, 0.045]])  # 0.93 and 0.8 of the risk now; 3 and 0.9 of it next
    decided = decide(odds, CALM, limits=limits)
    assert (URGENCY[int(decided.verdict)], int(decided.limit), int(decided.service)) == ("change_after", 0, 1)
    odds = np.array([[0.2, 0.4], [0.04, 0.045]])  # 0.67 and 0.8 now; 1.3 and 0.9 next
    decided = decide(odds, CALM, limits=limits)
    assert (URGENCY[int(decided.verdict)], int(decided.limit), int(decided.service)) == ("change_after", 0, 1)
    odds = np.array([[0.2, 0.25], [0.04, 0.3]])  # 0.67 and 0.8 now; 0.83 and 6 next
    decided = decide(odds, CALM, limits=limits)
    assert (URGENCY[int(decided.verdict)], int(decided.limit), int(decided.service)) == ("change_after", 1, 1)
    odds = np.array([[0.2, 0.25], [0.04, 0.045]])
    decided = decide(odds, CALM, limits=limits)
    assert (URGENCY[int(decided.verdict)], int(decided.limit), int(decided.service)) == ("fry_on", 1, 0)
    odds = np.array([[0.4, 0.99], [0.04, 0.99]])
    decided = decide(odds, CALM, limits=limits)
    assert (URGENCY[int(decided.verdict)], int(decided.limit), int(decided.service)) == (
        "change_before",
        0,
        0,
    )


flags = st.booleans()
drawn = st.builds(
    Evidence,
    empty=flags,
    recalled=flags,
    spoiled=flags,
    out_of_order=flags,
    metered=flags,
    unknown=flags,
    overdue=flags,
    unread=flags,
    unseen=flags,
    could_fry_on=flags,
    meter_off=flags,
    doubt=st.sampled_from(Doubt),
    mean_pct=st.sampled_from([np.nan, 12.0, 23.0, 24.0, 25.0]),
    highest_pct=st.sampled_from([np.nan, 12.0, 23.0, 24.0, 25.0]),
    readings=st.integers(0, 3),
    laboratory=flags,
)
chances = st.sampled_from([0.0, 0.04, 0.05, 0.06, 0.9])
baths = st.tuples(drawn, st.lists(st.tuples(chances, chances), min_size=2, max_size=2))


@given(st.lists(baths, min_size=6, max_size=6))
def test_many_baths_at_once_are_decided_as_each_alone(drawn_baths):
    """Two kitchens of three fryers, two limits."""
    limits = several([22.0, 24.0], risk=[0.05, 0.3], mapped=[True, False])
    evidence = Evidence(
        **{
            field.name: np.array([getattr(each, field.name) for each, _ in drawn_baths]).reshape(2, 3)
            for field in fields(Evidence)
        }
    )
    odds = np.moveaxis(np.array([odds for _, odds in drawn_baths]), 0, -1).reshape(2, 2, 2, 3)
    together = decide(odds, evidence, limits=limits)
    alone = [decide(np.array(odds), each, limits=limits) for each, odds in drawn_baths]
    for name in ("verdict", "reason", "limit", "service"):
        assert getattr(together, name).shape == (2, 3)
        assert getattr(together, name).ravel().tolist() == [int(getattr(each, name)) for each in alone]


@given(drawn, st.tuples(chances, chances))
def test_past_a_limit_nothing_is_fried_on(evidence, odds):
    """A reading past a limit, or its like from the laboratory, is measured again or changed."""
    if not evidence.highest_pct > 24:
        evidence = replace(evidence, highest_pct=25.0)
    assert told(evidence, odds)[0] in ("measure_again", "change_before")


any_chances = st.tuples(st.floats(0, 1), st.floats(0, 1))


@given(st.just(CALM) | drawn, any_chances, any_chances, st.sampled_from([0.01, 0.05, 0.5]))
def test_higher_odds_never_make_a_verdict_milder(evidence, odds, more, risk):
    """Beyond even chances, too, and of a fill that was never read."""
    higher, limits = tuple(np.maximum(odds, more)), replace(LIMIT, risk=np.array([risk]))
    mildness = ["change_before", "change_after", "measure_again", "fry_on"]
    stricter, milder = (mildness.index(told(evidence, each, limits)[0]) for each in (higher, odds))
    assert stricter <= milder
