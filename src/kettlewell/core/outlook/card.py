"""The wall card: which reading before the coming service leads to which verdict."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from itertools import groupby

import numpy as np

from kettlewell.book import Draining, Meter, Reading
from kettlewell.core.arrays import Array, Index
from kettlewell.core.belief.filter import not_slower
from kettlewell.core.belief.joint import Belief, single_baths, stack
from kettlewell.core.belief.level import highest_in, level_of
from kettlewell.core.belief.occasion import (
    Occasion,
    Readings,
    as_reliable,
    beside_result,
    differing,
    judged,
    newest_shown,
    noted,
)
from kettlewell.core.belief.readings import believed, braced, weigh
from kettlewell.core.belief.seen import NO_DOUBT, beside_laboratory
from kettlewell.core.belief.stuck import echoed
from kettlewell.core.decision import URGENCY, Evidence, VerdictKey, decide, in_force
from kettlewell.core.decision.seen import evidence_of, lately
from kettlewell.core.metering import reading_var
from kettlewell.core.outlook.ahead import first_two
from kettlewell.core.outlook.here import Here
from kettlewell.core.outlook.outlook import Outlook, by_limits, passed_limits
from kettlewell.core.outlook.values import CardLine, WallCard

HIGHEST_PCT = 40.0  # far past every limit there is: chosen, no source
FINEST_PCT = 0.1  # a finer card tells nobody more, and would cost without end: chosen, no source
DECIMALS = 6
FRY_ON = URGENCY.index(VerdictKey.FRY_ON)


@dataclass(frozen=True, slots=True, kw_only=True)
class BathAnswers:
    """What each possible ``reading_pct`` (N,) of one bath would lead to: ``keys``, N of them."""

    reading_pct: Array
    keys: Sequence[VerdictKey]

    @property
    def could_fry_on(self) -> bool:
        """Whether some reading would let the bath fry on."""
        return VerdictKey.FRY_ON in self.keys

    def at(self, reading_pct: float) -> VerdictKey:
        """Return what a reading would lead to."""
        n = int(np.searchsorted(self.reading_pct, reading_pct))
        return self.keys[min(n, len(self.keys) - 1)]

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
    readings = shown_pct(meter_of(here).resolution_pct)
    copies = len(readings)
    which = np.repeat(np.array(fryers, dtype=np.intp), copies)
    updated, evidence = once_read(here, which, np.tile(readings, len(fryers)))
    level = level_of(updated)
    those = zip(fryers, [outlook.fryer for outlook in outlooks], strict=True)
    later = highest_in(updated, first_two(here.ahead, those, copies))
    found: dict[int, BathAnswers] = {}
    for limits, places in by_limits(outlooks).items():
        rows = np.array(places)[:, None] * copies + np.arange(copies)
        passed, _ = passed_limits(limits, level.at(rows, 0), later.at(slice(None), rows, 0))
        known = of_rows(evidence, rows)
        first = decide(passed, known, limits=in_force(limits)).verdict
        could = (first == FRY_ON).any(axis=-1, keepdims=True)
        if (could & (known.overdue | known.unread)).any():
            first = decide(passed, replace(known, could_fry_on=could), limits=in_force(limits)).verdict
        for n, verdicts in zip(places, np.broadcast_to(first, rows.shape), strict=True):
            found[n] = BathAnswers(reading_pct=readings, keys=[URGENCY[place] for place in verdicts.tolist()])
    return [found[n] for n in range(len(outlooks))]


def meter_of(here: Here) -> Meter:
    """Return the meter that a reading would be taken with: the first in use, or of all."""
    return here.place.baths.meters[here.meter_in_use or 0]


def once_read(here: Here, which: Index, reading_pct: Array) -> tuple[Belief, Evidence]:
    """Return what would be believed and known of baths (B, 1) after each of B readings of fryers ``which``.

    The very steps by which a reading is taken in, each bath as a kitchen of its own.
    """
    lasts, belief = here.lasting.at(here.now.timestamp(), here.meter_in_use or 0), here.lasting.belief
    supposed = supposed_readings(here, reading_pct[:, None])
    typical = supposed_readings(here, np.zeros_like(belief.base[..., 0]))
    *rounds, typical = as_reliable(lasts, [*lasts.rounds, typical])
    _, expected, at_nought = differing(lasts.belief, [*rounds, typical], lasts.scatter)
    together = at_nought.of(which)
    var = typical.var + lasts.scatter.more_var(belief.known, typical.meters, typical.var)
    per_point = np.sqrt(at_nought.var[..., -1] / var)[0, which]
    together.innovation[:, 0, -1] += per_point * reading_pct
    weighed = weigh(belief.known, expected.of(which), together)
    supposed = replace(supposed, doubt=typical.doubt[0, which][:, None])
    of_which = [*(each.of(which) for each in rounds), supposed]
    if weighed.changed.any():
        shown = newest_shown(lasts.seen, rounds)[:, :1]
        own = which[:, None, None] == np.arange(shown.shape[-1])
        echo = [echoed(each.shown, shown[:, :, None], own, belief.known) for each in of_which]
        weighed = weighed.unless(np.logical_or.reduce(echo))
    before = braced(others_read(lasts, which), np.ones((len(which), 1), bool))
    beside = beside_laboratory(lasts.seen, here.now.timestamp(), belief.known)[0, which][:, None]
    updated = not_slower(believed(before, weighed, expected.of(which), beside=beside))
    seen = lasts.seen
    if here.off_s is None:
        seen = lately(seen, here.now.timestamp(), belief.known, to_come=len(of_which))
    evidence = evidence_of(
        noted(seen.of_vessels(which), of_which, weighed, lasts_s=lasts.lasts_s),
        here.now.timestamp(),
        belief.known,
        out_of_order=here.out_of_order[0, which][:, None],
        metered=here.meter_in_use is not None,
        off_s=None if here.off_s is None else np.repeat(here.off_s, len(which), axis=0),
    )
    return updated, replace(evidence, recalled=here.recalled[0, which][:, None])


def supposed_readings(here: Here, reading_pct: Array) -> Readings:
    """Return readings (K, V) as if taken now, as they should be, with the meter in use."""
    meter, shape = meter_of(here), reading_pct.shape
    typical = Reading(at=here.now, fryer="", tpc_pct=0.0, oil_temp_c=meter.min_oil_temp_c)
    return Readings(
        pct=reading_pct,
        var=np.full(shape, reading_var(typical, meter, here.place.baths.known)),
        meters=np.full(shape, here.meter_in_use or 0),
        temp_c=np.full(shape, meter.min_oil_temp_c),
        at_s=np.full(shape, here.now.timestamp()),
        doubt=np.full(shape, NO_DOUBT),
        refs=np.full(shape, "", dtype=object),
    )


def others_read(lasts: Occasion, which: Index) -> Belief:
    """Return the belief (B, 1) about fryers ``which`` before their occasions, and after all others'."""
    if not lasts.rounds:
        return single_baths(lasts.belief, np.zeros_like(which), which)
    rounds = as_reliable(lasts, lasts.rounds)
    before, expected, together = differing(lasts.belief, rounds, lasts.scatter)
    weighed = judged(before.known, expected, together, seen=lasts.seen, rounds=rounds)
    beside = beside_result(lasts)
    read = np.flatnonzero(weighed.weight[0] > 0)
    each = [weighed, *(weighed.but(fryer) for fryer in read.tolist())]
    told = stack([believed(before, others, expected, beside=beside) for others in each])
    kitchens = np.zeros(weighed.weight.shape[1], np.intp)
    kitchens[read] = 1 + np.arange(len(read))
    return single_baths(told, kitchens[which], which)


def of_rows(evidence: Evidence, rows: Index) -> Evidence:
    """Return what is known of some kitchens (B, N) of one fryer."""
    values = {field.name: getattr(evidence, field.name) for field in fields(Evidence)}
    return Evidence(**{name: value[rows, 0] if np.ndim(value) else value for name, value in values.items()})


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
