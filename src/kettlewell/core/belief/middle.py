"""The middle of the readings of an occasion, in which the book has one vote."""

import numpy as np

from kettlewell.core.arrays import Array


def middle_of(apart: Array, book_reach: Array) -> Array:
    """Return the middle (...) of readings that lie ``apart`` (..., N; nan where none) from the book.

    The book votes for what lies within its ``book_reach`` (...), as near to the readings as that
    allows. Between the votes of a half and a half the one nearer to the book wins: several readings may
    be wet for one cause, so that two are no proof against one that fits. No reading raised
    lowers it, and their order says nothing.
    """
    known = ~np.isnan(apart)
    count, reach = known.sum(axis=-1), np.stack([-book_reach, book_reach], axis=-1)
    lowest = np.where(known, apart, np.inf).min(axis=-1)
    highest = np.where(known, apart, -np.inf).max(axis=-1)
    low = ranked(apart, np.clip(lowest, reach[..., 0], reach[..., 1]), count // 2)
    high = ranked(apart, np.clip(highest, reach[..., 0], reach[..., 1]), (count + 1) // 2)
    return np.where(count > 0, np.clip(0.0, low, high), 0.0)


def ranked(apart: Array, vote: Array, rank: Array) -> Array:
    """Return the value of a ``rank`` (...), from 0, among readings (..., N) and the book's ``vote``."""
    votes = np.sort(np.concatenate([apart, vote[..., None]], axis=-1), axis=-1)
    return np.take_along_axis(votes, rank[..., None].astype(np.intp), axis=-1)[..., 0]
