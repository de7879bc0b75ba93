"""What is known of several baths, and what will be after a reading that could be taken now."""

from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np

from kettlewell.core.arrays import Array
from kettlewell.core.belief.readings import Assimilated
from kettlewell.core.belief.seen import NO_DOUBT, Doubt
from kettlewell.core.belief.step import doubts
from kettlewell.core.decision import Evidence
from kettlewell.core.outlook.outlook import Outlook


def evidence_on(outlooks: Sequence[Outlook]) -> Evidence:
    """Return what is known of B baths, every field (B,)."""
    return Evidence(
        **{
            field.name: np.array([getattr(outlook.evidence, field.name) for outlook in outlooks])
            for field in fields(Evidence)
        }
    )


def once_read(outlooks: Sequence[Outlook], reading_pct: Array, how: Assimilated) -> Evidence:
    """Return what will be known of B baths after each of N readings taken now, by ``how`` (B, N) they count.

    A reading that would show a change nobody wrote down is one to ask about, for on paper
    nobody can be asked. A sound reading just taken is not overdue.
    """
    known = evidence_on(outlooks)
    known = Evidence(**{field.name: getattr(known, field.name)[:, None] for field in fields(Evidence)})
    occasion_pct = np.array([outlook.occasion_pct for outlook in outlooks])[:, None]
    why = np.where(how.changed, Doubt.UNLOGGED_CHANGE, doubts(outlooks[0].doubted_below, how))
    # a fill begun since has none of the earlier readings
    kept = np.where(how.changed[..., None], np.nan, occasion_pct)
    shown = np.concatenate([kept, np.where(why == NO_DOUBT, reading_pct, np.nan)[..., None]], axis=-1)
    count = (~np.isnan(shown)).sum(axis=-1)
    highest = np.nan_to_num(shown, nan=-np.inf).max(axis=-1)
    mean = np.where(count > 0, np.nansum(shown, axis=-1) / np.maximum(count, 1), np.nan)
    by_off = np.array([outlook.reads_off for outlook in outlooks])[:, None]
    result = np.array([outlook.measured_now for outlook in outlooks])[:, None]
    return replace(
        known,
        unknown=False,
        overdue=known.overdue & (result | (why != NO_DOUBT)),
        unread=False,
        meter_off=np.where(result, known.meter_off, by_off | (known.meter_off & (why != NO_DOUBT))),
        doubt=np.where(result, known.doubt, why),
        mean_pct=np.where(result, known.mean_pct, mean),
        highest_pct=np.where(result, known.highest_pct, np.where(count > 0, highest, np.nan)),
        readings=np.where(result, known.readings, count),
        laboratory=result & known.laboratory,
    )
