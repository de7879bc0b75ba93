"""The look-back: which verdicts no longer stand once a meter was found off.

For each reading since the last good check the verdict of its day is told anew, as it would
have been had the meter been known to read so much too high or low; the probability of that
follows from the two checks.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TypeGuard

import numpy as np

from kettlewell.book import Entry, Kitchen, Meter, MeterCheck, Reading, find, history_of, in_order
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.arrays import Array
from kettlewell.core.belief.joint import Belief
from kettlewell.core.belief.level import highest_in, level_of
from kettlewell.core.belief.seen import Doubt, Of
from kettlewell.core.belief.settle import place_of, resettled
from kettlewell.core.belief.state import State
from kettlewell.core.belief.walk import Settings, Walked, checkpoint, walk_to
from kettlewell.core.belief.week import slots_of_week
from kettlewell.core.decision import URGENCY, Evidence, VerdictKey, decide, in_force
from kettlewell.core.decision.seen import highest_and_mean, shown_in_a_row
from kettlewell.core.metering import meter_read, offset_sd_pct
from kettlewell.core.metering.checks import DecisionKey, deviation
from kettlewell.core.metering.paths import Found, Path, PathKind
from kettlewell.core.outlook.ahead import first_two
from kettlewell.core.outlook.card import one_bath_each
from kettlewell.core.outlook.here import Here, here_of, of_bath, outlook_of
from kettlewell.core.outlook.meters import ChartedCheck, MeterReport
from kettlewell.core.outlook.outlook import Outlook, passed_limits

REACH_PCT, STEP_PCT = 8.0, 0.05
DAY = timedelta(days=1)
# of those above, most are truly wrong, and few below are: chosen on practice kitchens (bench/look_back.py)
IN_DOUBT = {PathKind.DRIFT: 0.4, PathKind.STEP: 0.2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """A reading told anew on one path of the meter.

    What it should have been (mean, standard deviation), the probability that its verdict
    does ``not_stand``, and the most probable verdict ``instead``.
    """

    reading_pct: float
    reading_sd_pct: float
    not_stand: float
    instead: VerdictKey


@dataclass(frozen=True, slots=True, kw_only=True)
class Relied:
    """A reading that was relied on, the verdict it led to, and both again by path."""

    reading: Reading
    told: VerdictKey
    again: Mapping[PathKind, Again]

    @property
    def not_stand(self) -> float:
        """The probability that the verdict does not stand, on the worse path."""
        return max(again.not_stand for again in self.again.values())

    @property
    def in_doubt(self) -> bool:
        """Whether the verdict is in real doubt."""
        return any(again.not_stand > IN_DOUBT[kind] for kind, again in self.again.items())


@dataclass(frozen=True, slots=True, kw_only=True)
class LookBack:
    """What a ``failed`` check says of all that was read since the last ``good`` one (None: ever)."""

    failed: MeterCheck
    good: MeterCheck | None
    since: datetime
    relied: tuple[Relied, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Between:
    """The time between the last good check (None: there was none) and a failed one of the same meter.

    It ``begins`` with the good check; ``paths`` are the two ways the meter may have gone.
    """

    settings: Settings
    failed: MeterCheck
    good: MeterCheck | None
    begins: datetime
    paths: tuple[Path, ...]

    @property
    def kitchen(self) -> Kitchen:
        """The settings of now."""
        return history_of(self.settings).now

    def share(self, at: datetime) -> float:
        """Return how much of the time had gone by."""
        return (at - self.begins) / (self.failed.at - self.begins)

    def holds(self, entry: Entry) -> TypeGuard[Reading]:
        """Return whether an entry is a reading of the meter in that time."""
        if not (isinstance(entry, Reading) and self.begins <= entry.at < self.failed.at):
            return False
        return meter_read(self.settings, entry).key == self.failed.meter


def look_back(
    settings: Settings,
    entries: Sequence[Entry],
    failed: MeterCheck,
    *,
    report: MeterReport,
    since: State | None = None,
) -> LookBack:
    """Return what a failed check says of the verdicts since the last good one.

    ``report`` is that of the meter. With ``since`` the walk goes on from a checkpoint before
    the last good check, and ``entries`` may hold only what came after it. Readings that no
    verdict relied on are left out. Raises ValueError as ``assess`` does.
    """
    book, kitchen = in_order(entries), history_of(settings).now
    good = last_good(report.checks, failed)
    first = place_of(since).covers_to if since else book[0].at if book else failed.at
    begins = good.at if good else min(first, failed.at - DAY)
    between = Between(
        settings=settings,
        failed=failed,
        good=good,
        begins=begins,
        paths=paths_between(kitchen, good, failed, begins=begins),
    )
    return LookBack(failed=failed, good=good, since=begins, relied=tuple(relied_on(between, book, since)))


def last_good(checks: Sequence[ChartedCheck], failed: MeterCheck) -> MeterCheck | None:
    """Return the last check before a failed one, in oil of its kind, that found the meter fit for use."""
    control = {charted.check.lot: charted.control for charted in checks}
    like = [charted for charted in checks if charted.control == control.get(failed.lot, False)]
    earlier = (charted for charted in like if charted.check.at < failed.at)
    fit = [charted.check for charted in earlier if charted.decision.key is DecisionKey.FIT]
    return fit[-1] if fit else None


def paths_between(
    kitchen: Kitchen, good: MeterCheck | None, failed: MeterCheck, *, begins: datetime
) -> tuple[Path, ...]:
    """Return the two ways in which the meter may have come from the good check to the failed one."""
    meter = find(kitchen.meters, failed.meter)
    first = at_first(meter, found_by(kitchen, good) if good else None)
    last, days = found_by(kitchen, failed), (failed.at - begins) / DAY
    return tuple(Path(kind=kind, first=first, last=last, days=days) for kind in PathKind)


def at_first(meter: Meter, good: Found | None) -> Found:
    """Return how far off a meter was at its good check: what that found, weighed with what is usual.

    Without a good check there is only what is usual of such a meter's electronics.
    """
    usual_var = offset_sd_pct(meter) ** 2 * PACKAGED.electronics_share.value
    if good is None:
        return Found(pct=0.0, u_pct=math.sqrt(usual_var))
    share = usual_var / (usual_var + good.u_pct**2)
    return Found(pct=share * good.pct, u_pct=math.sqrt(share) * good.u_pct)


def found_by(kitchen: Kitchen, check: MeterCheck) -> Found:
    """Return what a check found, as uncertain as its own readings."""
    found = deviation(check, kitchen)
    return Found(pct=found.pct, u_pct=found.own_u_pct)


def relied_on(between: Between, book: Sequence[Entry], since: State | None) -> Iterator[Relied]:
    """Yield each reading that a verdict relied on, told anew."""
    for reading, answers in answered(between, book, since):
        share = between.share(reading.at)
        again = {path.kind: answers.again(path, share, reading.tpc_pct) for path in between.paths}
        yield Relied(reading=reading, told=answers.told, again=again)


def answered(
    between: Between, book: Sequence[Entry], since: State | None
) -> Iterator[tuple[Reading, "Answers"]]:
    """Yield each reading that a verdict relied on, and what would have been told of its bath."""
    two_weeks = 2 * len(slots_of_week(between.kitchen))
    for reading in [entry for entry in book if between.holds(entry)]:
        since = checkpoint(between.settings, book, at=reading.at, since=since)
        book = [entry for entry in book if entry.at >= place_of(since).covers_to]
        walked = told_apart(walk_to(between.settings, book, now=reading.at, since=since), between.kitchen)
        here = here_of(walked, reading.at, services=two_weeks)
        i = here.index(reading.fryer)
        outlook = outlook_of(here, i)
        if not isinstance(outlook, Outlook) or outlook.fill.spoiled or not outlook.in_use:
            continue
        last = outlook.last()
        if last is None or last.doubt not in (Doubt.NONE, Doubt.WET):
            continue
        meter = here.place.baths.meter_index(between.failed.meter)
        yield reading, Answers(here, i, outlook, meter)


def told_apart(walked: Walked, kitchen: Kitchen) -> Walked:
    """Return a walk whose belief tells the part of a meter's offset that reference oil shows.

    Where there was no such oil yet, that part is as usual a share of what was believed of the whole.
    """
    place = walked.place
    if place.baths.checked:
        return walked
    checked = replace(place.kitchen, reference_lots=kitchen.reference_lots)
    return replace(walked, state=resettled(walked.state, place.kitchen, checked))


class Answers:
    """The verdict on a bath for each deviation of the meter, in steps."""

    def __init__(self, here: Here, i: int, outlook: Outlook, meter: int) -> None:
        """Tell the verdict anew for every deviation, with all else as it was."""
        self.deviation_pct = np.arange(-REACH_PCT, REACH_PCT + STEP_PCT / 2, STEP_PCT)
        believed = float(here.belief.shared[0, here.belief.layout.found(meter)])
        off = self.deviation_pct - believed
        belief = had_known(here.belief, i, meter, off)
        ahead = highest_in(belief, first_two(here.ahead, [(i, outlook.fryer)], len(off)))
        passed, _ = passed_limits(outlook.limits, level_of(belief), ahead)
        evidence = had_read(here, i, meter, off)
        decided = decide(passed[..., 0], evidence, limits=in_force(outlook.limits))
        self.verdicts = np.broadcast_to(decided.verdict, off.shape)
        self.told = self.told_at(believed)

    def told_at(self, deviation_pct: float) -> VerdictKey:
        """Return the verdict had the meter been known to read so much too high."""
        return URGENCY[int(self.verdicts[np.argmin(np.abs(self.deviation_pct - deviation_pct))])]

    def again(self, path: Path, share: float, reading_pct: float) -> Again:
        """Return a reading and its verdict on a path of the meter."""
        edges = self.deviation_pct[:-1] + STEP_PCT / 2
        weights = np.diff(path.below(edges, share), prepend=0.0, append=1.0)
        probability = np.bincount(self.verdicts, weights, minlength=len(URGENCY))
        off = path.at(share)
        return Again(
            reading_pct=reading_pct - off.pct,
            reading_sd_pct=off.u_pct,
            not_stand=1 - float(probability[URGENCY.index(self.told)]),
            instead=URGENCY[int(probability.argmax())],
        )


def had_read(here: Here, i: int, meter: int, off: Array) -> Evidence:
    """Return what would be known of a bath had a meter shown ``off`` (N,) less, percentage points."""
    evidence, seen = of_bath(here.evidence, i), here.state.seen.of_vessel(i)
    known = here.place.baths.known
    shown = shown_in_a_row(seen, known)[0, 0]
    if evidence.laboratory or np.isnan(shown).all():
        return evidence
    own = seen.readings[0, 0, :, Of.METER] == meter
    highest, mean = highest_and_mean(shown - np.outer(off, own), known)
    return replace(evidence, mean_pct=mean, highest_pct=highest)


def had_known(belief: Belief, i: int, meter: int, off: Array) -> Belief:
    """Return a bath as many times over, each as if the meter read ``off`` (N,) more than was believed.

    Its readings then stand for so much less; what was learnt of all else, and how surely, stays.
    """
    many = one_bath_each(belief, [i], len(off))
    return replace(many, shared=many.shared + np.outer(off, belief.layout.electronics(meter)))
