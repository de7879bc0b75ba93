"""Names for the kinds of array the core passes around."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]


def some(where: Mask) -> bool:
    """Return whether a mask holds anywhere: of a few baths many times as fast as its own ``any``."""
    return bool(np.count_nonzero(where))


def solved(matrix: Array, right: Array) -> Array:
    """Return what ``matrix`` (..., n, n) times it is ``right`` (..., n, m): of a single row a quotient."""
    if matrix.shape[-1] == 1:
        return right / matrix
    return np.asarray(np.linalg.solve(matrix, right), dtype=float)
