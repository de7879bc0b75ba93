"""What a state has seen of baths, as the rule asks for it: whole batches at once."""

from dataclasses import replace

import numpy as np

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.seen import NO_DOUBT, SECONDS_PER_H, Doubt, Of, Seen
from kettlewell.core.decision.values import Evidence

SECONDS_PER_DAY = 86400.0


def evidence_of(
    seen: Seen,
    now_s: float,
    known: Coefficients,
    *,
    out_of_order: Mask | bool = False,
    metered: Mask | bool = True,
    off_s: Array | None = None,
) -> Evidence:
    """Return what is known of baths (K, F) at a time in POSIX seconds.

    ``off_s`` (K, M, W, 2) is from when until when what a meter read is not to be relied on, POSIX seconds
    (from inf: it is). Whether some reading would let a bath fry on, anybody smelled it, and its
    oil was recalled, is not told by what was measured.
    """
    unread, no_result = seen.count == 0, np.isnan(seen.laboratory_s)
    overrides = overriding(seen)
    shown = shown_in_a_row(seen, known)
    _, mean = highest_and_mean(shown, known)
    highest, _ = highest_and_mean(np.where(of_occasion(seen), shown, np.nan), known)
    highest = np.where(np.isnan(highest), seen.last(Of.PCT), highest)
    # a bottle of other oil may be behind a result far from the book, so that it is no word to fry on
    result_doubt = np.where(seen.laboratory_surprise_pct < 0, Doubt.CONTRADICTS, Doubt.WET)
    asked = newest_of(seen) & ~np.isnan(seen.laboratory_surprise_pct)
    doubt = np.where(overrides | unread, Doubt.NONE, doubt_of(seen))
    return Evidence(
        empty=seen.empty,
        recalled=False,
        spoiled=~np.isnan(seen.spoiled_s),
        out_of_order=out_of_order,
        metered=metered,
        unknown=np.isnan(seen.filled_s) & unread & no_result,
        overdue=overdue(seen, now_s, known),
        unread=unread & no_result,
        unseen=False,
        could_fry_on=False,
        meter_off=False if off_s is None else np.asarray(resting(seen, off_s).any(axis=-1)),
        doubt=np.where(asked, result_doubt, doubt).astype(np.intp),
        mean_pct=np.where(overrides, seen.laboratory_pct, mean),
        highest_pct=np.where(overrides, seen.laboratory_pct, highest),
        readings=np.where(overrides, 1, (~np.isnan(shown)).sum(axis=-1)),
        laboratory=overrides,
    )


def lately(seen: Seen, now_s: float, known: Coefficients, *, to_come: int) -> Seen:
    """Return what is seen but for readings that have nothing to say beside so many taken now.

    None of a meter found off is told by them.
    """
    near = (seen.readings[..., Of.AT_S] >= now_s - SECONDS_PER_H * known.in_a_row_h.value).any(axis=(0, 1))
    kept = max(int(near.sum()) + to_come, 2)
    return replace(seen, readings=seen.readings[..., :kept, :], refs=seen.refs[..., :kept])


def resting(seen: Seen, off_s: Array) -> Mask:
    """Return which readings (K, F, N) of meters found off a belief rests on.

    Those of the times ``off_s`` (K, M, W, 2), also once a meter was put right, unless one that can be relied
    on came later, or a laboratory's result.
    """
    at_s, no_meter = seen.readings[..., Of.AT_S], np.isnan(seen.readings[..., Of.METER])
    meter = np.where(no_meter, 0, seen.readings[..., Of.METER]).astype(np.intp)
    off = off_s[np.arange(len(off_s))[:, None, None], meter]
    own = ((at_s[..., None] >= off[..., 0]) & (at_s[..., None] < off[..., 1])).any(axis=-1)
    relied_on = ~own & (seen.readings[..., Of.DOUBT] == NO_DOUBT)
    newest_s = np.where(relied_on, at_s, -np.inf).max(axis=-1)
    return np.asarray(own & (at_s > np.fmax(newest_s, seen.laboratory_s)[..., None]))


def overriding(seen: Seen) -> Mask:
    """Return where (K, F) a laboratory result overrides the meter: the newest, not far below the book."""
    return newest_of(seen) & ~(seen.laboratory_surprise_pct < 0)


def newest_of(seen: Seen) -> Mask:
    """Return where (K, F) a laboratory result is no older than the last reading."""
    last_s = seen.last(Of.AT_S)
    return ~np.isnan(seen.laboratory_s) & (np.isnan(last_s) | (seen.laboratory_s >= last_s))


def of_occasion(seen: Seen) -> Mask:
    """Return which readings (K, F, N) are of the last occasion."""
    return np.asarray(seen.readings[..., Of.AT_S] >= seen.occasion_s[..., None])


def shown_in_a_row(seen: Seen, known: Coefficients) -> Array:
    """Return the readings (K, F, N) up to the last that were taken well and in a row; nan for all others.

    Also those that are doubted for what they show: a reading that is too high lowers nothing.
    """
    doubt = seen.readings[..., Of.DOUBT]
    badly = (doubt == int(Doubt.UNSOUND)) | (doubt == int(Doubt.OUT_OF_RANGE))
    since_s = seen.last(Of.AT_S)[..., None] - SECONDS_PER_H * known.in_a_row_h.value
    lately = seen.readings[..., Of.AT_S] >= since_s
    return np.where(lately & ~badly, seen.readings[..., Of.PCT], np.nan)


def highest_and_mean(shown: Array, known: Coefficients) -> tuple[Array, Array]:
    """Return the highest of readings (..., N; nan for none) and the mean of the highest two, each (...).

    In the mean the higher counts as ``held_pct`` from it at most: no third one undoes what two say.
    """
    highest, second = (-np.sort(-shown, axis=-1)[..., n] for n in range(2))
    apart = np.minimum(highest - second, 2 * known.held_pct.value)
    return highest, np.where(np.isnan(second), highest, second + apart / 2)


def doubt_of(seen: Seen) -> Index:
    """Return why the last occasion (K, F) settles nothing; a ``Doubt``, none where it does.

    It does where a reading fits, unless as many stand too low as do not: too high ones may be wet.
    """
    doubt = np.where(of_occasion(seen), seen.readings[..., Of.DOUBT], np.nan)
    low, changed = doubt >= int(Doubt.UNLOGGED_CHANGE), seen.readings[..., Of.CHANGED] == 1
    fits, wet = doubt == NO_DOUBT, doubt == int(Doubt.WET)
    other = np.nan_to_num(np.where(low, 0.0, doubt)).max(axis=-1)
    settled = np.where(fits.any(axis=-1), NO_DOUBT, other)
    outvoted = low.sum(axis=-1) < (fits | wet).sum(axis=-1)
    stands = low.any(axis=-1) & ((low & changed).any(axis=-1) | ~outvoted)
    worst = np.nan_to_num(np.where(low, doubt, 0.0)).max(axis=-1)
    return np.where(stands, worst, settled).astype(np.intp)


def unread_since(seen: Seen) -> Array:
    """Return since when (K, F) a fill went unread, POSIX seconds; nan if nothing is known of it."""
    return np.fmax(np.fmax(seen.filled_s, seen.sound_s), seen.laboratory_s)


def overdue(seen: Seen, now_s: float, known: Coefficients) -> Mask:
    """Return where (K, F) no sound reading was taken for too long, or nothing is known of the fill."""
    since_s = unread_since(seen)
    return np.isnan(since_s) | (now_s > since_s + SECONDS_PER_DAY * known.longest_unread_days.value)
