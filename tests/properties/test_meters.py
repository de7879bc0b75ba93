"""What must hold of meters, whatever a kitchen wrote down."""

import numpy as np
from drawn import FEW, KITCHEN, NOW, books
from hypothesis import given

from kettlewell.book import Adopted, LabResult
from kettlewell.core.belief.walk import walk_to


@given(entries=books)
@FEW
def test_without_a_laboratory_nothing_moves_the_gain(entries):
    """Neither its mean nor how well it is known, however oil ages, meters scatter or are checked."""
    entries = [entry for entry in entries if not isinstance(entry, LabResult | Adopted)]
    taught, untaught = (walk_to(KITCHEN, book, now=NOW).state.belief for book in (entries, []))
    gains = taught.layout.gains
    np.testing.assert_allclose(taught.shared[:, gains], untaught.shared[:, gains], rtol=1e-8)
    np.testing.assert_allclose(
        taught.shared_cov[:, gains, gains], untaught.shared_cov[:, gains, gains], rtol=1e-8
    )
