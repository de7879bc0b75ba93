"""What the book says of a bath, as the rule asks for it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from kettlewell.book import LabResult, Reading
from kettlewell.core.arrays import Array, Index
from kettlewell.core.belief.readings import DOUBT, Heard
from kettlewell.core.decision import Doubt, Evidence
from kettlewell.core.outlook.outlook import Outlook
from kettlewell.core.outlook.soundness import doubt, in_a_row, on_the_occasion


def evidence_of(outlook: Outlook, *, could_fry_on: bool) -> Evidence:
    """Return what is known of a bath; ``could_fry_on`` says whether some reading would let it."""
    fill, last, result = outlook.fill, outlook.last(), overriding(outlook)
    since = outlook.overdue_from()
    kind = None if last is None or result else doubt(last, outlook.kitchen)
    shown_pct = [result.tpc_pct] if result else values_of(in_a_row(fill, outlook.kitchen))
    return Evidence(
        empty=fill.empty,
        spoiled=fill.spoiled,
        out_of_order=outlook.out_of_order,
        metered=outlook.metered,
        unknown=fill.filled_at is None and not fill.readings and fill.laboratory is None,
        overdue=since is None or outlook.now > since,
        unread=not fill.readings and fill.laboratory is None,
        could_fry_on=could_fry_on,
        doubt=Doubt[kind.name] if kind else Doubt.NONE,
        mean_pct=sum(shown_pct) / len(shown_pct) if shown_pct else np.nan,
        highest_pct=max(shown_pct, default=np.nan),
        readings=len(shown_pct),
        laboratory=result is not None,
    )


def overriding(outlook: Outlook) -> LabResult | None:
    """Return the laboratory result that overrides the meter: one no older than the last reading."""
    result, last = outlook.fill.laboratory, outlook.last()
    return result if result and (last is None or result.at >= last.reading.at) else None


def values_of(readings: Sequence[Reading]) -> list[float]:
    """Return what readings showed."""
    return [reading.tpc_pct for reading in readings]


def once_read(outlook: Outlook, reading_pct: Array, how: Heard) -> Evidence:
    """Return what will be known of a bath after each of N readings taken now, by ``how`` (N,) they count.

    A reading that would show a change nobody wrote down is one to ask about, for on paper
    nobody can be asked. A reading just taken is not overdue.
    """
    after = replace(evidence_of(outlook, could_fry_on=False), unknown=False, overdue=False, unread=False)
    result = outlook.fill.laboratory
    if result is not None and result.at >= outlook.now:
        return after
    doubts = doubts_of(how)
    sound = doubts == Doubt.NONE
    earlier_pct = values_of(on_the_occasion(outlook.fill, outlook.kitchen, outlook.now))
    # a fill begun since has none of the earlier readings
    counting = np.where(how.changed, 0, len(earlier_pct))
    readings = counting + sound
    total_pct = np.where(how.changed, 0.0, sum(earlier_pct)) + np.where(sound, reading_pct, 0.0)
    highest_pct = np.where(how.changed, np.nan, max(earlier_pct, default=np.nan))
    return replace(
        after,
        doubt=doubts,
        mean_pct=np.where(readings > 0, total_pct / np.maximum(readings, 1), np.nan),
        highest_pct=np.fmax(highest_pct, np.where(sound, reading_pct, np.nan)),
        readings=readings,
        laboratory=False,
    )


def doubts_of(how: Heard) -> Index:
    """Return the ``Doubt`` of each reading, by how it was taken."""
    below = np.where(how.fresh, Doubt.UNLOGGED_CHANGE, Doubt.CONTRADICTS)
    doubted = np.where(how.surprise > 0, Doubt.WET, below)
    doubts = np.where(how.sound < DOUBT, doubted, Doubt.NONE)
    return np.where(how.changed, Doubt.UNLOGGED_CHANGE, doubts)
