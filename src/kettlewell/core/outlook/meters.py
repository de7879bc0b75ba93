"""What is to be said of every meter: its checks, its chart, when next, and what its readings are worth."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

import numpy as np

from kettlewell.book import Entry, Kitchen, Message, Meter, MeterCheck, Reading, find
from kettlewell.book.words import N_
from kettlewell.core.arrays import Array
from kettlewell.core.belief.meter_walk import MeterHistory
from kettlewell.core.belief.replay import walk_to
from kettlewell.core.belief.walk import Checkpoint
from kettlewell.core.metering.charts import Signal, meter_chart, meter_signals
from kettlewell.core.metering.checks import Decision, DecisionKey, decide
from kettlewell.core.metering.intervals import (
    CHECKS_FOR_A_FIT,
    FIRST_INTERVAL_DAYS,
    drift_interval_days,
    pass_interval_days,
)
from kettlewell.core.outlook.assess import here_of
from kettlewell.core.outlook.worth import OilWorth, worth_of

LEAST_DAYS = 7  # sooner, a check of a meter found fit tells little that is new: chosen, no source
SPREAD_OVER = timedelta(days=90)  # chosen, no source
CHECKS_FOR_A_SHARE = 5  # fewer passes say little of a meter's reliability: chosen, no source

NEVER = N_("It has never been checked.")
NO_LOT = N_("Set up a reference oil first: a bottle whose value is known.")
ADJUST = N_(
    "It was found off: adjust it so that it shows {tpc_pct} % in {lot}, then read it there again. How is in "
    "its instructions; do not rely on it meanwhile."
)
REPEAT = N_("The last check was not clear: repeat it, with three readings in oil at about 50 °C.")
OUT = N_("It was found too far off: take it out of use.")
EVERY = N_("Four weeks after the last check, until its own checks tell more.")
SOONER = N_("{days} days after the last check: it may be off by too much from then on.")
BY_DRIFT = N_("{days} days after the last check: by its own checks it stays right that long.")
BY_PASSES = N_("{days} days after the last check: it passed {passed} of {checks}.")
NEAR = N_("A week after the last check: it may soon be off by too much.")
WHAT_NOW = {DecisionKey.ADJUST: ADJUST, DecisionKey.REPEAT: REPEAT, DecisionKey.OUT: OUT}

ALONE_HIGH = N_("The check of {at} alone lies above what chance explains.")
ALONE_LOW = N_("The check of {at} alone lies below what chance explains.")
RISING = N_("Up to the check of {at} the meter has been creeping up.")
FALLING = N_("Up to the check of {at} the meter has been creeping down.")


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartedCheck:
    """A check, what was decided, and where it stands on the chart of its run.

    A run is of one reference lot, from one adjustment to the next. The check should stand at
    ``centre_pct``, within ``limit_pct`` of it; ``ewma_pct`` is the weighted mean of how far the
    run's checks stood from theirs, and should be within ``ewma_limit_pct``; percentage points.
    """

    check: MeterCheck
    decision: Decision
    run: int
    centre_pct: float
    limit_pct: float
    ewma_pct: float
    ewma_limit_pct: float
    signals: tuple[Message, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Next:
    """When a meter is to be checked next (``at`` None: it cannot be), and why then."""

    at: datetime | None
    why: Message


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


def meter_reports(
    kitchen: Kitchen,
    entries: Iterable[Entry],
    *,
    now: datetime,
    since: Checkpoint | None = None,
    lately: Iterable[Entry] | None = (),
) -> tuple[MeterReport, ...]:
    """Return what is to be said of every meter of a kitchen.

    From the readings of the last 90 days in ``lately`` the kitchen's own spread of oil is taken; None
    asks for no worth of readings, by far the most of the work, and ``oils`` are empty. Raises
    ValueError as ``assess`` does.
    """
    here = here_of(walk_to(kitchen, entries, now=now, since=since), now)
    readings = [entry for entry in lately or () if isinstance(entry, Reading)]
    shown = [reading for reading in readings if now - SPREAD_OVER <= reading.at <= now]
    return tuple(
        MeterReport(
            meter=meter,
            in_use=not history.out,
            checks=charted(kitchen, history.checks),
            next_check=next_check(kitchen, history, now),
            walk_pct_per_day=float(np.sqrt(history.drifting.walk_var)),
            oils=() if lately is None else worth_of(here, i, shown),
        )
        for i, (meter, history) in enumerate(zip(kitchen.meters, here.walk.meters.histories, strict=False))
    )


def runs_of(checks: Sequence[MeterCheck]) -> list[list[MeterCheck]]:
    """Return the checks in runs: of one lot, from one adjustment to the next."""
    runs: list[list[MeterCheck]] = []
    for check in checks:
        if not runs or check.adjusted or check.lot != runs[-1][-1].lot:
            runs.append([])
        runs[-1].append(check)
    return runs


def charted(kitchen: Kitchen, checks: Sequence[MeterCheck]) -> tuple[ChartedCheck, ...]:
    """Return the checks with their charts, run by run."""
    found: list[ChartedCheck] = []
    for run, of_it in enumerate(runs_of(checks)):
        decisions = [decide(check, kitchen) for check in of_it]
        deviations = np.array([one.deviation.pct for one in decisions])
        centres, sds = expected_of(decisions)
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
                signals=tuple(said(signal, check) for signal in signals if signal.index == n),
            )
            for n, (check, decision) in enumerate(zip(of_it, decisions, strict=True))
        ]
    return tuple(found)


def expected_of(run: Sequence[Decision]) -> tuple[Array, Array]:
    """Return where each check of a run should stand by those before it, and how it should scatter there.

    The error of the lot's value is in all of them alike and no sign of a change. It is learnt
    from check to check, within what the lot's uncertainty allows.
    """
    centre, var = 0.0, run[0].deviation.u_pct ** 2 - run[0].deviation.own_u_pct ** 2
    centres, sds = [], []
    for one in run:
        own_var = one.deviation.own_u_pct**2
        centres.append(centre)
        sds.append(np.sqrt(own_var + var))
        centre += var / (own_var + var) * (one.deviation.pct - centre)
        var *= own_var / (own_var + var)
    return np.array(centres), np.array(sds)


def said(signal: Signal, check: MeterCheck) -> Message:
    """Return a chart's signal in words."""
    texts = {
        ("individual", "up"): ALONE_HIGH,
        ("individual", "down"): ALONE_LOW,
        ("ewma", "up"): RISING,
        ("ewma", "down"): FALLING,
    }
    return Message(text=texts[signal.kind.value, signal.direction.value], values={"at": check.at})


def next_check(kitchen: Kitchen, history: MeterHistory, now: datetime) -> Next:
    """Return when a meter is to be checked next, and why then."""
    if not kitchen.reference_lots:
        return Next(at=None, why=Message(text=NO_LOT))
    if not history.checks:
        return Next(at=now, why=Message(text=NEVER))
    last = history.checks[-1]
    key = decide(last, kitchen).key
    if key is not DecisionKey.FIT:
        lot = find(kitchen.reference_lots, last.lot)
        return Next(
            at=last.at, why=Message(text=WHAT_NOW[key], values={"tpc_pct": lot.tpc_pct, "lot": lot.name})
        )
    days, why = interval(kitchen, history)
    return Next(at=last.at + timedelta(days=days), why=why)


def interval(kitchen: Kitchen, history: MeterHistory) -> tuple[int, Message]:
    """Return how many days a meter found fit may wait for its next check, and why.

    As long as its drift allows, but at least a week; shorter where its past checks were passed
    less often than they should be.
    """
    run = runs_of(history.checks)[-1]
    days = drift_interval_days(history.drifting, checks=len(run), permissible_pct=kitchen.permissible_pct)
    if days <= LEAST_DAYS:
        return LEAST_DAYS, Message(text=NEAR)
    found = [check for check in history.checks if not check.adjusted]
    if len(found) >= CHECKS_FOR_A_SHARE:
        passed = [decide(check, kitchen).key is DecisionKey.FIT for check in found]
        gap = float(np.median([(two.at - one.at) / timedelta(days=1) for one, two in pairwise(found)]))
        by_passes = int(pass_interval_days(passed, max(gap, LEAST_DAYS)))
        if by_passes < min(days, int(gap)):
            counts = {"days": by_passes, "passed": sum(passed), "checks": len(passed)}
            return by_passes, Message(text=BY_PASSES, values=counts)
    if len(run) >= CHECKS_FOR_A_FIT:
        return days, Message(text=BY_DRIFT, values={"days": days})
    if days < FIRST_INTERVAL_DAYS:
        return days, Message(text=SOONER, values={"days": days})
    return days, Message(text=EVERY)
