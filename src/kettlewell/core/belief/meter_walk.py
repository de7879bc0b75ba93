"""Walking through what the day book says of the meters."""

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

import numpy as np

from kettlewell.book import Adopted, AtMeter, MeterCheck, MeterOut, find
from kettlewell.core.arrays import Array
from kettlewell.core.belief.baths import Baths
from kettlewell.core.belief.meters import Turns, adjusted, adopted, hear_check, wander
from kettlewell.core.belief.state import Belief
from kettlewell.core.metering.checks import deviation
from kettlewell.core.metering.drift import Drifting, begun_anew, checked, unchecked

DRIFT_STEP = timedelta(days=7)
DAY = timedelta(days=1)
EVERY = np.ones(1, bool)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterHistory:
    """What the book says of one meter: whether it is ``out`` of use, its checks, and how it drifts."""

    out: bool = False
    checks: tuple[MeterCheck, ...] = ()
    drifting: Drifting = field(default_factory=unchecked)

    @property
    def lot(self) -> str | None:
        """The reference lot of the last check."""
        return self.checks[-1].lot if self.checks else None


class MeterWalk:
    """What the walk keeps of the kitchen's meters: their ``histories`` and ``turns``.

    Nothing drifts before ``drifted_to``, which the first reading or check sets.
    """

    def __init__(
        self, baths: Baths, histories: tuple[MeterHistory, ...] = (), drifted_to: datetime | None = None
    ) -> None:
        """Begin with meters never checked, or where a walk stopped."""
        self.baths = baths
        self.histories = list(histories) or [MeterHistory() for _ in baths.meters]
        self.drifted_to = drifted_to
        self.turns = Turns(wandered=np.zeros((2, len(baths.meters))))

    @property
    def in_use(self) -> int | None:
        """The first meter that is in use; None where there is none."""
        meters = range(len(self.baths.kitchen.meters))
        return next((i for i in meters if not self.histories[i].out), None)

    def drift(self, belief: Belief, to: datetime, *, step: timedelta = DRIFT_STEP) -> Belief:
        """Return the belief once the meters drifted up to a time, if that is a ``step`` away.

        A week's walk is 0.08 points, so nothing is lost by it.
        """
        if self.drifted_to is None:
            self.drifted_to = to
        elif to - self.drifted_to >= step:
            days = (to - self.drifted_to) / DAY
            self.drifted_to = to
            walked = [days * float(history.drifting.walk_var) for history in self.histories]
            return self.turned(belief, np.array([walked, np.zeros(len(walked))]))
        return belief

    def turned(self, belief: Belief, var: Array) -> Belief:
        """Return the belief once meters changed by variances (2, M), and remember it."""
        self.turns = self.turns.on(var)
        return wander(belief, var[None])

    def take(self, belief: Belief, entry: AtMeter) -> Belief:
        """Return the belief after an entry about a meter."""
        i = self.baths.meter_index(entry.meter)
        match entry:
            case MeterOut():
                self.histories[i] = replace(self.histories[i], out=not entry.back)
            case MeterCheck():
                return self.check(belief, i, entry)
            case Adopted():
                return adopt(self.baths, belief, i, entry)
        return belief

    def check(self, belief: Belief, i: int, check: MeterCheck) -> Belief:
        """Return the belief after a meter check."""
        belief = self.drift(belief, check.at, step=timedelta(0))
        history = self.histories[i]
        drifting, found = history.drifting, deviation(check, self.baths.kitchen)
        days = (check.at - history.checks[-1].at) / DAY if history.checks else 0.0
        if check.adjusted:
            belief = adjusted(belief, i, EVERY)
            self.turns = replace(self.turns, adjusted=(*self.turns.adjusted, (i, self.turns.wandered)))
        if check.lot != history.lot:
            belief = self.turned(belief, self.by_lot(i, history.lot, check.lot))
        if check.adjusted or check.lot != history.lot:
            drifting = begun_anew(drifting)
        self.histories[i] = replace(
            history,
            checks=(*history.checks, check),
            drifting=checked(drifting, days, found.pct, found.own_u_pct),
        )
        return hear_check(belief, i, np.array([found.pct]), np.array([found.own_u_pct**2]))

    def by_lot(self, i: int, old: str | None, new: str) -> Array:
        """Return the variances (2, M) of a meter being held against another lot.

        The error of the lot before is not known apart from the meter's, so both count.
        """
        var, lots = np.zeros_like(self.turns.wandered), self.baths.kitchen.reference_lots
        var[1, i] = sum(find(lots, key).u_pct ** 2 for key in (old, new) if key is not None)
        return var


def adopt(baths: Baths, belief: Belief, i: int, taken: Adopted) -> Belief:
    """Return the belief once a comparison was taken over.

    Of the first meter against the laboratory: gain and offset in one oil. Of a further meter
    against the first: its offset and ratio, which it has in all oils. Any other teaches nothing.
    """
    if (i == 0) != (taken.against is None):
        return belief
    layout, oil = belief.layout, baths.oil_index[taken.oil]
    first = layout.gains.start + oil, layout.offsets.start + oil
    places = (layout.ratio(i), layout.offset_of(i).start) if i else first
    both = taken.correlation * taken.gain_u * taken.offset_u_pct
    cov = np.array([[taken.gain_u**2, both], [both, taken.offset_u_pct**2]])
    return adopted(belief, places, np.array([taken.gain, taken.offset_pct]), cov)
