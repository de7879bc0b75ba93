"""What the program makes of checks of a practice kitchen's meter and of laboratory results."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from kettlewell.book import PERMISSIBLE_PCT
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.meters import adjusted, drift, hear_check
from kettlewell.core.belief.readings import hear, hear_laboratory, read_by
from kettlewell.core.belief.state import LEVEL, Belief, chosen
from kettlewell.core.limits.decision import conformity_probability
from kettlewell.core.metering.drift import Drifting, begun_anew, checked, unchecked
from kettlewell.practice.findings import READINGS
from kettlewell.practice.instruments import Tools
from kettlewell.practice.kitchens import LIMIT_PCT, SERVICES_PER_DAY, Practice

LEAST_SHARE = 0.8  # of the limit that sampled oil should stand at: chosen, as is the next
MOST_UNSURE_PCT = 0.4  # how well its level in the meter's scale should be known


@dataclass(frozen=True, slots=True, kw_only=True)
class Care:
    """How the meters are looked after.

    They are checked every ``check_days``, the first time before the first service, and a sample is
    sent to the laboratory once in ``laboratory_days``; None is never. ``meter_known`` says that
    the meter has gain 1 and offset 0.
    """

    check_days: int | None = None
    laboratory_days: int | None = None
    meter_known: bool = False


@dataclass(slots=True, kw_only=True)
class Held:
    """What kitchens believe, of their baths and of ``bottles`` (K, 1) on their way to the laboratory.

    A bottle is a bath that nobody heats: whatever changes what the kitchen shares is told of both.
    """

    baths: Belief
    bottles: Belief

    def turn(self, change: Callable[[Belief], Belief]) -> None:
        """Change what the kitchens share."""
        self.bottles = change(self.shared_with(self.bottles))
        self.baths = change(self.baths)

    def shared_with(self, bottles: Belief) -> Belief:
        """Return ``bottles`` with what is believed now of what the kitchens share."""
        return replace(bottles, shared=self.baths.shared, shared_cov=self.baths.shared_cov)

    def fill(self, sampled: Mask) -> None:
        """Fill the bottles of kitchens with the oil of the baths ``sampled`` (K, F)."""
        if not sampled.any():
            return
        new, old = bath_of(self.baths, sampled.argmax(axis=1)), self.shared_with(self.bottles)
        self.bottles = chosen(np.asarray(sampled.any(axis=1)), new, old)

    def hear(self, tpc_pct: Array) -> None:
        """Take in what the laboratory found in the bottles (K,); nan where nothing."""
        if np.isnan(tpc_pct).all():
            return
        u_pct = coefficients()["laboratory"].sd * np.nan_to_num(tpc_pct)
        self.learn(hear_laboratory(self.shared_with(self.bottles), tpc_pct[:, None], u_pct[:, None]))

    def read(self, shown_pct: Array, var: float) -> None:
        """Take in what the meter shows of the oil in the bottles (K,), known to ``var``; nan where not."""
        bottles, shown = self.shared_with(self.bottles), shown_pct[:, None]
        evidence = read_by(bottles, shown, np.full(shown.shape, var))
        self.learn(hear(bottles, evidence, lot_sd=coefficients()["fill_to_fill"].sd)[0])

    def learn(self, bottles: Belief) -> None:
        """Take over what the bottles taught of what the kitchens share."""
        self.bottles = bottles
        self.baths = replace(self.baths, shared=bottles.shared, shared_cov=bottles.shared_cov)


def bath_of(belief: Belief, which: Index) -> Belief:
    """Return the belief of one bath ``which`` (K,) of each kitchen alone."""

    def one(values: Any) -> Any:  # noqa: ANN401 - whichever array it is
        return np.take_along_axis(values, which.reshape(-1, *[1] * (values.ndim - 1)), axis=1)

    return replace(
        belief,
        base=one(belief.base),
        sensitivity=one(belief.sensitivity),
        own_cov=one(belief.own_cov),
        oil=one(belief.oil),
        gain=one(belief.gain),
        offset=one(belief.offset),
        fresh=one(belief.fresh),
        rate_unit=one(belief.rate_unit),
        suspect=one(belief.suspect),
    )


@dataclass(slots=True, kw_only=True)
class Checks:
    """What is known from checks: how the meters are ``drifting``, and when they were checked last."""

    practice: Practice
    drifting: Drifting = field(init=False)
    last_day: int | None = None

    def __post_init__(self) -> None:
        """Start with meters never checked."""
        self.drifting = unchecked((len(self.practice.draw),))

    def take(self, held: Held, day: int, tools: Tools) -> None:
        """Check the meters on the morning of a day, and adjust those that are more probably off than not.

        That is what is decided on three readings (kettlewell.core.metering.checks.decide).
        """
        lot_u = self.practice.findings.reference_u_pct
        self.take_lots(held, day)
        found = tools.check(day)
        self.hear(held, found, days=0 if self.last_day is None else day - self.last_day)
        within = conformity_probability(
            found, np.hypot(self.own_u_pct, lot_u), lower=-PERMISSIBLE_PCT, upper=PERMISSIBLE_PCT
        )
        off = within < 0.5
        if off.any():
            held.turn(lambda belief: adjusted(belief, 0, off))
            self.begin_anew(off)
            self.hear(held, tools.adjust(day, off), days=0)
        self.last_day = day

    @property
    def own_u_pct(self) -> float:
        """The standard uncertainty of a deviation beside the reference value's own."""
        repeatability = coefficients()["meter_repeatability"].sd / np.sqrt(READINGS)
        return float(np.hypot(repeatability, self.practice.resolution_pct / np.sqrt(12)))

    def hear(self, held: Held, deviation_pct: Array, *, days: int) -> None:
        """Take in a check (K,), nan where there was none, ``days`` after the last."""
        self.drifting = checked(self.drifting, days, deviation_pct, self.own_u_pct)
        held.baths = hear_check(held.baths, 0, deviation_pct, np.full(len(deviation_pct), self.own_u_pct**2))

    def take_lots(self, held: Held, day: int) -> None:
        """Take in which kitchens check in the oil of another lot than last time."""
        lot, lots = self.practice.findings.lot, 1
        new = np.ones(len(lot[day]), bool)
        if self.last_day is not None:
            new, lots = lot[day] != lot[self.last_day], 2
        if new.any():
            var = lots * self.practice.findings.reference_u_pct**2 * new
            held.turn(lambda belief: drift(belief, belief.layout.reference(0), var))
            self.begin_anew(new)

    def begin_anew(self, where: Mask) -> None:
        """Forget where the meters ``where`` (K,) stood, but not how they walk."""
        new, at = begun_anew(self.drifting), where[:, None]
        self.drifting = replace(
            self.drifting,
            mean_pct=np.where(at, new.mean_pct, self.drifting.mean_pct),
            var=np.where(at, new.var, self.drifting.var),
        )


@dataclass(slots=True, kw_only=True)
class Samples:
    """Which oil went to the laboratory: how often each oil (K, O), and in which quarter last (K,)."""

    practice: Practice
    every_days: int
    taken: Index = field(init=False)
    last: Index = field(init=False)

    def __post_init__(self) -> None:
        """Start without samples."""
        kitchens = len(self.practice.draw)
        self.taken = np.zeros((kitchens, int(self.practice.oil.max()) + 1), np.intp)
        self.last = np.full(kitchens, -1)

    def choose(self, t: int, belief: Belief, leaving: Mask) -> Mask:
        """Return which of the baths ``leaving`` (K, F) to sample: the first of a quarter in its turn.

        Oil about to be discarded stands highest, where a sample tells most of the gain; one that was
        hardly read tells little, since nobody knows what the meter showed of it. Oils take
        turns for half a quarter; of several baths the one with the highest level is taken.
        """
        quarter, day = divmod(t // SERVICES_PER_DAY, self.every_days)
        turn = self.taken[:, self.practice.oil] == self.taken.min(axis=1, keepdims=True)
        turn = turn | (2 * day > self.every_days)
        level, unsure = belief.own_mean()[..., LEVEL], np.sqrt(belief.own_cov[..., LEVEL, LEVEL])
        tells = (level >= LEAST_SHARE * LIMIT_PCT * belief.gain_mean()) & (unsure <= MOST_UNSURE_PCT)
        may = leaving & tells & turn & (self.last < quarter)[:, None]
        level = np.where(may, level, -np.inf)
        sampled = may & (np.arange(may.shape[1]) == level.argmax(axis=1)[:, None])
        self.last = np.where(sampled.any(axis=1), quarter, self.last)
        self.taken += (
            sampled[..., None] & (self.practice.oil[:, None] == np.arange(self.taken.shape[1]))
        ).sum(axis=1)
        return np.asarray(sampled)
