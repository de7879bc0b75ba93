"""What is to be said of every meter: its checks, its chart, when next, and what its readings are worth."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import pairwise

import numpy as np

from kettlewell.book import LARGEST_DEVIATION_PCT, Entry, Kitchen, Meter, MeterCheck, Reading, find, in_order
from kettlewell.core.arrays import Array
from kettlewell.core.belief.settings import by_meters, carried
from kettlewell.core.belief.state import MeterFacts
from kettlewell.core.belief.walk import Origin, Settings, walk_to
from kettlewell.core.metering.charts import Signal, meter_chart, meter_signals
from kettlewell.core.metering.checks import Decision, DecisionKey, decide_check
from kettlewell.core.metering.drift import Drifting
from kettlewell.core.metering.intervals import (
    CHECKS_FOR_A_FIT,
    FIRST_INTERVAL_DAYS,
    drift_interval_days,
    pass_interval_days,
)
from kettlewell.core.outlook.here import here_of
from kettlewell.core.outlook.worth import OilWorth, worth_of

LEAST_DAYS = 7  # sooner, a check of a meter found fit tells little that is new: chosen, no source
SPREAD_OVER = timedelta(days=90)  # chosen, no source
CHECKS_FOR_A_SHARE = 5  # fewer passes say little of a meter's reliability: chosen, no source


class WhenCode(StrEnum):
    """Why a meter is to be checked when it is."""

    NO_LOT = "no_lot"
    NEVER = "never"
    ADJUST = "adjust"
    REPEAT = "repeat"
    OUT = "out"
    NEAR = "near"
    BY_PASSES = "by_passes"
    BY_DRIFT = "by_drift"
    SOONER = "sooner"
    EVERY = "every"


OFF = (DecisionKey.ADJUST, DecisionKey.OUT)
AFTER = {
    DecisionKey.ADJUST: WhenCode.ADJUST,
    DecisionKey.REPEAT: WhenCode.REPEAT,
    DecisionKey.OUT: WhenCode.OUT,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class When:
    """Why a meter is to be checked when it is; where numbers belong to it, a kind of its own holds them."""

    code: WhenCode


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundOff(When):
    """Its last check found it off: it should show ``tpc_pct`` in the reference oil of that name."""

    tpc_pct: float
    lot: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AfterDays(When):
    """So many ``days`` after the last check."""

    days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Reliable(AfterDays):
    """So many days after the last check, for it ``passed`` so many of its ``checks``."""

    passed: int
    checks: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterHistory:
    """What the book says of one meter, and how it drifts (G,)."""

    facts: MeterFacts
    drifting: Drifting


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartedCheck:
    """A check, what was decided, and where it stands on the chart of its run.

    A run is of one reference lot, from one adjustment to the next. The check should stand at
    ``centre_pct``, within ``limit_pct`` of it; ``ewma_pct`` is the weighted mean of how far the
    run's checks stood from theirs, and should be within ``ewma_limit_pct``; percentage points. ``control``
    says that it was in a control oil.
    """

    check: MeterCheck
    decision: Decision
    run: int
    centre_pct: float
    limit_pct: float
    ewma_pct: float
    ewma_limit_pct: float
    control: bool
    signals: tuple[Signal, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Next:
    """When a meter is to be checked next (``at`` None: it cannot be), and why then."""

    at: datetime | None
    why: When


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterReport:
    """Everything said of one meter; ``oils`` tell what its readings are worth in each oil."""

    meter: Meter
    in_use: bool
    checks: tuple[ChartedCheck, ...]
    next_check: Next
    walk_pct_per_day: float
    oils: tuple[OilWorth, ...]

    @property
    def last(self) -> ChartedCheck | None:
        """The last check."""
        return self.checks[-1] if self.checks else None

    @property
    def found_off(self) -> bool:
        """Whether a check found it off, in reference oil or in control oil, and nobody put it right there."""
        for control in (False, True):
            like = (each for each in reversed(self.checks) if each.control is control)
            keys = (each.decision.key for each in like)
            if next((key for key in keys if key is not DecisionKey.REPEAT), None) in OFF:
                return True
        return False

    @property
    def relied_on(self) -> tuple[OilWorth, ...]:
        """What its readings are worth, oil by oil: nothing while it is found off."""
        return () if self.found_off else self.oils


def first_in_use(reports: Iterable[MeterReport]) -> MeterReport | None:
    """Return the report on the first meter in use, and not found off if there is one; None: none is."""
    return min(
        (report for report in reports if report.in_use), key=lambda report: report.found_off, default=None
    )


def meter_reports(
    settings: Settings,
    entries: Iterable[Entry],
    *,
    now: datetime,
    since: Origin = None,
    lately: Iterable[Entry] | None = (),
) -> tuple[MeterReport, ...]:
    """Return what is to be said of every meter of a kitchen.

    From the readings of the last 90 days in ``lately`` the kitchen's own spread of oil is taken; None
    asks for no worth of readings, by far the most of the work, and ``oils`` are empty. Raises
    ValueError as ``assess`` does.
    """
    here = here_of(walk_to(settings, entries, now=now, since=since), now)
    kitchen = carried(here.settings, here.place)
    readings = [entry for entry in by_meters(settings, in_order(lately or ())) if isinstance(entry, Reading)]
    shown = [reading for reading in readings if now - SPREAD_OVER <= reading.at <= now]
    return tuple(
        MeterReport(
            meter=meter,
            in_use=not history.facts.out,
            checks=charted(kitchen, history.facts.checks),
            next_check=next_check(kitchen, history, now),
            walk_pct_per_day=float(np.sqrt(history.drifting.walk_var)),
            oils=() if lately is None else worth_of(here, i, shown),
        )
        for meter in here.settings.meters
        for i in [here.place.baths.meter_index(meter.key)]
        for history in [MeterHistory(facts=here.place.meters[i], drifting=here.state.drifting.at(0, i))]
    )


def runs_of(checks: Sequence[MeterCheck]) -> list[list[MeterCheck]]:
    """Return the checks in runs: of one lot, from one adjustment to the next."""
    runs: list[list[MeterCheck]] = []
    for check in checks:
        if not runs or check.adjusted or check.lot != runs[-1][-1].lot:
            runs.append([])
        runs[-1].append(check)
    return runs


def by_kind(kitchen: Kitchen, checks: Sequence[MeterCheck]) -> tuple[list[MeterCheck], list[MeterCheck]]:
    """Return the checks in reference oil, and those in control oil."""
    controls = {lot.key for lot in kitchen.reference_lots if lot.oil is not None}
    in_reference = [check for check in checks if check.lot not in controls]
    return in_reference, [check for check in checks if check.lot in controls]


def lasts(kitchen: Kitchen, checks: Sequence[MeterCheck]) -> list[MeterCheck]:
    """Return the last check in reference oil, and the last in control oil, where there are any."""
    return [kind[-1] for kind in by_kind(kitchen, checks) if kind]


def charted(kitchen: Kitchen, checks: Sequence[MeterCheck]) -> tuple[ChartedCheck, ...]:
    """Return the checks with their charts, run by run, those in control oil beside the others."""
    found: list[ChartedCheck] = []
    runs = [run for kind in by_kind(kitchen, checks) for run in runs_of(kind)]
    for run, of_it in enumerate(runs):
        decisions = [decide_check(check, kitchen) for check in of_it]
        deviations = np.array([decision.deviation.pct for decision in decisions])
        control = find(kitchen.reference_lots, of_it[0].lot).oil is not None
        centres, sds = expected_of(decisions, control=control)
        chart = meter_chart(deviations - centres, sds)
        signals = meter_signals(chart)
        found += [
            ChartedCheck(
                check=check,
                decision=decision,
                run=run,
                centre_pct=float(centres[n]),
                limit_pct=float(chart.deviation_limit_pct[n]),
                ewma_pct=float(chart.ewma_pct[n]),
                ewma_limit_pct=float(chart.ewma_limit_pct[n]),
                control=control,
                signals=tuple(signal for signal in signals if signal.index == n),
            )
            for n, (check, decision) in enumerate(zip(of_it, decisions, strict=True))
        ]
    return tuple(sorted(found, key=lambda each: each.check.at))


def expected_of(run: Sequence[Decision], *, control: bool = False) -> tuple[Array, Array]:
    """Return where each check of a run should stand by those before it, and how it should scatter there.

    The error of the lot's value is in all of them alike and no sign of a change. It is learnt
    from check to check, within what the lot's uncertainty allows; in a ``control`` oil how the meter
    takes used oil, too, within what a meter may be off by there.
    """
    centre, var = 0.0, run[0].deviation.u_pct ** 2 - run[0].deviation.own_u_pct ** 2
    var += control * LARGEST_DEVIATION_PCT**2
    centres, sds = [], []
    for decision in run:
        own_var = decision.deviation.own_u_pct**2
        centres.append(centre)
        sds.append(np.sqrt(own_var + var))
        centre += var / (own_var + var) * (decision.deviation.pct - centre)
        var *= own_var / (own_var + var)
    return np.array(centres), np.array(sds)


def next_check(kitchen: Kitchen, history: MeterHistory, now: datetime) -> Next:
    """Return when a meter is to be checked next, and why then."""
    if not kitchen.reference_lots:
        return Next(at=None, why=When(code=WhenCode.NO_LOT))
    if not history.facts.checks:
        return Next(at=now, why=When(code=WhenCode.NEVER))
    keys = {check: decide_check(check, kitchen).key for check in lasts(kitchen, history.facts.checks)}
    last = max(keys, key=lambda check: (keys[check] is not DecisionKey.FIT, check.at))
    key = keys[last]
    if key is DecisionKey.FIT:
        waits = interval(kitchen, history)
        return Next(at=last.at + timedelta(days=waits.days), why=waits)
    lot = find(kitchen.reference_lots, last.lot)
    return Next(at=last.at, why=FoundOff(code=AFTER[key], tpc_pct=lot.tpc_pct, lot=lot.name))


def interval(kitchen: Kitchen, history: MeterHistory) -> AfterDays:
    """Return how many days a meter found fit may wait for its next check, and why.

    As long as its drift allows, but at least a week; shorter where its past checks were passed
    less often than they should be.
    """
    in_reference, in_control = by_kind(kitchen, history.facts.checks)
    checks = in_reference or in_control  # how it drifts is learnt in reference oil
    run = runs_of(checks)[-1]
    days = drift_interval_days(history.drifting, checks=len(run), permissible_pct=kitchen.permissible_pct)
    if days <= LEAST_DAYS:
        return AfterDays(code=WhenCode.NEAR, days=LEAST_DAYS)
    found = [check for check in checks if not check.adjusted]
    if len(found) >= CHECKS_FOR_A_SHARE:
        passed = [decide_check(check, kitchen).key is DecisionKey.FIT for check in found]
        gap = float(
            np.median([(later.at - earlier.at) / timedelta(days=1) for earlier, later in pairwise(found)])
        )
        by_passes = int(pass_interval_days(passed, max(gap, LEAST_DAYS)))
        if by_passes < min(days, int(gap)):
            return Reliable(code=WhenCode.BY_PASSES, days=by_passes, passed=sum(passed), checks=len(passed))
    if len(run) >= CHECKS_FOR_A_FIT:
        return AfterDays(code=WhenCode.BY_DRIFT, days=days)
    return AfterDays(code=WhenCode.SOONER if days < FIRST_INTERVAL_DAYS else WhenCode.EVERY, days=days)
