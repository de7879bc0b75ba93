"""When to read next: as late as the risk of passing a limit unseen allows."""

import numpy as np

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index, Mask

LOOK_AHEAD_SERVICES = 2


def reading_due(passing: Array, known: Coefficients, *, risk: Array | float, unread: Mask) -> Index:
    """Return the service before which the next reading is due: 0 the coming one, H beyond the horizon.

    ``passing`` (H, ...) is the probability, without another reading, of having passed a
    limit by the end of each coming service; ``risk`` the α of the verdicts. A reading is
    due before the first service of which the end of the next one is riskier than α/2: the
    other half is kept for the reading that is forgotten and for the one that is wrong. And
    at once while a fill has not been read (``unread``), since nearly fresh oil tells most
    of what the meter adds of its own. Share of α and reach were chosen on practice
    kitchens (bench/read_when_told.py).
    """
    horizon = len(passing)
    risky = passing > known.unseen_share.value * risk
    first = np.where(risky.any(axis=0), risky.argmax(axis=0), horizon + LOOK_AHEAD_SERVICES)
    due = np.clip(first - (LOOK_AHEAD_SERVICES - 1), 0, horizon)
    return np.where(unread, 0, due)
