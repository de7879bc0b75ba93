"""The truth within a service: when fresh oil is poured decides what the service reaches."""

from dataclasses import replace

import numpy as np
import pytest

from kettlewell.practice.bath import PIECES, SUNK_TO, Bath, serve
from kettlewell.practice.habits import Habits, Physics, Topping
from kettlewell.practice.kitchens import draw_practice
from kettlewell.practice.rules import Never
from kettlewell.practice.run import run

BUSY = Physics(food_kg_per_kg=(0.5, 1.0))
POURED = tuple(way for way in Topping if way is not Topping.THROUGH)


def kitchens(*toppings, **habits):
    """Return twenty kitchens of two fryers that lose much oil to the food, over forty days."""
    drawn_from = Habits(toppings=toppings, physics=BUSY, **habits)
    return draw_practice(np.random.default_rng(3), kitchens=20, fryers=2, days=40, habits=drawn_from)


@pytest.fixture(scope="module")
def courses():
    """Return what becomes of the same kitchens topped up in each way, never changed."""
    return {way: run(kitchens(way), Never(practice=kitchens(way))) for way in Topping}


def test_the_way_to_top_up_is_all_that_differs(courses):
    assert np.array_equal(kitchens(Topping.BEFORE).load, kitchens(Topping.AFTER).load)
    assert np.array_equal(kitchens(Topping.BEFORE).noise_pct, kitchens(Topping.THROUGH).noise_pct)


def test_oil_poured_after_a_service_does_not_lower_what_it_reached(courses):
    after = courses[Topping.AFTER]
    assert (after.highest_pct >= after.tpc_after_pct).all()
    assert (after.highest_pct > after.tpc_after_pct + 0.3).mean() > 0.5
    start = Bath(tpc_pct=np.full((20, 2), 20.0), fresh_pct=np.full((20, 2), 4.0), level=np.ones((20, 2)))
    by_then, all_along = (serve(kitchens(way), 0, start) for way in (Topping.AFTER, Topping.THROUGH))
    assert (by_then.highest_pct > all_along.highest_pct).all()


def test_oil_is_read_thick_where_it_is_topped_up_before_frying_and_thin_where_after(courses):
    before, after = courses[Topping.BEFORE], courses[Topping.AFTER]
    assert (before.level_before < 1).mean() > 0.9
    assert (after.level_before == 1).mean() > 0.7


@pytest.mark.parametrize("way", POURED)
def test_the_highest_is_never_below_where_the_service_ended_undiluted(courses, way):
    course = courses[way]
    assert (course.highest_pct >= np.fmin(course.tpc_before_pct, course.tpc_after_pct)).all()


@pytest.mark.parametrize("way", POURED)
def test_no_level_sinks_far_below_the_lower_mark(courses, way):
    """Beyond what one piece of a service takes."""
    practice, course = kitchens(way), courses[way]
    most = float((practice.draw * practice.load).max()) / PIECES
    assert course.level_before.max() <= 1 + 1e-12
    assert course.level_before.min() > SUNK_TO - most - 1e-9


def test_what_food_takes_is_what_is_poured():
    """Over a service from the full mark to the full mark, whatever the way."""
    practice = kitchens(Topping.AFTER)
    practice = replace(practice, top_up_skipped=np.zeros_like(practice.top_up_skipped))
    full = Bath(tpc_pct=np.full((20, 2), 15.0), fresh_pct=np.full((20, 2), 4.0), level=np.ones((20, 2)))
    served = serve(practice, 3, full)
    assert served.poured == pytest.approx(practice.draw * practice.load[3])
    assert served.bath.level == pytest.approx(np.ones((20, 2)))
    assert (served.poured_at == 1.0).all()


def test_without_food_every_way_is_the_plain_law():
    """No oil is lost, so none is poured: the pieces of a service come to the whole of it."""
    through, after = (
        replace(practice, draw=np.zeros_like(practice.draw))
        for practice in (kitchens(Topping.THROUGH), kitchens(Topping.AFTER))
    )
    fresh = np.broadcast_to(through.fresh_pct[5], (20, 2))
    full = Bath(tpc_pct=np.full((20, 2), 23.5), fresh_pct=fresh, level=np.ones((20, 2)))
    whole, pieces = serve(through, 5, full), serve(after, 5, full)
    assert pieces.bath.tpc_pct == pytest.approx(whole.bath.tpc_pct, rel=1e-12)
    assert pieces.highest_pct == pytest.approx(whole.highest_pct, rel=1e-12)
    assert pieces.past_h == pytest.approx(whole.past_h, abs=0.01)
    assert not pieces.poured.any()


@pytest.mark.parametrize(
    ("way", "at"), [(Topping.BEFORE, "before"), (Topping.DURING, "top_up"), (Topping.AFTER, "after")]
)
def test_the_log_says_when_it_was_poured_unless_it_is_written_down_at_night(way, at):
    for late in (0.0, 1.0):
        practice = kitchens(way, noted_late=late)
        rule = Listening(practice=practice)
        run(practice, rule)
        written = {
            moment: sum(int((~np.isnan(getattr(logged, moment))).sum()) for logged in rule.heard)
            for moment in ("before", "top_up", "after")
        }
        # those below the lower mark are filled up wherever they are
        assert written["after" if late else at] > 0.8 * sum(written.values()) > 400
        assert not late or written["before"] == written["top_up"] == 0


class Listening(Never):
    """Never change, and keep the log."""

    def __init__(self, practice):
        """Begin with nothing heard."""
        super().__init__(practice=practice)
        self.heard = []

    def after(self, t, logged, /):
        """Keep what was logged."""
        self.heard.append(logged)
        return Never.after(self, t, logged)


def test_a_closed_kitchen_neither_fries_nor_reads_nor_pours():
    habits = Habits(toppings=(Topping.BEFORE,), trade=replace(Habits().trade, closed_days=10))
    practice = draw_practice(np.random.default_rng(3), kitchens=20, fryers=2, days=60, habits=habits)
    assert (practice.closed.sum(axis=0) == 10 * practice.rota.per_day).all()
    course = run(practice, Never(practice=practice))
    shut = np.broadcast_to(practice.closed, course.changed.shape)
    np.testing.assert_allclose(course.tpc_after_pct[shut], course.tpc_before_pct[shut], rtol=1e-12)
    assert not practice.load[shut].any()
    assert practice.skipped[shut].all()
