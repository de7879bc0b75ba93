"""The book laid out as steps that a fold can take, each of them arrays.

An interval runs from the beginning of one service, or from a change of settings, to the next, which
may come while a service still runs in other baths. Its entries are put into as few steps as
order allows. In one step oil may first be poured and baths refilled; then every vessel works; then it
is measured; then the meters are seen to. What a bath still has to work after it was measured is
carried into the next step.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from operator import attrgetter

import numpy as np

from kettlewell.book import (
    Adopted,
    AtMeter,
    Care,
    Change,
    Entry,
    LabResult,
    MeterCheck,
    MeterOut,
    Move,
    OfService,
    Reading,
    ReferenceLot,
    Return,
    SensoryNote,
    Store,
    TopUp,
    find,
)
from kettlewell.book.account import Account, Vessel
from kettlewell.book.account import Pour as Poured
from kettlewell.core.arrays import Array, Mask, some
from kettlewell.core.belief.control import Control
from kettlewell.core.belief.filter import (
    AFTER,
    BEFORE,
    OF_WORK,
    Work,
    as_rows,
    one_after_another,
    work_from,
)
from kettlewell.core.belief.occasion import Readings
from kettlewell.core.belief.seen import Doubt
from kettlewell.core.belief.state import Bookmark, MeterFacts, Running
from kettlewell.core.belief.step import (
    Act,
    Adoption,
    Check,
    Delivered,
    Gap,
    MeterAct,
    Mixing,
    Refill,
    Results,
    Sensed,
    Step,
    Treated,
)
from kettlewell.core.belief.week import Slot
from kettlewell.core.limits.polymers import PolymerFigure
from kettlewell.core.metering import laboratory_u_pct, out_of_range, reading_var
from kettlewell.core.metering.checks import deviation

VESSEL_ACTS = (Change, Move, Return, Store)
MEASURED = (Reading, LabResult)
DRIFT_EVERY = timedelta(days=7)  # a week's walk is 0.08 points, so nothing is lost by it
DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """One stretch to lay out: from ``begins`` to ``until``, with the services that begin with it.

    With it may end a ``gap`` in the book.
    """

    begins: datetime
    until: datetime
    entries: Sequence[Entry]
    services: tuple[Running, ...] = ()
    slot: Slot | None = None
    gap: bool = False

    @property
    def day(self) -> date | None:
        """The book day of the services that begin with it."""
        return None if self.slot is None else self.slot.day


@dataclass(frozen=True, slots=True, kw_only=True)
class Tape:
    """The steps of an ``interval``, and the work ``owed`` after its last measurement."""

    interval: Interval
    steps: tuple[Step, ...]
    owed: Work | None


def joined(tapes: Sequence[Tape]) -> Iterator[Step]:
    """Yield the steps, those in which baths only work as one with the next.

    Not beyond a book day, where a checkpoint may stand: going on from one is a replay to the last bit.
    """
    before: list[Work] = []
    day = None
    for tape in tapes:
        begins, day = tape.interval.day not in {None, day}, tape.interval.day
        for n, taken in enumerate(tape.steps):
            if before and (taken.acts or taken.drift_days is not None or (begins and n == 0)):
                yield Step(work=one_after_another(before))
                before = []
            if taken.work is not None:
                before = [*before, taken.work]
            if not taken.only_works:
                yield replace(taken, work=one_after_another(before)) if before else taken
                before = []
    if before:
        yield Step(work=one_after_another(before))


class Progress:
    """A service, and the share of it (F,) that each bath has done while an interval is laid out."""

    def __init__(self, service: Running) -> None:
        """Go on from where the service stood."""
        self.service = service
        self.done: Array = np.full(service.hot_h.shape, service.done)
        self.most = service.slot.share(service.slot.ends)

    def go_on(self, until: datetime, baths: Mask) -> Array:
        """Return what ``baths`` (F,) work up to a time, (7, F); shares vary independently and add up."""
        share = self.service.slot.share(until)
        if share == 1 and not some(self.done > 0) and np.count_nonzero(baths) == len(baths):
            self.done = np.ones(len(baths))
            return self.service.whole
        works = baths & (self.done < share)
        worked = self.service.part(np.where(works, self.done, share), share)
        self.done = np.where(works, share, self.done)
        return worked


@dataclass(slots=True)
class Draft:
    """A step while it is being laid out; what its baths ``worked``, (7, F) each, is as ``Running`` has it."""

    owed: Work | None = None
    drift_days: float = 0.0
    acts: list[Act] = field(default_factory=list)
    worked: list[Array] = field(default_factory=list)
    measured: dict[str, Reading | LabResult] = field(default_factory=dict)
    meters: list[MeterAct] = field(default_factory=list)

    def works(self, i: int) -> bool:
        """Return whether a bath works in this step, or oil was poured into it."""
        owed = [] if self.owed is None else [as_rows(self.owed)[:, 0, 0]]
        return any(worked[: AFTER + 1, i].any() for worked in [*owed, *self.worked])

    def add(self, worked: Array) -> None:
        """Add what baths worked (7, F), in a stretch of its own if oil was poured since the last."""
        if not (self.worked and (worked[:AFTER].any(axis=0) & (self.worked[-1][AFTER] > 0)).any()):
            self.worked[-1:] = [worked + self.worked[-1]] if self.worked else [worked]
        elif worked.any():
            self.worked.append(worked)

    def thin(self, i: int, turnover: float, *, baths: int) -> None:
        """Pour oil into bath ``i`` of so many: after what it worked last, or before what it will."""
        poured = np.zeros((len(OF_WORK), baths))
        worked = bool(self.worked) and self.worked[-1][: AFTER + 1, i].any()
        poured[AFTER if worked else BEFORE, i] = turnover
        self.worked[-1:] = [poured + self.worked[-1]] if self.worked else [poured]


def drift_days(drifted_to: datetime | None, to: datetime, *, every: timedelta) -> float:
    """Return by how many days meters drift up to a time: none before they first did, or within ``every``."""
    if drifted_to is None or to - drifted_to < every:
        return 0.0
    return max(to - drifted_to, timedelta(0)) / DAY


class Writer:
    """Lays out the intervals of an epoch, one after the other, under the settings of their day."""

    def __init__(self, place: Bookmark, owed: Work | None, thinned: Mapping[TopUp, float]) -> None:
        """Begin where the book was left, with the work ``owed`` (H, 1, V) then.

        ``thinned`` has by how much oil topped up outside its service thins a bath, -ln of what stays.
        """
        self.begun_at, self.kitchen, self.baths = place, place.kitchen, place.baths
        self.vessels = place.vessels
        self.account: Account = place.account
        self.meters = list(place.meters)
        self.drifted_to = place.drifted_to
        self.polymers = list(place.polymers)
        self.deliveries = dict(place.deliveries)
        self.index = {key: i for i, key in enumerate(self.baths.fryers)}
        self.meter: dict[str | None, int] = {meter.key: i for i, meter in enumerate(self.baths.meters)}
        self.meter[None] = place.unnamed
        self.running = [Progress(service) for service in place.running]
        self.owed, self.thinned = owed, thinned
        self.drafts: list[Draft] = []

    @property
    def draft(self) -> Draft:
        """The step that is being laid out."""
        return self.drafts[-1]

    @property
    def place(self) -> Bookmark:
        """Where the book stands after the intervals laid out."""
        return replace(
            self.begun_at,
            account=self.account,
            meters=tuple(self.meters),
            drifted_to=self.drifted_to,
            polymers=tuple(self.polymers),
            deliveries=tuple(self.deliveries.items()),
            running=tuple(
                replace(progress.service, done=float(progress.done[0])) for progress in self.running
            ),
        )

    def lay_out(self, interval: Interval) -> Tape:
        """Return the steps of the next interval, and what is owed after them."""
        self.drafts = [Draft(owed=self.owed, acts=[Gap()] if interval.gap else [])]
        self.running += [Progress(service) for service in interval.services]
        for entry in interval.entries:
            if not isinstance(entry, OfService):
                self.take(entry)
            elif isinstance(entry, TopUp) and entry in self.thinned:
                self.top_up(entry)
        self.work(interval.until)
        left = Draft()
        if self.draft.measured:
            self.go_on(interval.until, np.ones(len(self.baths.fryers), bool), left)
        self.owed = self.work_of(left)
        steps = tuple(self.finished(draft) for draft in self.drafts)
        return Tape(interval=interval, steps=steps, owed=self.owed)

    def drift(self, to: datetime, *, every: timedelta) -> None:
        """Let the meters drift up to a time, if that is so far away; nothing drifts before the first."""
        days = drift_days(self.drifted_to, to, every=every)
        if self.drifted_to is None or days:
            self.draft.drift_days += days
            self.drifted_to = to

    def take(self, entry: Entry) -> None:
        """Lay out an entry."""
        match entry:
            case Reading() | LabResult():
                self.measure(entry)
            case Change() | Move() | Return() | Store():
                self.account, poured = self.account.after(entry, self.kitchen)
                self.pour(entry, poured)
            case SensoryNote(spoiled=True):
                where = self.at(self.index[entry.fryer])
                self.draft.acts.append(Sensed(where=where, at_s=entry.at.timestamp()))
            case Care(kind="adsorbent"):
                self.ready(entry, [self.index[entry.fryer]])
                self.draft.acts.append(Treated(where=self.at(self.index[entry.fryer])))
            case AtMeter():
                self.tend(entry)

    def at(self, *places: int) -> np.ndarray:
        """Return the mask (1, V) of vessels."""
        where = np.zeros((1, len(self.vessels)), bool)
        where[0, list(places)] = True
        return where

    def measure(self, entry: Reading | LabResult) -> None:
        """Lay out a measurement, in a new step if the bath was measured in this one, or a meter touched."""
        draft = self.draft
        if draft.meters or entry.fryer in draft.measured:
            self.drafts.append(draft := Draft())
        self.work(entry.at)
        self.drift(entry.at, every=DRIFT_EVERY)
        draft.measured[entry.fryer] = entry
        if isinstance(entry, Reading):
            i = self.meter[entry.meter]
            if not self.meters[i].used:
                self.meters[i] = replace(self.meters[i], used=True)
        elif entry.polymers_pct is not None:
            oil = self.account.bath(entry.fryer).oil
            self.polymers.append(
                PolymerFigure(oil=oil, tpc_pct=entry.tpc_pct, polymers_pct=entry.polymers_pct)
            )

    def top_up(self, entry: TopUp) -> None:
        """Lay out oil topped up, in a new step if its bath was measured in this."""
        if entry.fryer in self.draft.measured:
            self.drafts.append(Draft())
        self.work(entry.at)
        self.draft.thin(self.index[entry.fryer], self.thinned[entry], baths=len(self.baths.fryers))

    def pour(self, entry: Entry, poured: Sequence[Poured]) -> None:
        """Lay out what an act poured, in a new step if one of its baths worked or any was measured."""
        vessels = {vessel for pour in poured for vessel in (pour.source, pour.into) if vessel}
        fryers = [i for i in range(len(self.baths.fryers)) if self.vessels[i] in vessels]
        if not fryers:
            return
        self.ready(entry, fryers)
        if isinstance(entry, Change):
            self.draft.acts += self.delivered(entry)
        self.draft.acts += [act for pour in poured if (act := self.act_of(entry, pour)) is not None]

    def ready(self, entry: Entry, fryers: Sequence[int]) -> None:
        """Begin a new step for an act on ``fryers`` if one of them worked or was measured in this."""
        if self.draft.measured:  # it was before this, and others may join it
            self.drafts.append(Draft())
        self.work(entry.at)
        if any(self.draft.works(i) for i in fryers):
            self.drafts.append(Draft())

    def act_of(self, entry: Entry, pour: Poured) -> Act | None:
        """Return what a pour does to the belief; None where oil only leaves for good."""
        if pour.into is None:
            return None
        into = self.vessel(pour.into)
        if pour.source is None:
            oil = np.full((1, len(self.vessels)), self.baths.oil_index(pour.oil))
            named = names_delivery(entry)
            return Refill(where=self.at(into), oil=oil, at_s=entry.at.timestamp(), of_delivery=named)
        return Mixing(
            where=np.ones(1, bool),
            source=np.array([self.vessel(pour.source)]),
            into=np.array([into]),
            share=np.array([pour.share]),
            takes_over=pour.takes_over,
            brings_age=pour.share > 0.5,
            leaves_empty=pour.source not in self.account.contents or self.account.contents[pour.source].empty,
        )

    def delivered(self, change: Change) -> Iterator[Delivered]:
        """Yield the delivery that a bath was filled from, if it is another than the last one of its oil."""
        oil = self.account.bath(change.fryer).oil
        name = change.delivery or ""
        if not names_delivery(change) or (name and self.deliveries.get(oil) == name):
            return
        self.deliveries[oil] = name
        stated = math.nan if change.fresh_tpc_pct is None else change.fresh_tpc_pct
        yield Delivered(oil=self.baths.oil_index(oil), stated_pct=np.array([stated]))

    def vessel(self, vessel: Vessel) -> int:
        """Return the place of a vessel."""
        return self.vessels.index(vessel)

    def tend(self, entry: AtMeter) -> None:
        """Lay out what was done to a meter."""
        i = self.baths.meter_index(entry.meter)
        match entry:
            case MeterOut():
                self.meters[i] = replace(self.meters[i], out=not entry.back)
            case MeterCheck():
                self.check(i, entry)
            case Adopted():
                self.draft.meters.append(self.adoption(i, entry))

    def adoption(self, i: int, taken: Adopted) -> Adoption:
        """Return a comparison taken over as arrays."""
        both = taken.correlation * taken.gain_u * taken.offset_u_pct
        return Adoption(
            meter=i,
            against=None if taken.against is None else self.baths.meter_index(taken.against),
            oil=self.baths.oil_index(taken.oil),
            gain=taken.gain,
            offset_pct=taken.offset_pct,
            cov=np.array([[taken.gain_u**2, both], [both, taken.offset_u_pct**2]]),
        )

    def check(self, i: int, check: MeterCheck) -> None:
        """Lay out a meter check in a step of its own, before which the meters drift up to it."""
        self.work(check.at)
        self.drafts.append(Draft())
        self.drift(check.at, every=timedelta(0))
        facts, found = self.meters[i], deviation(check, self.kitchen)
        lot = find(self.kitchen.reference_lots, check.lot)
        last = self.last_in_such(lot, facts.checks if lot.oil is None else self.all_checks())
        other_lot = last is None or last.lot != check.lot
        lots = [check.lot, *([last.lot] if last else [])] if other_lot else []
        lot_var = sum(find(self.kitchen.reference_lots, key).u_pct ** 2 for key in lots)
        self.draft.meters.append(
            Check(
                meter=i,
                deviation_pct=np.array([found.pct]),
                own_u_pct=np.array([found.own_u_pct]),
                at_s=np.array([check.at.timestamp()]),
                days=np.array([(check.at - last.at) / DAY if last else 0.0]),
                adjusted=np.array([check.adjusted]),
                other_lot=np.array([other_lot]),
                lot_var=np.array([0.0 if lot.oil else lot_var]),
                control=self.control_of(lot),
            )
        )
        self.meters[i] = MeterFacts(out=facts.out, used=True, checks=(*facts.checks, check))

    def all_checks(self) -> list[MeterCheck]:
        """Return the checks of all meters, the oldest first."""
        return sorted((each for facts in self.meters for each in facts.checks), key=attrgetter("at"))

    def last_in_such(self, lot: ReferenceLot, checks: Sequence[MeterCheck]) -> MeterCheck | None:
        """Return the last of some checks in oil of the same kind: in reference oil, or in control oil."""
        lots = self.kitchen.reference_lots
        same = (each for each in reversed(checks) if (find(lots, each.lot).oil is None) is (lot.oil is None))
        return next(same, None)

    def control_of(self, lot: ReferenceLot) -> Control | None:
        """Return a control oil as numbers; None for reference oil."""
        if lot.oil is None:
            return None
        tpc_pct, u_pct = np.array([lot.tpc_pct]), np.array([lot.u_pct])
        return Control(oil=self.baths.oil_index(lot.oil), tpc_pct=tpc_pct, u_pct=u_pct)

    def work(self, until: datetime) -> None:
        """Let every bath that was not measured in this step work up to a time."""
        draft = self.draft
        if self.running:
            free = np.array([key not in draft.measured for key in self.baths.fryers])
            self.go_on(until, free, draft)

    def go_on(self, until: datetime, baths: Mask, draft: Draft) -> None:
        """Add what ``baths`` (F,) work up to a time to a draft."""
        for progress in self.running:
            draft.add(progress.go_on(until, baths))
        self.running = [progress for progress in self.running if some(progress.done < progress.most)]

    def finished(self, draft: Draft) -> Step:
        """Return a step as arrays."""
        if not (draft.measured or draft.acts or draft.meters or draft.drift_days):
            return Step(work=self.work_of(draft))
        readings = {key: entry for key, entry in draft.measured.items() if isinstance(entry, Reading)}
        results = {key: entry for key, entry in draft.measured.items() if isinstance(entry, LabResult)}
        return Step(
            drift_days=np.array([draft.drift_days]) if draft.drift_days else None,
            acts=tuple(draft.acts),
            work=self.work_of(draft),
            readings=self.readings_of(readings) if readings else None,
            results=self.results_of(results) if results else None,
            meters=tuple(draft.meters),
        )

    def work_of(self, draft: Draft) -> Work | None:
        """Return what the baths of a draft worked, stretch after stretch, as work (H, 1, V)."""
        stretches = [worked for worked in draft.worked if some(worked != 0)]
        if not stretches:
            return draft.owed
        rows = np.zeros((len(OF_WORK), len(stretches), 1, len(self.vessels)))
        for h, worked in enumerate(stretches):
            rows[:, h, 0, : worked.shape[1]] = worked
        work = work_from(rows)
        return work if draft.owed is None else one_after_another([draft.owed, work])

    def blank(self, value: float = math.nan) -> Array:
        """Return an array (1, V)."""
        return np.full((1, len(self.vessels)), value)

    def readings_of(self, entries: dict[str, Reading]) -> Readings:
        """Return readings of one step as arrays."""
        pct, temp_c, at_s, var = np.full((4, 1, len(self.vessels)), math.nan)
        var[:] = 1.0
        meters, doubt = np.zeros((2, *pct.shape), np.intp)
        refs = np.full(pct.shape, "", dtype=object)
        for key, entry in entries.items():
            i, m = self.index[key], self.meter[entry.meter]
            meter = self.baths.meters[m]
            pct[0, i], at_s[0, i], meters[0, i] = entry.tpc_pct, entry.at.timestamp(), m
            var[0, i] = reading_var(entry, meter, self.baths.known)
            temp_c[0, i] = math.nan if entry.oil_temp_c is None else entry.oil_temp_c
            doubt[0, i] = taken_badly(entry, out=out_of_range(entry.oil_temp_c, meter))
            refs[0, i] = entry.ref
        return Readings(pct=pct, var=var, meters=meters, temp_c=temp_c, at_s=at_s, doubt=doubt, refs=refs)

    def results_of(self, entries: dict[str, LabResult]) -> Results:
        """Return laboratory results of one step as arrays."""
        pct, u_pct, at_s = self.blank(), self.blank(1.0), self.blank()
        refs = np.full(pct.shape, "", dtype=object)
        for key, entry in entries.items():
            i = self.index[key]
            pct[0, i], at_s[0, i] = entry.tpc_pct, entry.at.timestamp()
            u_pct[0, i] = laboratory_u_pct(entry, self.baths.known)
            refs[0, i] = entry.ref
        return Results(pct=pct, u_pct=u_pct, at_s=at_s, refs=refs)


def names_delivery(entry: Entry) -> bool:
    """Return whether a bath was filled from a delivery that is known by name or by its certificate."""
    return isinstance(entry, Change) and (entry.delivery, entry.fresh_tpc_pct) != (None, None)


def taken_badly(reading: Reading, *, out: bool) -> Doubt:
    """Return the doubt that the way a reading was taken leaves."""
    if not reading.sound:
        return Doubt.UNSOUND
    return Doubt.OUT_OF_RANGE if out else Doubt.NONE
