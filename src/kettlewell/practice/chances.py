"""What happens by chance in practice kitchens."""

import numpy as np

from kettlewell.core.arrays import Array, Mask


def chance(
    rng: np.random.Generator,
    shape: tuple[int, int, int],
    between: tuple[float, float],
    factor: Array | float = 1.0,
) -> Mask:
    """Return what happens with a probability of each kitchen's own, times ``factor``."""
    share = rng.uniform(*between, (shape[1], 1))
    return np.asarray(rng.random(shape) < share * factor)
