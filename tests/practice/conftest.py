import numpy as np
import pytest

from kettlewell.practice.kitchens import draw_practice
from kettlewell.practice.rules import Clairvoyant
from kettlewell.practice.run import run


@pytest.fixture(scope="session")
def practice():
    """Return thirty kitchens of three fryers over a hundred days."""
    return draw_practice(np.random.default_rng(5), kitchens=30, fryers=3, days=100)


@pytest.fixture(scope="session")
def best(practice):
    """Return what the clairvoyant does with them."""
    return run(practice, Clairvoyant(practice=practice))
