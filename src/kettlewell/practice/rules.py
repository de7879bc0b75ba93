"""The rules that are compared: thresholds, the calendar, one that knows the future, and ours."""

from dataclasses import dataclass, field, replace

import numpy as np

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.level import level_of
from kettlewell.core.decision import URGENCY, LimitsInForce, VerdictKey, decide
from kettlewell.core.decision.seen import evidence_of, overdue
from kettlewell.core.outlook.forecast import passing
from kettlewell.core.outlook.outlook import passed_by
from kettlewell.core.outlook.reading import LOOK_AHEAD_SERVICES, reading_due
from kettlewell.practice.bath import Bath, chosen, filled, serve
from kettlewell.practice.books import CHANGED, CHANGED_LATE, read_at
from kettlewell.practice.instruments import Tools
from kettlewell.practice.kitchens import LIMIT_PCT, Practice
from kettlewell.practice.run import Logged
from kettlewell.practice.watch import Upkeep, Watch


@dataclass(slots=True, kw_only=True)
class Never:
    """Never read and never change: what the other rules start from."""

    practice: Practice

    def tend(self, _t: int, _tools: Tools, /) -> None:
        """Leave the meters alone."""

    def wants_reading(self, _t: int, /) -> Mask:
        """Return which baths (K, F) to read before service ``t``."""
        return self.all_or_none(wanted=False)

    def wants_sample(self, _t: int, /) -> Mask:
        """Return which baths to take a sample of for the laboratory before service ``t``."""
        return self.all_or_none(wanted=False)

    def note_sample(self, _t: int, _shown_pct: Array, /) -> None:
        """Take no notice of samples."""

    def read(self, _t: int, _reading_pct: Array, _again: int, /) -> None:
        """Take no notice of readings beyond what ``before`` is told."""

    def wants_again(self, _t: int, /) -> Mask:
        """Return which baths (K, F) to read again before service ``t``."""
        return self.all_or_none(wanted=False)

    def before(self, _t: int, _reading_pct: Array, /) -> Mask:
        """Return which baths to change before service ``t``."""
        return self.all_or_none(wanted=False)

    def after(self, _t: int, _logged: Logged, /) -> Mask:
        """Return which baths to change after service ``t``."""
        return self.all_or_none(wanted=False)

    def all_or_none(self, *, wanted: bool) -> Mask:
        """Return every bath (K, F) if ``wanted``, else none."""
        return np.full(self.practice.draw_assumed.shape, wanted)


@dataclass(slots=True, kw_only=True)
class Threshold(Never):
    """Read every morning and change at a reading of ``at_pct``, the same for all or by kitchen (K, 1)."""

    at_pct: Array | float

    def wants_reading(self, t: int, /) -> Mask:
        """Return every bath in the morning."""
        return self.all_or_none(wanted=t % self.practice.rota.per_day == 0)

    def before(self, _t: int, reading_pct: Array, /) -> Mask:
        """Return the baths that show as much or more."""
        return np.asarray(reading_pct >= self.at_pct)


@dataclass(slots=True, kw_only=True)
class Calendar(Never):
    """Change every so many days, whatever the oil."""

    every_days: int

    def before(self, t: int, _reading_pct: Array, /) -> Mask:
        """Return every bath on the morning of its day."""
        return self.all_or_none(wanted=t > 0 and t % (self.every_days * self.practice.rota.per_day) == 0)


@dataclass(slots=True, kw_only=True)
class Clairvoyant(Never):
    """Change before the service in which the true TPC would pass the limit, never earlier."""

    bath: Bath = field(init=False)

    def __post_init__(self) -> None:
        """Start with every bath filled fresh."""
        self.bath = filled(self.practice, 0)

    def before(self, t: int, _reading_pct: Array, /) -> Mask:
        """Return the baths whose highest TPC in service ``t`` would lie past the limit."""
        change = serve(self.practice, t, self.bath).highest_pct > LIMIT_PCT
        self.bath = serve(self.practice, t, chosen(change, filled(self.practice, t), self.bath)).bath
        return change


@dataclass(slots=True, kw_only=True)
class Ours(Never):
    """Follow the verdicts at ``risk``: change before the service or after it, measure again, or fry on.

    Reads every morning, or ``when_told`` only before services at which a reading is due. What was
    read and is to be measured again is read again at once; where that settles nothing the chef
    who is called goes by the odds. The meter is looked after with ``care``.
    """

    risk: float
    when_told: bool = False
    care: Upkeep = field(default_factory=Upkeep)
    watch: Watch = field(init=False)
    late: Mask = field(init=False)
    read_now: Mask = field(init=False)

    def __post_init__(self) -> None:
        """Start with nothing known beyond the priors and no change announced."""
        self.watch = Watch(practice=self.practice, care=self.care)
        self.late = self.read_now = self.all_or_none(wanted=False)

    @property
    def limits(self) -> LimitsInForce:
        """The one limit there is, at the risk of this rule."""
        no = np.zeros(1, dtype=bool)
        return LimitsInForce(tpc_pct=np.array([LIMIT_PCT]), risk=np.array([self.risk]), mapped=no, reached=no)

    @property
    def known(self) -> Coefficients:
        """The coefficients that the verdicts rest on."""
        return self.watch.baths.known

    def passed(self, t: int, services: int = 2) -> Array:
        """Return the probability (services, K, F) of having passed the limit by the ends of services."""
        now = passing(level_of(self.watch.belief), LIMIT_PCT)[:, : self.practice.draw.shape[1]]
        coming = passing(self.watch.forecast(t, services), LIMIT_PCT)
        return np.asarray(passed_by(now[None], coming[None])[0])

    def read_at_s(self, t: int) -> float:
        """Return when the baths are read before service ``t``, POSIX seconds."""
        return read_at(self.practice.rota, t).timestamp()

    def verdicts(self, t: int) -> tuple[Index, Array]:
        """Return the verdicts (K, F) before service ``t``, and the odds (2, K, F) they rest on."""
        passed = self.passed(t)
        now_s, off_s = self.read_at_s(t), self.watch.off_s[:, None]
        evidence = replace(evidence_of(self.watch.seen, now_s, self.known, off_s=off_s), could_fry_on=True)
        return decide(passed[None], evidence, limits=self.limits).verdict, passed

    def tend(self, t: int, tools: Tools, /) -> None:
        """Look after the meters."""
        self.watch.tend(t, tools)

    def wants_sample(self, _t: int, /) -> Mask:
        """Return the bath whose oil goes to the laboratory."""
        return self.watch.sampled

    def note_sample(self, t: int, shown_pct: Array, /) -> None:
        """Take in what the meter shows of it."""
        self.watch.note_sample(t, shown_pct)

    def wants_reading(self, t: int, /) -> Mask:
        """Return every bath in the morning, or those whose reading is due."""
        if not self.when_told:
            return self.all_or_none(wanted=t % self.practice.rota.per_day == 0)
        seen = self.watch.seen
        due = reading_due(
            self.passed(t, LOOK_AHEAD_SERVICES), self.known, risk=self.risk, unread=seen.count == 0
        )
        return np.asarray((due == 0) | overdue(seen, self.read_at_s(t), self.known))

    def read(self, t: int, reading_pct: Array, again: int, /) -> None:
        """Take in the readings, or what was read ``again``."""
        self.watch.read(t, reading_pct, again)
        if not again:
            self.read_now = ~np.isnan(reading_pct)

    def wants_again(self, t: int, /) -> Mask:
        """Return the baths that were read and are to be measured again."""
        if not self.read_now.any():
            return self.read_now
        return np.asarray(self.read_now & (self.verdicts(t)[0] == URGENCY.index(VerdictKey.MEASURE_AGAIN)))

    def before(self, t: int, _reading_pct: Array, /) -> Mask:
        """Return the baths with the verdict "change before frying"."""
        verdict, passed = self.verdicts(t)
        unsettled = verdict == URGENCY.index(VerdictKey.MEASURE_AGAIN)
        early, late = passed > self.risk
        change = (verdict == URGENCY.index(VerdictKey.CHANGE_BEFORE)) | (unsettled & early)
        self.late = (verdict == URGENCY.index(VerdictKey.CHANGE_AFTER)) | (unsettled & ~early & late)
        change, self.late = (where & ~self.practice.closed[t] for where in (change, self.late))
        self.watch.take_sample(t, change | self.late)
        self.watch.change(change, self.practice.rota.begins(t) + CHANGED)
        return np.asarray(change)

    def after(self, t: int, logged: Logged, /) -> Mask:
        """Return the baths with the verdict "change after this service"."""
        self.watch.serve(t, logged)
        self.watch.change(self.late, self.practice.rota.ends(t) + CHANGED_LATE)
        return self.late
