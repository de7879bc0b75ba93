"""What the book says of a bath, as the rule asks for it: now, and after readings that could be taken."""

from dataclasses import fields, replace

import numpy as np

from kettlewell.core.arrays import Array
from kettlewell.core.belief.readings import Assimilated
from kettlewell.core.belief.seen import Doubt
from kettlewell.core.belief.step import doubts
from kettlewell.core.decision import Evidence
from kettlewell.core.decision.seen import evidence_of as evidence_from
from kettlewell.core.decision.seen import shown_in_a_row
from kettlewell.core.outlook.outlook import Outlook


def evidence_of(outlook: Outlook, *, could_fry_on: bool) -> Evidence:
    """Return what is known of a bath; ``could_fry_on`` says whether some reading would let it."""
    evidence = evidence_from(
        outlook.seen,
        outlook.now.timestamp(),
        could_fry_on=could_fry_on,
        out_of_order=outlook.out_of_order,
        metered=outlook.metered,
    )
    values = {field.name: getattr(evidence, field.name) for field in fields(Evidence)}
    return Evidence(
        **{name: value[0, 0] if isinstance(value, np.ndarray) else value for name, value in values.items()}
    )


def once_read(outlook: Outlook, reading_pct: Array, how: Assimilated) -> Evidence:
    """Return what will be known of a bath after each of N readings taken now, by ``how`` (N,) they count.

    A reading that would show a change nobody wrote down is one to ask about, for on paper
    nobody can be asked. A reading just taken is not overdue.
    """
    after = replace(evidence_of(outlook, could_fry_on=False), unknown=False, overdue=False, unread=False)
    result = outlook.fill.laboratory
    if result is not None and result.at >= outlook.now:
        return after
    why = np.where(how.changed, Doubt.UNLOGGED_CHANGE, doubts(outlook.doubted_below, how))
    earlier = shown_in_a_row(outlook.seen, np.full((1, 1), outlook.now.timestamp()))[0, 0]
    # a fill begun since has none of the earlier readings
    kept = np.where(how.changed[:, None], np.nan, earlier)
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
