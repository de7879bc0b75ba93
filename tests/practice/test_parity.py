"""Practice kitchens go the program's own way: their log as a book says what they were run by."""

from dataclasses import fields, replace

import numpy as np
import pytest

from kettlewell.book import ReferenceLot
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.baths import Baths, baths_of, stacked_baths
from kettlewell.core.belief.joint import ARRAYS
from kettlewell.core.belief.settle import PATTERN_ARRAYS
from kettlewell.core.belief.step import SEEN
from kettlewell.core.belief.walk import walk_to
from kettlewell.practice.books import (
    CHANGED,
    CHANGED_LATE,
    baths_in,
    control_lots,
    controls_in,
    entries_of,
    kitchen_of,
)
from kettlewell.practice.habits import DRIFTING
from kettlewell.practice.kitchens import draw_practice
from kettlewell.practice.rules import Ours
from kettlewell.practice.run import run
from kettlewell.practice.watch import Upkeep

KITCHENS, DAYS = 5, 200
CARES = {
    "checked": Upkeep(check_days=14),
    "controlled": Upkeep(check_days=14, laboratory_days=40, first_by_worth=True, control=True),
}
TIMES = [0, 7, 41, 83, 2 * DAYS - 1]


@pytest.fixture(scope="module")
def practice():
    """Five kitchens of two oils whose meters drift, over two hundred days."""
    habits = replace(DRIFTING, walk_factor=(4.0, 4.0))
    return draw_practice(np.random.default_rng(12), kitchens=KITCHENS, fryers=3, days=DAYS, habits=habits)


class Watched(Ours):
    """Ours, keeping the state after each service."""

    def __init__(self, practice, care):
        """Begin with nothing kept."""
        super().__init__(practice=practice, risk=0.05, care=care)
        self.kept = []

    def after(self, t, logged, /):
        """Do what ours does, and keep the state."""
        late = super().after(t, logged)
        self.kept.append((self.watch.state, self.watch.seen))
        return late


@pytest.fixture(scope="module", params=CARES)
def watched(practice, request):
    """Return the rule once it ran the kitchens, whose meters are looked after with a care."""
    rule = Watched(practice, CARES[request.param])
    run(practice, rule)
    return rule


def test_the_case_holds_all_that_a_log_can(practice, watched):
    """Else the agreement would say little."""
    log, rota = watched.watch.log, practice.rota
    changes = {at for at, where in log.changes if where.any()}
    assert changes & {rota.begins(t) + CHANGED for t in range(2 * DAYS)}
    assert changes & {rota.ends(t) + CHANGED_LATE for t in range(2 * DAYS)}
    assert len({t for t, again, _ in log.readings if again}) > 3
    assert any(np.isnan(pct).any() and not np.isnan(pct).all() for _, again, pct in log.readings if not again)
    assert any(adjusted for _, _, adjusted in log.checks)
    assert sum(where.sum() for _, where in log.changes) > 20
    assert len(np.unique(practice.findings.lot)) > 1
    assert watched.watch.belief.layout.oils == 2


@pytest.mark.parametrize("watched", ["controlled"], indirect=True)
def test_kitchens_read_control_oils_of_both_oils_one_after_the_other(practice, watched):
    """The first as soon as its value is known, and not only where the meter is checked anyway."""
    log = watched.watch.log
    lots = [control_lots(k, log) for k in range(KITCHENS)]
    assert min(map(len, lots)) >= 1
    assert max(map(len, lots)) >= 3
    assert {lot.oil for each in lots for lot in each} == {"oil 0", "oil 1"}
    assert all(len(list(controls_in(practice, k, log))) > 2 * len(lots[k]) for k in range(KITCHENS))
    assert any(day % 14 for day, *_ in log.controls)


@pytest.mark.parametrize("k", range(KITCHENS))
@pytest.mark.parametrize("t", TIMES)
def test_a_log_written_out_as_a_book_is_walked_to_what_the_rule_believed(practice, watched, k, t):
    state, seen = watched.kept[t]
    entries = list(entries_of(practice, k, watched.watch.log))
    now = practice.rota.ends(t) + 2 * CHANGED_LATE
    lots = control_lots(k, watched.watch.log)
    walked = walk_to(kitchen_of(practice, k, checked=True, controls=lots), entries, now=now)
    belief = walked.up_to_date()
    assert_same_arrays(belief, state.belief, k, ARRAYS)
    assert_same_arrays(walked.state.pattern, state.pattern, k, PATTERN_ARRAYS)
    assert_same_arrays(walked.state.scatter, state.scatter, k, ("squares", "count"))
    assert_same_arrays(walked.state.drifting, state.drifting, k, ("mean_pct", "var", "log_weight"))
    assert_same_arrays(
        walked.state.seen, seen, k, [name for name in SEEN if name not in ("refs", "laboratory_ref")]
    )


def assert_same_arrays(walked, watched, k, names):
    """Assert that a walk of one kitchen has the arrays of kitchen ``k`` among all, to 1e-9."""
    for name in names:
        mine, rules = (getattr(of, name)[n].astype(float) for of, n in ((walked, 0), (watched, k)))
        np.testing.assert_allclose(mine, rules, rtol=1e-9, atol=1e-9, err_msg=name)


def test_a_batch_of_one_is_as_it_was(practice):
    alone = baths_of(kitchen_of(practice, 0, checked=True))
    assert all(
        np.array_equal(getattr(stacked_baths([alone]), field.name), getattr(alone, field.name))
        for field in fields(Baths)
    )


@pytest.mark.parametrize("checked", [True, False])
@pytest.mark.parametrize("controlled", [True, False])
def test_the_baths_of_practice_kitchens_are_those_of_their_settings(practice, checked, controlled):
    oils = [ReferenceLot(key="C", name="C", tpc_pct=20.0, expanded_u_pct=1.4, oil="oil 1")] * controlled
    settings = [kitchen_of(practice, k, checked=checked, controls=oils) for k in range(KITCHENS)]
    stacked = stacked_baths([baths_of(kitchen) for kitchen in settings])
    at_once = baths_in(practice, PACKAGED, checked=checked, controlled=controlled)
    for field in fields(Baths):
        mine, theirs = getattr(at_once, field.name), getattr(stacked, field.name)
        if isinstance(mine, np.ndarray):
            np.testing.assert_allclose(mine, theirs, rtol=1e-12, err_msg=field.name)
        else:
            assert mine == theirs, field.name
