"""What the program makes of practice kitchens' logs, by the program's own steps, all kitchens at once."""

from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np

from kettlewell.book import LARGEST_DEVIATION_PCT, PERMISSIBLE_PCT
from kettlewell.core.ageing.coefficients import PACKAGED, Coefficients
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.baths import Baths
from kettlewell.core.belief.control import Control
from kettlewell.core.belief.filter import OF_WORK, Work
from kettlewell.core.belief.joint import Belief
from kettlewell.core.belief.level import Level, highest_in
from kettlewell.core.belief.loads import MOMENTS, ServiceRecord
from kettlewell.core.belief.occasion import Readings
from kettlewell.core.belief.seen import Doubt, Seen
from kettlewell.core.belief.services import Services, expect_work, infer_work, likely, load_hours
from kettlewell.core.belief.settle import with_spare
from kettlewell.core.belief.state import State, initial_state
from kettlewell.core.belief.step import Check, Mixing, Refill, Results, Step, step
from kettlewell.core.belief.tape import DAY, DRIFT_EVERY
from kettlewell.core.limits.decision import conformity_probability
from kettlewell.practice import books
from kettlewell.practice.books import Notebook, baths_in, read_at
from kettlewell.practice.findings import READINGS, SAMPLE_READINGS
from kettlewell.practice.instruments import Tools
from kettlewell.practice.kitchens import Practice
from kettlewell.practice.rota import FIRST, Rota
from kettlewell.practice.run import Logged
from kettlewell.practice.samples import Bottles, Samples


@dataclass(frozen=True, slots=True, kw_only=True)
class Upkeep:
    """How the meters are looked after.

    They are checked every ``check_days``, the first time before the first service, and a sample is sent to
    the laboratory once in ``laboratory_days``; None is never. ``most_samples`` are sent in a year, None is
    any number; the first may be taken ``first_by_worth``. With ``control`` their oil is bottled, and is the
    control oil from the result on until the next: read hot when that comes, and at each check.
    ``meter_known`` says that the meter has gain 1 and offset 0.
    """

    check_days: int | None = None
    laboratory_days: int | None = None
    most_samples: int | None = None
    first_by_worth: bool = False
    control: bool = False
    meter_known: bool = False

    @property
    def known(self) -> Coefficients:
        """The coefficients that the program begins with."""
        if not self.meter_known:
            return PACKAGED
        return replace(
            PACKAGED,
            meter_gain=replace(PACKAGED.meter_gain, value=1.0, sd=1e-4),
            largest_error_sds=replace(PACKAGED.largest_error_sds, value=2000.0),
            oil_gain=replace(PACKAGED.oil_gain, sd=1e-6),
            oil_offset=replace(PACKAGED.oil_offset, sd=1e-6),
            meter_walk=replace(PACKAGED.meter_walk, sd=1e-9),
        )


@dataclass(slots=True, kw_only=True)
class Watch:
    """The belief about practice kitchens, kept up from their log as a walk through it would.

    Of ``practice`` it reads what everybody knows: shape, services of the week, the usual draw by the
    book, the oil of each fryer, the meter's resolution and the lots of reference oil. Where samples are
    taken but not bottled as control oil, the last vessel is a bottle of oil on its way to the laboratory.
    ``log`` is what was written down. In reference oil and control oil, the meter was found fit last at
    ``good_s`` (K, 2), and off last from and until ``off_s`` (K, 2, 2; inf where not), POSIX seconds.
    """

    practice: Practice
    care: Upkeep = field(default_factory=Upkeep)
    baths: Baths = field(init=False)
    state: State = field(init=False)
    log: Notebook = field(init=False, default_factory=Notebook)
    drifted_s: Array = field(init=False)
    checked_s: Array = field(init=False)
    good_s: Array = field(init=False)
    off_s: Array = field(init=False)
    last_check_day: int | None = field(init=False, default=None)
    samples: Samples | None = field(init=False)
    bottles: Bottles | None = field(init=False)
    sampled: Mask = field(init=False)
    controlled: Index = field(init=False)

    def __post_init__(self) -> None:
        """Start as a book does whose first entries fill every bath, with the day before them."""
        practice, care, every = self.practice, self.care, self.care.laboratory_days
        checked = care.check_days is not None
        self.baths = baths_in(practice, care.known, checked=checked, controlled=care.control)
        self.state = initial_state(self.baths)
        if every is not None and not care.control:
            self.state = with_spare(self.state)
        self.drifted_s = self.checked_s = np.full(len(practice.draw), np.nan)
        self.good_s = np.full((len(practice.draw), 2), -np.inf)
        self.off_s = np.full((len(practice.draw), 2, 2), np.inf)
        self.samples = self.bottles = None
        if every is not None:
            self.samples = Samples(
                practice=practice,
                every_days=every,
                most=care.most_samples,
                first_by_worth=care.first_by_worth,
                bottled=care.control,
            )
        if care.control:
            self.bottles = Bottles(practice=practice)
        self.sampled = np.zeros(practice.draw.shape, bool)
        self.controlled = np.zeros(len(practice.draw), np.intp)
        for slot in range(self.rota.per_week - self.rota.per_day, self.rota.per_week):
            self.work(slot, Logged.nothing(practice.draw.shape))
        self.fill(np.ones(practice.draw.shape, bool), FIRST + books.FILLED)

    @property
    def rota(self) -> Rota:
        """When the kitchens fry."""
        return self.practice.rota

    @property
    def belief(self) -> Belief:
        """What is believed of the baths."""
        return self.state.belief

    @property
    def seen(self) -> Seen:
        """What was read and noticed of the baths (K, F)."""
        fryers = self.practice.draw.shape[1]
        columns = {name: getattr(self.state.seen, name)[:, :fryers] for name in Seen.__dataclass_fields__}
        return Seen(**columns)

    def take(self, taken: Step) -> None:
        """Take one step."""
        self.state = step(self.state, taken)

    def padded(self, values: Array, nothing: float = np.nan) -> Array:
        """Return values of the fryers (..., F) as those of all vessels (..., V)."""
        spare = self.belief.oil.shape[1] - values.shape[-1]
        return np.pad(values, [*[(0, 0)] * (values.ndim - 1), (0, spare)], constant_values=nothing)

    def drift_days(self, to: datetime, kitchens: Mask, every_s: float) -> Array | None:
        """Return the days (K,) by which meters drift up to a time, where that is long enough ago."""
        to_s = to.timestamp()
        elapsed_s = to_s - self.drifted_s
        due = kitchens & ~np.isnan(self.drifted_s) & (elapsed_s >= every_s)
        self.drifted_s = np.where(due | (kitchens & np.isnan(self.drifted_s)), to_s, self.drifted_s)
        return np.where(due, elapsed_s, 0.0) / DAY.total_seconds() if due.any() else None

    def tend(self, t: int, tools: Tools) -> None:
        """Check the meters when it is time, and take in what the laboratory found."""
        if t % self.rota.per_day or self.care.meter_known:
            return
        day, every = t // self.rota.per_day, self.care.check_days
        checked = every is not None and day % every == 0
        if checked:
            self.check(day, tools)
        if self.bottles:
            self.read_control(day, tools, checked | self.bottles.value(day, tools.results(day)))
        elif self.samples:
            self.take_results(day, tools.results(day))

    def check(self, day: int, tools: Tools) -> None:
        """Check the meters, and adjust those that are more probably off than not.

        That is what is decided on three readings (kettlewell.core.metering.checks.decide_check).
        """
        found = tools.check(day)
        at = self.rota.begins(day * self.rota.per_day)
        self.take_check(found, at=at + books.CHECKED, other_lot=self.other_lot(day))
        self.log.checks.append((day, found, False))
        off = self.judge_in_reference(found, at + books.CHECKED)
        if off.any():
            left = tools.adjust(day, off)
            self.judge_in_reference(left, at + books.ADJUSTED)
            self.take_check(left, at=at + books.ADJUSTED, other_lot=np.zeros(len(off), bool), adjusted=off)
            self.log.checks.append((day, left, True))

    def judge_in_reference(self, deviation_pct: Array, at: datetime) -> Mask:
        """Return where (K,) a check in reference oil finds the meter off."""
        return self.judge(deviation_pct, self.practice.findings.reference_u_pct, at, control=False)

    def judge(self, deviation_pct: Array, lot_u_pct: Array | float, at: datetime, *, control: bool) -> Mask:
        """Return where (K,) a check (nan where there was none) finds the meter off, and keep when it was."""
        kind, most = int(control), LARGEST_DEVIATION_PCT if control else PERMISSIBLE_PCT
        u_pct = np.hypot(self.own_u_pct, lot_u_pct)
        within = conformity_probability(deviation_pct, u_pct, lower=-most, upper=most)
        off, fit = within < 0.5, within >= 0.5
        since_s, until_s = self.off_s[:, kind].T
        stands, at_s = (since_s < np.inf) & (until_s == np.inf), at.timestamp()
        since_s = np.where(off & ~stands, self.good_s[:, kind], since_s)
        until_s = np.where(off, np.inf, np.where(fit & stands, at_s, until_s))
        self.off_s[:, kind] = np.stack([since_s, until_s], axis=-1)
        self.good_s[:, kind] = np.where(fit, at_s, self.good_s[:, kind])
        return np.asarray(off)

    def other_lot(self, day: int) -> Mask:
        """Return which kitchens (K,) check in oil of another lot than last time."""
        lot = self.practice.findings.lot
        last = self.last_check_day
        self.last_check_day = day
        return np.ones(lot.shape[1], bool) if last is None else lot[day] != lot[last]

    def take_check(
        self, deviation_pct: Array, *, at: datetime, other_lot: Mask, adjusted: Mask | None = None
    ) -> None:
        """Take in a check (K,; nan where there was none)."""
        lots = 1 if np.isnan(self.checked_s).any() else 2
        checked = ~np.isnan(deviation_pct)
        elapsed_s = np.where(checked, np.nan_to_num(at.timestamp() - self.checked_s), 0.0)
        self.checked_s = np.where(checked, at.timestamp(), self.checked_s)
        taken = Check(
            meter=0,
            deviation_pct=deviation_pct,
            own_u_pct=np.full(len(deviation_pct), self.own_u_pct),
            at_s=np.where(checked, at.timestamp(), np.nan),
            days=elapsed_s / DAY.total_seconds(),
            adjusted=np.zeros(len(checked), bool) if adjusted is None else adjusted,
            other_lot=other_lot,
            lot_var=np.where(other_lot, lots * self.practice.findings.reference_u_pct**2, 0.0),
        )
        self.take(Step(drift_days=self.drift_days(at, checked, 0.0), meters=(taken,)))

    def read_control(self, day: int, tools: Tools, where: Mask) -> None:
        """Read the control oils of the kitchens ``where`` (K,) that have one, the oils one after the other.

        How the meter takes used oil is not adjusted; found off by more than 4 points it cannot be relied on.
        """
        if self.bottles is None or not where.any():
            return
        control, at = self.bottles.in_use, self.rota.begins(day * self.rota.per_day) + books.READ_IN_CONTROL
        shown_pct = np.where(where, tools.read_control(day), np.nan)
        read, value_pct = ~np.isnan(shown_pct), np.nan_to_num(control.tpc_pct)
        u_pct = self.baths.known.laboratory.sd * value_pct
        self.judge(shown_pct - value_pct, u_pct, at, control=True)
        other = read & (control.number != self.controlled)
        for oil in np.unique(control.oil[read]).tolist():
            of_oil = read & (control.oil == oil)
            taken = Check(
                meter=0,
                deviation_pct=np.where(of_oil, shown_pct - value_pct, np.nan),
                own_u_pct=np.full(len(read), self.own_u_pct),
                at_s=np.where(of_oil, at.timestamp(), np.nan),
                days=np.zeros(len(read)),
                adjusted=np.zeros(len(read), bool),
                other_lot=other & of_oil,
                lot_var=np.zeros(len(read)),
                control=Control(oil=oil, tpc_pct=value_pct, u_pct=u_pct),
            )
            self.take(Step(drift_days=self.drift_days(at, of_oil, 0.0), meters=(taken,)))
        self.controlled = np.where(read, control.number, self.controlled)
        self.log.controls.append((day, control, shown_pct))

    @property
    def own_u_pct(self) -> float:
        """The standard uncertainty of a deviation beside the reference value's own."""
        repeatability = self.baths.known.meter_repeatability.sd / np.sqrt(READINGS)
        return float(np.hypot(repeatability, self.practice.resolution_pct / np.sqrt(12)))

    def take_sample(self, t: int, leaving: Mask) -> None:
        """Choose whose oil goes to the laboratory, mostly of the baths ``leaving`` (K, F) to be changed."""
        if not self.samples:
            return
        self.sampled = sampled = self.samples.choose(t, self.belief, leaving)
        if self.bottles and sampled.any():
            self.bottles.fill(t, sampled)
        elif sampled.any():
            kitchens = len(sampled)
            bottle = np.full(kitchens, sampled.shape[1])
            source = sampled.argmax(axis=1)
            pour = Mixing(
                where=np.asarray(sampled.any(axis=1)),
                source=source,
                into=bottle,
                share=np.ones(kitchens),
                takes_over=True,
                brings_age=True,
                leaves_empty=False,
            )
            self.take(Step(acts=(pour,)))

    def note_sample(self, t: int, shown_pct: Array) -> None:
        """Take in what the meter shows of the samples (K,), a mean of two; nan where none.

        A control oil is read once its value is known.
        """
        if not (self.bottles or np.isnan(shown_pct).all()):
            var = self.baths.known.meter_repeatability.sd**2 / SAMPLE_READINGS + self.rounding_var
            self.take(Step(readings=self.readings(self.in_bottle(shown_pct), var, read_at(self.rota, t))))

    def take_results(self, day: int, tpc_pct: Array) -> None:
        """Take in what the laboratory found in the bottles (K,); nan where nothing."""
        if not np.isnan(tpc_pct).all():
            pct, at = self.in_bottle(tpc_pct), self.rota.begins(day * self.rota.per_day)
            u_pct = self.baths.known.laboratory.sd * np.nan_to_num(pct)
            at_s, refs = np.full(pct.shape, at.timestamp()), np.full(pct.shape, "", dtype=object)
            results = Results(pct=pct, u_pct=u_pct, at_s=at_s, refs=refs)
            self.take(Step(results=results))

    def in_bottle(self, values: Array) -> Array:
        """Return values (K,) of what is in the bottles, and nan for the fryers."""
        pct = np.full(self.belief.oil.shape, np.nan)
        pct[:, -1] = values
        return pct

    @property
    def rounding_var(self) -> float:
        """The variance of a reading for the step of the display."""
        return self.practice.resolution_pct**2 / 12

    def readings(self, pct: Array, var: float, at: datetime) -> Readings:
        """Return readings of one moment (K, V)."""
        return Readings(
            pct=pct,
            var=np.full(pct.shape, var),
            meters=np.zeros(pct.shape, np.intp),
            temp_c=np.full(pct.shape, books.READ_AT_C),
            at_s=np.full(pct.shape, at.timestamp()),
            doubt=np.full(pct.shape, Doubt.NONE),
            refs=np.full(pct.shape, "", dtype=object),
        )

    def read(self, t: int, reading_pct: Array, again: int = 0) -> None:
        """Take in the readings (K, F) before a service; nan where none."""
        read = ~np.isnan(reading_pct)
        if read.any():
            at, var = (
                read_at(self.rota, t, again),
                self.baths.known.meter_repeatability.sd**2 + self.rounding_var,
            )
            days = self.drift_days(at, np.asarray(read.any(axis=1)), DRIFT_EVERY.total_seconds())
            self.take(Step(drift_days=days, readings=self.readings(self.padded(reading_pct), var, at)))
            self.log.readings.append((t, again, reading_pct))

    def serve(self, t: int, logged: Logged) -> None:
        """Take in what the log holds of service ``t``."""
        self.work(t % self.rota.per_week, logged)
        self.log.services.append((t, logged))

    def work(self, slot: int, logged: Logged) -> None:
        """Let the baths work in a service of the week."""
        pattern, work = infer_work(self.state.pattern, self.services(np.array([slot]), logged))
        self.state = replace(self.state, pattern=pattern)
        self.take(Step(work=self.of_vessels(work)))

    def of_vessels(self, work: Work) -> Work:
        """Return work of the fryers as that of all vessels: a bottle does none."""
        return Work(**{name: self.padded(getattr(work, name), 0.0) for name in OF_WORK})

    def services(self, slots: Index, logged: Logged | None = None) -> Services:
        """Return services in slots (T,) of the week at their usual hours, with what was ``logged``."""
        shape = (len(slots), *self.practice.draw.shape)
        logged = logged or Logged.nothing(shape[1:])
        worked = np.broadcast_to(~logged.closed, shape)
        hours = np.where(worked, self.rota.usual_hot_h[slots % self.rota.per_day, None, None], 0.0)
        load = np.broadcast_to(likely(logged.load, self.baths), shape)
        poured = np.broadcast_to(told_at_moments(logged), (*shape, len(MOMENTS)))
        return Services(
            of_week=slots,
            load_h=load_hours(load, hours, self.baths),
            record=ServiceRecord(
                load=load,
                taken=load,
                topped=np.asarray(~np.isnan(poured).all(axis=-1)),
                poured=np.nan_to_num(poured),
                worked=worked,
                lasted=np.ones(shape),
            ),
            hot_h=hours,
            heat=np.broadcast_to(self.baths.heat, shape),
            standby=np.broadcast_to(self.baths.standby, shape),
        )

    def fill(self, where: Mask, at: datetime) -> None:
        """Take in that the baths ``where`` (K, F) were filled fresh."""
        if where.any():
            spare = ((0, 0), (0, self.belief.oil.shape[1] - where.shape[1]))
            filled, oil = np.pad(where, spare), np.pad(self.baths.oil, spare)
            self.take(Step(acts=(Refill(where=filled, oil=oil, at_s=at.timestamp()),)))

    def change(self, where: Mask, at: datetime) -> None:
        """Take in that the baths ``where`` (K, F) were changed."""
        self.fill(where, at)
        self.log.changes.append((at, where))

    def forecast(self, t: int, services: int) -> Level:
        """Return level and response (services, K, F) where highest in each of the services from ``t`` on."""
        slots = np.arange(t, t + services) % self.rota.per_week
        work = expect_work(self.state.pattern, self.services(slots))
        level = highest_in(self.belief, self.of_vessels(work))
        return level.at(slice(None), slice(None), slice(self.practice.draw.shape[1]))


def told_at_moments(logged: Logged) -> Array:
    """Return what was topped up at each moment (K, F, 4); nan where nothing was written down."""
    never = np.full(logged.top_up.shape, np.nan)
    return np.stack([logged.before, logged.top_up, logged.after, never], axis=-1)
