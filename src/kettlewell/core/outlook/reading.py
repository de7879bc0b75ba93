"""When to read next: as late as the risk of passing a limit unseen allows."""

import numpy as np

from kettlewell.core.arrays import Array, Index, Mask

LOOK_AHEAD_SERVICES = 3


def reading_due(passing: Array, *, risk: Array | float, unread: Mask) -> Index:
    """Return the service before which the next reading is due: 0 the coming one, H beyond the horizon.

    ``passing`` (H, ...) is the probability, without another reading, that the true TPC has
    passed a limit by the end of each coming service; ``risk`` the α it is held against.
    A reading is due before the latest service that leaves two more before α is passed,
    so that it comes one service before the verdict would be a change and a skipped one can
    be made up for; and at once while a fill has not been read (``unread``), since a reading
    of nearly fresh oil tells most of what the meter adds of its own.
    """
    horizon = len(passing)
    risky = passing > risk
    first = np.where(risky.any(axis=0), risky.argmax(axis=0), horizon + LOOK_AHEAD_SERVICES)
    due = np.clip(first - (LOOK_AHEAD_SERVICES - 1), 0, horizon)
    return np.where(unread, 0, due)
