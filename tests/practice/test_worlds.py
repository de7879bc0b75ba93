"""Many worlds: each is what it says, and practice and `assess` decide alike in it."""

from dataclasses import replace

import numpy as np
import pytest

from kettlewell.practice.alike import said_of, unlike
from kettlewell.practice.heights import HIGH_PCT, Heights, try_heights
from kettlewell.practice.kitchens import LIMIT_PCT, draw_practice
from kettlewell.practice.rules import Clairvoyant
from kettlewell.practice.run import run
from kettlewell.practice.worlds import SEEDS, WORLDS, Use


def drawn(name, kitchens=10, days=60, seed=4):
    """Return a few kitchens of a world."""
    world = WORLDS[name]
    rng = np.random.default_rng(seed)
    return draw_practice(rng, kitchens=kitchens, fryers=world.fryers, days=days, habits=world.habits)


def test_choices_and_judgements_are_made_on_kitchens_of_their_own():
    assert len(set(SEEDS.values())) == len(Use)
    assert {world.use for world in WORLDS.values()} == set(Use)
    assert len(WORLDS) >= 12


@pytest.mark.parametrize("name", WORLDS)
def test_a_world_says_what_it_is_and_on_what_it_rests(name):
    assert WORLDS[name].says.endswith(".")
    assert WORLDS[name].rest


@pytest.mark.parametrize("name", WORLDS)
def test_the_clairvoyant_never_passes_the_limit_in_any_world(name):
    practice = drawn(name)
    course = run(practice, Clairvoyant(practice=practice))
    assert course.highest_pct.max() <= LIMIT_PCT
    assert course.past_h.sum() == 0
    assert course.changed.any()


def test_a_day_turns_over_from_nothing_to_two_fifths_of_the_bath_where_turnover_is_heavy():
    practice = drawn("heavy turnover", kitchens=200, days=14)
    a_day = practice.draw * practice.rota.per_day
    assert a_day.min() < 0.01
    assert 0.3 < a_day.max() < 0.4


def test_a_meter_with_an_intercept_is_right_about_twenty_percent():
    practice = drawn("gain and intercept", kitchens=300, days=2)
    shown = practice.gain * 20 + practice.oil_offset_pct + practice.offset_pct[0]
    assert np.abs(shown - 20).max() < 2.2
    assert np.abs(practice.gain * 4 + practice.oil_offset_pct - 4).max() > 2


def test_deliveries_differ_by_two_points_up_or_down():
    fresh = drawn("whatever oil is cheapest", kitchens=300, days=56).fresh_pct[:, :, 0]
    assert 2 <= fresh.min() < 3
    assert 9 < fresh.max() <= 10
    assert np.ptp(fresh, axis=0).max() > 3


# a top-up written down before a dinner is taken for one of lunch, so that there odds differ a little
@pytest.mark.parametrize(
    "name",
    [
        *("topped up after", "seasons and closed weeks", "stuck meter"),
        *("control oil of the house", "control oils in turn", "loads a hundredfold"),
    ],
)
def test_assess_tells_of_the_book_what_the_rule_decided(name):
    practice = drawn(name, kitchens=2)
    said = list(said_of(practice, risk=0.1, care=WORLDS[name].care, times=range(2, practice.services, 11)))
    differ, apart = unlike(said)
    assert len(said) > 30
    assert differ == 0
    assert apart < 1e-9


def test_heights_are_held_against_the_highest_of_each_service():
    heights = Heights(
        highest_pct=np.array([[[10.0, 20.0, 23.0, 22.0]]]),
        low_pct=np.array([[[9.0, 21.0, 20.0, 20.0]]]),
        high_pct=np.array([[[11.0, 23.0, 22.0, 23.0]]]),
        heavy=np.array([[True, False, False, False]]),
    )
    assert heights.held(heights.everywhere) == 0.5
    assert heights.held(heights.of_heavy) == 1.0
    assert heights.held(heights.near_the_limit) == pytest.approx(1 / 3)
    assert heights.above(heights.near_the_limit) == pytest.approx(1 / 3)
    assert np.isnan(heights.held(np.zeros((1, 1, 4), bool)))


def test_intervals_of_the_highest_hold_in_the_plain_world():
    world = replace(WORLDS["plain"], fryers=2)
    rng = np.random.default_rng(4)
    practice = draw_practice(rng, kitchens=100, fryers=2, days=60, habits=world.habits)
    heights = try_heights(rng, practice, care=world.care, every_services=5)
    assert 0.85 < heights.held(heights.everywhere) < 0.97
    assert (heights.highest_pct[heights.near_the_limit] > HIGH_PCT).all()
