"""What must hold of meters, whatever a kitchen wrote down."""

from dataclasses import replace

import numpy as np
from drawn import FEW, KITCHEN, NOW, START, books, last_measured, moments
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.book import (
    Adopted,
    Change,
    LabResult,
    MeterCheck,
    Reading,
)
from kettlewell.core import assess
from kettlewell.core.belief.walk import walk_to


@given(entries=books)
@FEW
def test_without_a_laboratory_nothing_moves_the_gain(entries):
    """Neither its mean nor how well it is known, however oil ages, meters scatter or are checked.

    A certificate of fresh oil is a laboratory's word as well.
    """
    entries = [
        replace(entry, fresh_tpc_pct=None) if isinstance(entry, Change) else entry
        for entry in entries
        if not isinstance(entry, LabResult | Adopted)
    ]
    taught, untaught = (walk_to(KITCHEN, book, now=NOW).state.belief for book in (entries, []))
    gains = taught.layout.gains
    np.testing.assert_allclose(taught.shared[:, gains], untaught.shared[:, gains], rtol=1e-8)
    np.testing.assert_allclose(
        taught.shared_cov[:, gains, gains], untaught.shared_cov[:, gains, gains], rtol=1e-8
    )


MILD = {"fry_on", "change_after"}


def resting_on(entries, fryer, meter, since):
    """Tell, by the book alone, whether what was last measured of a fill was read by a meter since a time."""
    last = last_measured(entries, fryer)
    return isinstance(last, Reading) and (last.meter or "hand") == meter and last.at >= since


@given(entries=books, found=st.sampled_from([-8.0, -3.0, 3.0, 8.0]), at=moments)
@FEW
def test_while_a_meter_is_found_off_nothing_fries_on_its_word(entries, found, at):
    """Whatever else was written down, of baths that were last measured by it."""
    entries = [entry for entry in entries if not (isinstance(entry, MeterCheck) and entry.meter == "hand")]
    value = KITCHEN.reference_lots[0].tpc_pct + found
    check = MeterCheck(at=at, meter="hand", lot="R1", readings_pct=(value,) * 3, oil_temp_c=50.0)
    for bath in assess(KITCHEN, [*entries, check], now=NOW):
        if resting_on(entries, bath.fryer, "hand", START):
            assert bath.verdict.key not in MILD


@given(entries=books, deviations=st.lists(st.floats(0, 12), min_size=2, max_size=2, unique=True), at=moments)
@FEW
def test_the_further_a_check_is_off_the_more_it_moves(entries, deviations, at):
    """Whatever the book says beside it."""
    entries = [entry for entry in entries if entry.at <= at]
    believed = []
    for off_pct in sorted(deviations):
        value = KITCHEN.reference_lots[0].tpc_pct + off_pct
        check = MeterCheck(at=at, meter="hand", lot="R1", readings_pct=(value,) * 3, oil_temp_c=50.0)
        belief = walk_to(KITCHEN, [*entries, check], now=at).state.belief
        believed.append(belief.shared[0, belief.layout.found(0)])
    assert believed[0] <= believed[1] + 1e-9
