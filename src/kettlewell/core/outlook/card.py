"""The wall card: which reading before the coming service leads to which verdict."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np

from kettlewell.book import Draining, Reading
from kettlewell.core.arrays import Array, Index
from kettlewell.core.belief.joint import Belief, single_baths
from kettlewell.core.belief.level import highest_in, level_of
from kettlewell.core.belief.readings import Assimilated, assimilate, observe
from kettlewell.core.belief.seen import beside_laboratory
from kettlewell.core.decision import URGENCY, VerdictKey, decide, in_force
from kettlewell.core.metering import reading_var
from kettlewell.core.outlook.ahead import first_two
from kettlewell.core.outlook.evidence import once_read
from kettlewell.core.outlook.here import Here
from kettlewell.core.outlook.outlook import Outlook, by_limits, passed_limits
from kettlewell.core.outlook.values import CardLine, WallCard

HIGHEST_PCT = 40.0  # far past every limit there is: chosen, no source
FINEST_PCT = 0.1  # a finer card tells nobody more, and would cost without end: chosen, no source
DECIMALS = 6
FRY_ON = URGENCY.index(VerdictKey.FRY_ON)
MEASURE_AGAIN = URGENCY.index(VerdictKey.MEASURE_AGAIN)


@dataclass(frozen=True, slots=True, kw_only=True)
class BathAnswers:
    """What each possible ``reading_pct`` (N,) of one bath would lead to: ``keys``, N of them."""

    reading_pct: Array
    keys: Sequence[VerdictKey]

    @property
    def could_fry_on(self) -> bool:
        """Whether some reading would let the bath fry on."""
        return VerdictKey.FRY_ON in self.keys

    @property
    def milder_until_pct(self) -> float | None:
        """Return the lowest reading above those to fry on with; None if there is none."""
        if not self.could_fry_on:
            return None
        first = self.keys.index(VerdictKey.FRY_ON)
        above = (n for n in range(first, len(self.keys)) if self.keys[n] is not VerdictKey.FRY_ON)
        n = next(above, None)
        return None if n is None else float(self.reading_pct[n])

    def strict_from_pct(self, key: VerdictKey) -> float | None:
        """Return the lowest reading that leads to ``key``, or to worse, if a lower one fries on or longer."""
        first = next((n for n, told in enumerate(self.keys) if URGENCY.index(told) <= URGENCY.index(key)), 0)
        milder = {VerdictKey.FRY_ON, VerdictKey.CHANGE_AFTER} - {key}
        return float(self.reading_pct[first]) if milder & set(self.keys[:first]) else None


def one_bath_each(belief: Belief, fryers: Sequence[int], copies: int) -> Belief:
    """Return some fryers of a batch of one as kitchens of one fryer, each ``copies`` times over."""
    which = np.repeat(np.array(fryers, dtype=np.intp), copies)
    return single_baths(belief, np.zeros_like(which), which)


def shown_pct(resolution_pct: float) -> Array:
    """Return the readings that a card answers: every 0.1 up to 40 %, or what a coarser meter can show."""
    step_pct = max(resolution_pct, FINEST_PCT)
    return np.round(np.arange(int(HIGHEST_PCT / step_pct + 0.5) + 1) * step_pct, DECIMALS)


def answers(here: Here, fryers: Sequence[int], outlooks: Sequence[Outlook]) -> list[BathAnswers]:
    """Return what each reading that the kitchen's meter can show would lead to, bath by bath.

    ``fryers`` are the places in the belief of those that the ``outlooks`` are of.
    """
    i = here.meter_in_use or 0
    meter = here.place.baths.meters[i]
    typical = Reading(at=here.now, fryer="", tpc_pct=0.0, oil_temp_c=meter.min_oil_temp_c)
    readings = shown_pct(meter.resolution_pct)
    copies = len(readings)
    many = one_bath_each(here.belief, fryers, copies)
    shown = np.tile(readings, len(fryers))[:, None]
    var = np.full(shown.shape, reading_var(typical, meter, here.place.baths.known))
    beside = beside_laboratory(here.state.seen, here.now.timestamp(), many.known)[0, list(fryers)]
    observation = observe(many, shown, var, np.full(shown.shape, i))
    updated, how = assimilate(many, observation, beside=np.repeat(beside, copies)[:, None])
    level = level_of(updated)
    those = zip(fryers, [outlook.fryer for outlook in outlooks], strict=True)
    later = highest_in(updated, first_two(here.ahead, those, copies))
    found: dict[int, BathAnswers] = {}
    for limits, places in by_limits(outlooks).items():
        rows = np.array(places)[:, None] * copies + np.arange(copies)
        passed, _ = passed_limits(limits, level.at(rows, 0), later.at(slice(None), rows, 0))
        evidence = once_read([outlooks[n] for n in places], readings, of_rows(how, rows))
        first = decide(passed, evidence, limits=in_force(limits)).verdict
        could = (first == FRY_ON).any(axis=-1, keepdims=True)
        decided = decide(passed, replace(evidence, could_fry_on=could), limits=in_force(limits))
        for n, verdicts in zip(places, np.broadcast_to(decided.verdict, rows.shape), strict=True):
            keys = [URGENCY[place] for place in rising(verdicts).tolist()]
            found[n] = BathAnswers(reading_pct=readings, keys=keys)
    return [found[n] for n in range(len(outlooks))]


def of_rows(how: Assimilated, rows: Index) -> Assimilated:
    """Return how some kitchens of one fryer (B, N) took their readings."""
    return Assimilated(
        sound=how.sound[rows, 0],
        innovation=how.innovation[rows, 0],
        fresh=how.fresh[rows, 0],
        changed=how.changed[rows, 0],
    )


def rising(verdicts: Index) -> Index:
    """Return the verdicts (N,), places in ``URGENCY``, with none milder than that of a lower reading.

    A reading far from what the book expects is doubted, and the odds then rest on the book.
    Below the lowest reading with the mildest verdict the card says to measure again, above
    it never less than for a lower reading: on paper nobody can ask what is behind it.
    """
    lowest = int(verdicts.argmax())
    return np.concatenate([np.full(lowest, MEASURE_AGAIN), np.minimum.accumulate(verdicts[lowest:])])


def wall_card(outlook: Outlook, key: VerdictKey, found: BathAnswers) -> WallCard:
    """Return a fryer's card; it expires when the coming service ends.

    A fryer that is not in use, or a kitchen without a meter in use, has its verdict alone.
    """
    readable = outlook.in_use and outlook.metered
    plain = CardLine(key=key, from_pct=None, to_pct=None)
    return WallCard(
        fryer=outlook.fryer.key,
        made_at=outlook.now,
        expires_at=outlook.coming.ends[0],
        by_reading=readable,
        by_hand=outlook.fryer.draining is Draining.HAND and not outlook.fill.empty,
        lines=tuple(card_lines(found.reading_pct, found.keys)) if readable else (plain,),
    )


def card_lines(reading_pct: Array, keys: Sequence[VerdictKey]) -> Iterator[CardLine]:
    """Yield a line for each run of readings that lead to one verdict."""
    start = 0
    for key, run in groupby(keys):
        stop = start + len(list(run))
        yield CardLine(
            key=key,
            from_pct=float(reading_pct[start]) if start else None,
            to_pct=float(reading_pct[stop]) if stop < len(keys) else None,
        )
        start = stop
