"""What will be known of a bath after a reading that could be taken now."""

from dataclasses import replace

import numpy as np

from kettlewell.core.arrays import Array
from kettlewell.core.belief.readings import Assimilated
from kettlewell.core.belief.seen import Doubt
from kettlewell.core.belief.step import doubts
from kettlewell.core.decision import Evidence
from kettlewell.core.outlook.outlook import Outlook


def once_read(outlook: Outlook, reading_pct: Array, how: Assimilated) -> Evidence:
    """Return what will be known of a bath after each of N readings taken now, by ``how`` (N,) they count.

    A reading that would show a change nobody wrote down is one to ask about, for on paper
    nobody can be asked. A reading just taken is not overdue.
    """
    after = replace(outlook.evidence, unknown=False, overdue=False, unread=False)
    result = outlook.fill.laboratory
    if result is not None and result.at >= outlook.now:
        return after
    why = np.where(how.changed, Doubt.UNLOGGED_CHANGE, doubts(outlook.doubted_below, how))
    # a fill begun since has none of the earlier readings
    kept = np.where(how.changed[:, None], np.nan, outlook.occasion_pct)
    shown = np.concatenate([kept, np.where(why == Doubt.NONE, reading_pct, np.nan)[:, None]], axis=1)
    count = (~np.isnan(shown)).sum(axis=1)
    highest = np.nan_to_num(shown, nan=-np.inf).max(axis=1)
    return replace(
        after,
        doubt=why,
        mean_pct=np.where(count > 0, np.nansum(shown, axis=1) / np.maximum(count, 1), np.nan),
        highest_pct=np.where(count > 0, highest, np.nan),
        readings=count,
        laboratory=False,
    )
