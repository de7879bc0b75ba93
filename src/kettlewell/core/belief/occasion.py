"""The occasion that lasts: readings of a bath within minutes, judged together as each of them comes.

They are with one meter: what another shows tells of both meters, and is an occasion of its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index, Mask, some
from kettlewell.core.belief.filter import Work
from kettlewell.core.belief.joint import Belief
from kettlewell.core.belief.readings import (
    Expected,
    Together,
    Weighed,
    believed,
    braced,
    expect,
    observe,
    weigh,
)
from kettlewell.core.belief.scatter import Scatter, errors_of, learnt
from kettlewell.core.belief.seen import NO_DOUBT, Doubt, Of, Seen, beside_laboratory, with_readings
from kettlewell.core.belief.stuck import echoed, stuck

SAYS_NOTHING = 1e12  # the variance of a reading that is not to be relied on
MOST_WORKED_H = 1.0  # working hours in which every occasion has ended, however hot the oil


def is_long(work: Work) -> bool:
    """Return whether baths worked longer than any occasion lasts."""
    return bool(work.hours.sum(axis=0).max() > MOST_WORKED_H)


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """Readings of one moment (K, V); nan where none.

    ``var`` beside gain and offset, by which of the ``meters``, oil temperature, when (POSIX
    seconds), the ``doubt`` that the way it was taken leaves, and where it is written.
    """

    pct: Array
    var: Array
    meters: Index
    temp_c: Array
    at_s: Array
    doubt: Index
    refs: NDArray[np.object_]

    @property
    def shown(self) -> Array:
        """Figures, times and meters (3, K, V)."""
        return np.stack([self.pct, self.at_s, self.meters])

    def only(self, where: Mask) -> "Readings":
        """Return the readings ``where`` (K, V) alone."""
        return replace(self, pct=np.where(where, self.pct, np.nan))

    def with_these(self, others: "Readings", where: Mask) -> "Readings":
        """Return the readings with others ``where`` (K, V)."""
        names = Readings.__dataclass_fields__
        return Readings(
            **{name: np.where(where, getattr(others, name), getattr(self, name)) for name in names}
        )

    def of(self, vessels: Index) -> "Readings":
        """Return those of some vessels (N,) of one kitchen, each a kitchen of its own (N, 1)."""
        return Readings(
            **{name: getattr(self, name)[0, vessels][:, None] for name in Readings.__dataclass_fields__}
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Occasion:
    """What is believed and seen but for the readings of occasions that last, and those, in ``rounds``."""

    belief: Belief
    seen: Seen
    scatter: Scatter
    rounds: tuple[Readings, ...] = ()

    @property
    def lasts_s(self) -> float:
        """How long an occasion lasts."""
        return 60 * self.belief.known.occasion_min.value

    def at(self, at_s: float, meter: int) -> "Occasion":
        """Return what a reading at a time, POSIX seconds, with a meter may still join."""
        if not self.rounds:
            return self
        over = at_s >= began(self.rounds) + self.lasts_s
        for each in self.rounds:
            over = over | (~np.isnan(each.pct) & (each.meters != meter))
        return self.without(over) if some(over) else self

    def without(self, over: Mask) -> "Occasion":
        """Return what lasts once the occasions of some baths (K, V) are over."""
        belief, seen, scatter = taken_in(replace(self, rounds=tuple(each.only(over) for each in self.rounds)))
        rounds = (each.only(~over) for each in self.rounds)
        kept = tuple(each for each in rounds if not np.isnan(each.pct).all())
        return Occasion(belief=belief, seen=seen, scatter=scatter, rounds=kept)

    def joined(self, readings: Readings) -> "Occasion":
        """Return what lasts once readings came, one moment after the other."""
        lasts, read = self, ~np.isnan(readings.pct)
        at_s, meters = readings.at_s[read], readings.meters[read]
        if not self.rounds and at_s.max() - at_s.min() < self.lasts_s and not some(meters != meters[0]):
            return Occasion(belief=self.belief, seen=self.seen, scatter=self.scatter, rounds=(readings,))
        for moment_s, meter in sorted({*zip(at_s, meters, strict=True)}):
            these = readings.only((readings.at_s == moment_s) & (readings.meters == meter))
            lasts = lasts.at(moment_s, meter).beside(these)
        return lasts

    def beside(self, readings: Readings) -> "Occasion":
        """Return what lasts with readings in the first round after those of their baths."""
        read, n = ~np.isnan(readings.pct), len(self.rounds)
        while n and not (read & ~np.isnan(self.rounds[n - 1].pct)).any():
            n -= 1
        these = self.rounds[n].with_these(readings, read) if n < len(self.rounds) else readings
        return replace(self, rounds=(*self.rounds[:n], these, *self.rounds[n + 1 :]))


def as_reliable(occasion: Occasion, rounds: Sequence[Readings]) -> Sequence[Readings]:
    """Return readings (K, V) as reliable as their meters were before: of one that is stuck none is sound."""
    known, checked_s = occasion.belief.known, occasion.scatter.checked_s
    found = []
    for each in rounds:
        where = (each.doubt == NO_DOUBT) & stuck(occasion.seen, each.meters, checked_s, known)
        if some(where):
            var = np.where(where, SAYS_NOTHING, each.var)
            each = replace(each, var=var, doubt=np.where(where, Doubt.SAME_FIGURE, each.doubt))  # noqa: PLW2901
        found.append(each)
    return found


def differing(
    belief: Belief, rounds: Sequence[Readings], scatter: Scatter
) -> tuple[Belief, Expected, Together]:
    """Return what was believed before readings (K, V), what was expected of them, and how they differ."""
    belief = braced(belief, reduce(np.logical_or, [~np.isnan(each.pct) for each in rounds]))
    known = belief.known
    more_var = [scatter.more_var(known, each.meters, each.var) for each in rounds]
    observed = [
        observe(belief, each.pct, each.var + more, each.meters)
        for each, more in zip(rounds, more_var, strict=True)
    ]
    return belief, *expect(belief, observed, [each.doubt == NO_DOUBT for each in rounds])


def taken_in(occasion: Occasion) -> tuple[Belief, Seen, Scatter]:
    """Return what is believed and seen with the readings of an occasion, and how meters scatter."""
    scatter = occasion.scatter
    if not occasion.rounds:
        return occasion.belief, occasion.seen, scatter
    rounds = as_reliable(occasion, occasion.rounds)
    before, expected, together = differing(occasion.belief, rounds, scatter)
    weighed = judged(before.known, expected, together, seen=occasion.seen, rounds=rounds)
    sound = together.well & (together.weight > 0) & (weighed.doubt == NO_DOUBT)
    return (
        believed(before, weighed, expected, beside=beside_result(occasion)),
        noted(occasion.seen, rounds, weighed, lasts_s=occasion.lasts_s),
        learnt(scatter, before.known, errors_of(expected, together, sound), **taken_with(rounds, before)),
    )


def newest_shown(seen: Seen, rounds: Sequence[Readings]) -> Array:
    """Return what each bath showed last, figures, times and meters (3, K, V); nan where none."""
    shown = np.stack([seen.last(column) for column in (Of.PCT, Of.AT_S, Of.METER)])
    for each in rounds:
        shown = np.where(np.isnan(each.pct), shown, each.shown)
    return shown


def judged(
    known: Coefficients, expected: Expected, together: Together, *, seen: Seen, rounds: Sequence[Readings]
) -> Weighed:
    """Return how readings (K, V) are taken: what another bath had just shown tells of no change."""
    weighed = weigh(known, expected, together)
    if not some(weighed.changed):
        return weighed
    shown = newest_shown(seen, rounds)[:, :, None]
    own = np.eye(shown.shape[-1], dtype=bool)
    return weighed.unless(reduce(np.logical_or, [echoed(each.shown, shown, own, known) for each in rounds]))


def beside_result(occasion: Occasion) -> Mask:
    """Return which baths (K, V) hold about what a laboratory measured, as their occasions began."""
    return beside_laboratory(occasion.seen, began(occasion.rounds), occasion.belief.known)


def taken_with(rounds: Sequence[Readings], belief: Belief) -> dict[str, Any]:
    """Return with which ``meters`` (K, V) baths were read, and the variance ``beside`` their scatter."""
    repeatability_var = belief.known.meter_repeatability.sd**2
    meters, beside = rounds[0].meters, rounds[0].var - repeatability_var
    for each in rounds[1:]:
        well = ~np.isnan(each.pct) & (each.doubt == NO_DOUBT)
        meters = np.where(well, each.meters, meters)
        beside = np.where(well, each.var - repeatability_var, beside)
    return {"meters": meters, "beside": beside}


def noted(seen: Seen, rounds: Sequence[Readings], weighed: Weighed, *, lasts_s: float) -> Seen:
    """Return what is seen after readings (K, V) that were taken so; an occasion ``lasts_s``.

    A change nobody wrote down was before the first of them.
    """
    before = np.zeros(weighed.changed.shape, bool)
    for n, each in enumerate(rounds):
        read = ~np.isnan(each.pct)
        rows = np.empty((*read.shape, len(Of)))
        rows[..., Of.AT_S], rows[..., Of.PCT] = each.at_s, each.pct
        rows[..., Of.TEMP_C], rows[..., Of.METER] = each.temp_c, each.meters
        rows[..., Of.INNOVATION] = weighed.innovation[..., n]
        rows[..., Of.DOUBT] = np.where(each.doubt != NO_DOUBT, each.doubt, weighed.doubt[..., n])
        rows[..., Of.CHANGED] = weighed.changed & ~before
        seen = with_readings(seen, read, rows, refs=each.refs, lasts_s=lasts_s)
        before = before | read
    return seen


def began(rounds: Sequence[Readings]) -> Array:
    """Return when the first reading of each bath was taken (K, V), POSIX seconds; nan without any."""
    read_s = [np.where(np.isnan(each.pct), np.nan, each.at_s) for each in rounds]
    return np.asarray(reduce(np.fmin, read_s))
