"""A meter that shows one figure whatever the oil.

Whether it is stuck is told by earlier occasions alone, so that no reading is taken as less for what it
shows itself: until the next one it is not relied on, nor is any other by that meter. A check ends it.
"""

import numpy as np

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index, Mask, some
from kettlewell.core.belief.seen import SECONDS_PER_H, Of, Seen


def stuck(seen: Seen, meters: Index, checked_s: Array, known: Coefficients) -> Mask:
    """Return which ``meters`` (K, V) show one figure whatever the oil, going by what they showed before.

    In one bath on some occasions while it should have risen, or in several baths of which one at least
    should have stood elsewhere. ``checked_s`` (K, M) is when each was last read in reference oil, POSIX
    seconds.
    """
    at_s, last_pct = seen.readings[..., Of.AT_S], seen.last(Of.PCT)
    found = np.zeros(meters.shape, bool)
    if some(last_pct == seen.readings[..., earlier(known) - 1, Of.PCT]):
        since_s = np.take_along_axis(checked_s, meters, axis=1)[..., None]
        own = (seen.readings[..., Of.METER] == meters[..., None]) & (at_s > since_s)
        found |= unmoved(seen, own, known)
    if some(np.abs(seen.last(Of.INNOVATION)) > known.expected_rise.value):
        for meter in range(checked_s.shape[1]):
            own = (seen.last(Of.METER) == meter) & (at_s[..., 0] > checked_s[:, [meter]])
            found |= (meters == meter) & alike(seen, own, known)[:, None]
    return found


def earlier(known: Coefficients) -> int:
    """Return on how many occasions before this a meter that is stuck showed the figure it would show now."""
    return int(known.same_figures.value) - 1


def unmoved(seen: Seen, own: Mask, known: Coefficients) -> Mask:
    """Return in which baths (K, V) the newest of a meter's ``own`` readings (K, V, N) show one figure.

    On so many occasions that one more is as many as are asked about, and while they should have risen.
    """
    at_s, pct = seen.readings[..., Of.AT_S], seen.readings[..., Of.PCT]
    same = np.logical_and.accumulate(own & (pct == pct[..., :1]), axis=-1)
    before_s = np.concatenate([at_s[..., 1:], np.full((*at_s.shape[:-1], 1), np.nan)], axis=-1)
    begins = same & ~(at_s - before_s < 60 * known.occasion_min.value)
    rise_pct = -np.where(begins, seen.readings[..., Of.INNOVATION], 0.0).sum(axis=-1)
    often = begins.sum(axis=-1) >= earlier(known)
    return np.asarray(often & (rise_pct > known.expected_rise.value))


def alike(seen: Seen, own: Mask, known: Coefficients) -> Mask:
    """Return in which kitchens (K,) the last readings of several baths, a meter's ``own`` (K, V), are one.

    Of one round, and far from what was expected of one bath at least.
    """
    at_s, pct = np.where(own, seen.last(Of.AT_S), -np.inf), seen.last(Of.PCT)
    of_round = own & (at_s > at_s.max(axis=1, keepdims=True) - SECONDS_PER_H * known.one_round_h.value)
    figure = np.take_along_axis(pct, at_s.argmax(axis=1)[:, None], axis=1)
    one = (pct == figure) | ~of_round
    apart = of_round & (np.abs(seen.last(Of.INNOVATION)) > known.expected_rise.value)
    return np.asarray(one.all(axis=1) & (of_round.sum(axis=1) > 1) & apart.any(axis=1))


def echoed(read: Array, shown: Array, own: Mask, known: Coefficients) -> Mask:
    """Return which readings show what another bath had just shown, by the same meter.

    ``read`` (3, ...) are figures, times (POSIX seconds) and meters, ``shown`` (3, ..., V) the newest of each
    bath, of which ``own`` (..., V) is the one that was read.
    """
    pct, at_s, meter = read[..., None]
    ago_s, round_s = at_s - shown[1], SECONDS_PER_H * known.one_round_h.value
    same = (shown[0] == pct) & (shown[2] == meter) & (ago_s >= 0) & (ago_s < round_s) & ~own
    return np.asarray(same.any(axis=-1))
