"""What a state has seen of baths, as the rule asks for it: whole batches at once."""

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.core.belief.seen import NO_DOUBT, Doubt, Of, Seen
from kettlewell.core.decision.values import Evidence

IN_A_ROW_S = 3 * 3600.0  # readings of one occasion: chosen, no source
LONGEST_UNREAD_S = 14 * 86400.0  # common practice, no source


def evidence_of(
    seen: Seen,
    now_s: float,
    *,
    could_fry_on: Mask | bool,
    out_of_order: Mask | bool = False,
    metered: Mask | bool = True,
    off_since_s: Array | None = None,
) -> Evidence:
    """Return what is known of baths (K, F) at a time in POSIX seconds.

    ``could_fry_on`` says whether some reading would let a bath fry on; ``off_since_s`` (K, M) since when
    what a meter read is not to be relied on, POSIX seconds (inf: it is).
    """
    last_s, unread = seen.last(Of.AT_S), seen.count == 0
    overrides = overriding(seen)
    pct = shown_in_a_row(seen, last_s)
    count, some = (~np.isnan(pct)).sum(axis=-1), (~np.isnan(pct)).any(axis=-1)
    total, highest = np.nansum(pct, axis=-1), np.nan_to_num(pct, nan=-np.inf).max(axis=-1)
    mean = np.where(some, total / np.maximum(count, 1), np.nan)
    no_result = np.isnan(seen.laboratory_s)
    doubt = np.where(overrides | unread, Doubt.NONE, np.nan_to_num(seen.last(Of.DOUBT)))
    # a bottle of other oil may be behind a result far from the book, so that it is no word to fry on
    result_doubt = np.where(seen.laboratory_surprise_pct < 0, Doubt.CONTRADICTS, Doubt.WET)
    asked = newest_of(seen) & ~np.isnan(seen.laboratory_surprise_pct)
    return Evidence(
        empty=seen.empty,
        spoiled=~np.isnan(seen.spoiled_s),
        out_of_order=out_of_order,
        metered=metered,
        unknown=np.isnan(seen.filled_s) & unread & no_result,
        overdue=overdue(seen, now_s),
        unread=unread & no_result,
        could_fry_on=could_fry_on,
        meter_off=False if off_since_s is None else np.asarray(resting(seen, off_since_s).any(axis=-1)),
        doubt=np.where(asked, result_doubt, doubt).astype(np.intp),
        mean_pct=np.where(overrides, seen.laboratory_pct, mean),
        highest_pct=np.where(overrides, seen.laboratory_pct, np.where(some, highest, np.nan)),
        readings=np.where(overrides, 1, count),
        laboratory=overrides,
    )


def resting(seen: Seen, off_since_s: Array) -> Mask:
    """Return which readings (K, F, N) of meters found off a belief rests on.

    Those since ``off_since_s`` (K, M), unless another meter's that can be relied on came later, or a
    laboratory's result.
    """
    at_s, no_meter = seen.readings[..., Of.AT_S], np.isnan(seen.readings[..., Of.METER])
    meter = np.where(no_meter, 0, seen.readings[..., Of.METER]).astype(np.intp)
    own = at_s >= off_since_s[np.arange(len(off_since_s))[:, None, None], meter]
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


def shown_in_a_row(seen: Seen, since_s: Array) -> Array:
    """Return the sound readings (K, F, N) of the occasion that lasts up to a time; nan for all others."""
    at_s, doubt = seen.readings[..., Of.AT_S], seen.readings[..., Of.DOUBT]
    counts = (at_s >= np.expand_dims(since_s, -1) - IN_A_ROW_S) & (doubt == NO_DOUBT)
    return np.where(counts, seen.readings[..., Of.PCT], np.nan)


def unread_since(seen: Seen) -> Array:
    """Return since when (K, F) a fill went unread, POSIX seconds; nan if nothing is known of it."""
    return np.fmax(np.fmax(seen.filled_s, seen.sound_s), seen.laboratory_s)


def overdue(seen: Seen, now_s: float) -> Mask:
    """Return where (K, F) no sound reading was taken for too long, or nothing is known of the fill."""
    since_s = unread_since(seen)
    return np.isnan(since_s) | (now_s > since_s + LONGEST_UNREAD_S)
