"""Which oil of practice kitchens goes to the laboratory, when, and what becomes a control oil of it."""

from dataclasses import dataclass, field

import numpy as np

from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.joint import LEVEL, Belief
from kettlewell.practice.instruments import LABORATORY_DAYS
from kettlewell.practice.kitchens import LIMIT_PCT, Practice

LEAST_SHARE = 0.8  # of the limit that sampled oil should stand at: chosen, as is the next
MOST_UNSURE_PCT = 0.4  # how well its level in the reference scale should be known
BOTTLED_MOST_UNSURE_PCT = 1.0  # of oil that is bottled, and read again once its value is known: chosen
YEAR_DAYS = 365


@dataclass(slots=True, kw_only=True)
class Samples:
    """Which oil went to the laboratory: how often each oil (K, O), and in which of the periods last (K,).

    One is taken in ``every_days``, and ``most`` in a year. The ``first_by_worth`` is taken as soon as a bath
    stands high enough, whether or not it is discarded. What a sample is worth
    (kettlewell.core.outlook.worth) is most before the first, when nothing yet tied the gain, and it pays
    from the first day on; what it waits for is oil near the limit, so that this stands in for working its
    worth out each day. Oil that is ``bottled`` is read again once its value is known.
    """

    practice: Practice
    every_days: int
    most: int | None = None
    first_by_worth: bool = False
    bottled: bool = False
    taken: Index = field(init=False)
    last: Index = field(init=False)

    def __post_init__(self) -> None:
        """Start without samples."""
        kitchens = len(self.practice.draw)
        self.taken = np.zeros((kitchens, int(self.practice.oil.max()) + 1), np.intp)
        self.last = np.full(kitchens, -1)

    def choose(self, t: int, belief: Belief, leaving: Mask) -> Mask:
        """Return which of the baths ``leaving`` (K, F) to sample: the first of a period in its turn.

        Oil about to be discarded stands highest, where a sample tells most of the gain; one that was
        hardly read tells little, since nobody knows what the meter showed of it, unless it is bottled.
        Oils take turns for half a period; of several baths the one with the highest level is taken.
        """
        fryers, today = leaving.shape[1], t // self.practice.rota.per_day
        period, day = divmod(today, self.every_days)
        turn = self.taken[:, self.practice.oil] == self.taken.min(axis=1, keepdims=True)
        turn = turn | (2 * day > self.every_days)
        level, most_unsure_pct = belief.own_mean()[:, :fryers, LEVEL], self.most_unsure_pct
        unsure = np.sqrt(belief.own_cov[:, :fryers, LEVEL, LEVEL])
        high = level >= LEAST_SHARE * LIMIT_PCT * belief.gain_mean()[:, :fryers]
        offered = leaving | (self.first_by_worth & (self.last < 0) & ~self.practice.closed[t, :, 0])[:, None]
        may = offered & high & (unsure <= most_unsure_pct) & turn & self.due(today, period)[:, None]
        level = np.where(may, level, -np.inf)
        sampled = may & (np.arange(fryers) == level.argmax(axis=1)[:, None])
        self.last = np.where(sampled.any(axis=1), period, self.last)
        of_oil = self.practice.oil[:, None] == np.arange(self.taken.shape[1])
        self.taken += (sampled[..., None] & of_oil).sum(axis=1)
        return np.asarray(sampled)

    @property
    def most_unsure_pct(self) -> float:
        """How well the level of oil should be known that is sampled."""
        return BOTTLED_MOST_UNSURE_PCT if self.bottled else MOST_UNSURE_PCT

    def due(self, day: int, period: int) -> Mask:
        """Return which kitchens (K,) have taken no sample in this period, and fewer than most this year."""
        due = self.last < period
        if self.most is None:
            return due
        return np.asarray(due & (self.taken.sum(axis=1) < self.most * (1 + day // YEAR_DAYS)))


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlOils:
    """The control oils in use (K,): how many there were, the last one's value, and its place among the oils.

    Where there was none, the value is nan.
    """

    number: Index
    tpc_pct: Array
    oil: Index

    @classmethod
    def none(cls, kitchens: int) -> "ControlOils":
        """Return that no kitchen has one."""
        zero = np.zeros(kitchens, np.intp)
        return cls(number=zero, tpc_pct=np.full(kitchens, np.nan), oil=zero)


@dataclass(slots=True, kw_only=True)
class Bottles:
    """What is written on the bottles: the oil of each (K,; -1 where none) on its way, and those in use."""

    practice: Practice
    on_the_way: dict[int, Index] = field(init=False, default_factory=dict)
    in_use: ControlOils = field(init=False)

    def __post_init__(self) -> None:
        """Start without any."""
        self.in_use = ControlOils.none(len(self.practice.draw))

    def fill(self, t: int, sampled: Mask) -> None:
        """Bottle the oil of the baths ``sampled`` (K, F), of which the laboratory gets one."""
        due = t // self.practice.rota.per_day + LABORATORY_DAYS
        oil = self.on_the_way.get(due, np.full(len(sampled), -1))
        self.on_the_way[due] = np.where(sampled.any(axis=1), self.practice.oil[sampled.argmax(axis=1)], oil)

    def value(self, day: int, result_pct: Array) -> Mask:
        """Take in what the laboratory found (K,; nan where nothing): it is the control oil from now on.

        Return where it came (K,).
        """
        came, before = ~np.isnan(result_pct), self.in_use
        self.in_use = ControlOils(
            number=before.number + came,
            tpc_pct=np.where(came, result_pct, before.tpc_pct),
            oil=np.where(came, self.on_the_way.pop(day, before.oil), before.oil),
        )
        return came
