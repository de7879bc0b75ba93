"""What the program makes of a practice kitchen's log, and of nothing else."""

from dataclasses import dataclass, field

import numpy as np

from kettlewell.book import OilKind
from kettlewell.core.ageing.coefficients import coefficients, oil_defaults
from kettlewell.core.ageing.rates import working_hours
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.filter import Work, age, refill
from kettlewell.core.belief.loads import Fried, Pattern, Served, expect, infer, initial_pattern
from kettlewell.core.belief.meters import drift
from kettlewell.core.belief.priors import MetersPrior, Prior, initial_belief
from kettlewell.core.belief.readings import hear, read_by
from kettlewell.core.belief.service import each
from kettlewell.core.belief.state import Belief, Level
from kettlewell.core.outlook.forecast import forecast
from kettlewell.practice.care import Care, Checks, Held, Samples, bath_of
from kettlewell.practice.findings import SAMPLE_READINGS
from kettlewell.practice.instruments import Tools
from kettlewell.practice.kitchens import SERVICES_PER_DAY, SERVICES_PER_WEEK, USUAL_HOT_H, Practice
from kettlewell.practice.run import Logged


def practice_prior(shape: tuple[int, int], oil_of_fryer: Index, care: Care) -> Prior:
    """Return the shipped priors of kitchens and fryers (K, F) with oils (F,) of rapeseed, frying fries."""
    known, oils = coefficients(), int(oil_of_fryer.max()) + 1
    oil, rate = oil_defaults()[OilKind.RAPESEED], known["rate_at_175_c"].value
    gain, offset = known["meter_gain"], known["meter_offset"]
    return Prior(
        fresh_pct=np.full((shape[0], oils), oil.fresh_tpc_pct),
        fresh_sd_pct=np.full((shape[0], oils), oil.fresh_tpc_sd_pct),
        rate_unit=np.full(shape, rate),
        bend_sd=np.full(shape, known["curvature"].sd * rate / 20),
        oil=np.broadcast_to(oil_of_fryer, shape),
        gain=(1.0, 1e-4) if care.meter_known else (gain.value, gain.sd),
        offset=(0.0, 1e-3) if care.meter_known else (offset.value, offset.sd),
        oil_gain_sd=known["oil_gain"].sd if oils > 1 else 0.0,
        oil_offset_sd_pct=known["oil_offset"].sd if oils > 1 else 0.0,
        kitchen_rate=(known["kitchen_rate"].value, known["kitchen_rate"].sd),
        sibling_rate_sd=known["sibling_rate"].sd,
        lot_sd_pct=known["fill_to_fill"].sd,
        meters=None if care.check_days is None else checked_meter(offset.sd),
    )


def checked_meter(offset_sd_pct: float) -> MetersPrior:
    """Return the prior of a meter that is checked."""
    known = coefficients()
    return MetersPrior(
        offset_sds_pct=(offset_sd_pct,),
        electronics_share=known["electronics_share"].value,
        ratio_sd=known["meter_gain"].sd,
    )


def usual_works(services: Index, fried: Fried) -> list[Work]:
    """Return the work of ``services`` (T,) at their usual hours with what was ``fried``."""
    usual_h, share = USUAL_HOT_H[services % SERVICES_PER_DAY, None, None], coefficients()["load_share"].value
    hours = working_hours(
        usual_h,
        fried.relative,
        usual_hot_h=usual_h,
        load_share=share,
        heat_up_h=coefficients()["heat_up_h"].value,
    )
    hours_sd = share * usual_h * fried.relative_sd
    return each(Work(hours=hours, hours_sd=hours_sd, turnover=fried.turnover, turnover_sd=fried.turnover_sd))


@dataclass(slots=True, kw_only=True)
class Watch:
    """The belief about practice kitchens, kept up service by service from their log.

    ``unread`` (K, F) are fills without a reading, ``unseen`` (K, F) how many services there were
    since the last reading or change. Of ``practice`` it reads what everybody knows: shape,
    services of the week, the usual draw by the book, the oil of each fryer, the meter's resolution
    and the lots of reference oil. ``sampled`` (K, F) is the oil that goes to the laboratory now.
    """

    practice: Practice
    care: Care = field(default_factory=Care)
    held: Held = field(init=False)
    checks: Checks = field(init=False)
    samples: Samples | None = field(init=False)
    sampled: Mask = field(init=False)
    pattern: Pattern = field(init=False)
    unread: Mask = field(init=False)
    unseen: Index = field(init=False)

    def __post_init__(self) -> None:
        """Start with every bath filled fresh."""
        draw = self.practice.draw_assumed
        belief = initial_belief(practice_prior(draw.shape, self.practice.oil, self.care))
        self.held = Held(baths=belief, bottles=bath_of(belief, np.zeros(len(draw), np.intp)))
        self.checks = Checks(practice=self.practice)
        every = self.care.laboratory_days
        self.samples = None if every is None else Samples(practice=self.practice, every_days=every)
        self.sampled = np.zeros(draw.shape, bool)
        draw_rel_sd = np.full(draw.shape, coefficients()["draw_stated"].sd)
        self.pattern = initial_pattern(
            draw, draw_rel_sd, known=np.ones(draw.shape, bool), slots=SERVICES_PER_WEEK
        )
        self.unread = np.ones(draw.shape, bool)
        self.unseen = np.zeros(draw.shape, np.intp)

    @property
    def belief(self) -> Belief:
        """What is believed of the baths."""
        return self.held.baths

    def tend(self, t: int, tools: Tools) -> None:
        """Let the meters drift for a day, check them when it is time, and hear the laboratory."""
        if t % SERVICES_PER_DAY or self.care.meter_known:
            return
        walk_var = self.checks.drifting.walk_var
        self.held.turn(lambda belief: drift(belief, belief.layout.electronics(0), walk_var))
        day, every = t // SERVICES_PER_DAY, self.care.check_days
        if every is not None and day % every == 0:
            self.checks.take(self.held, day, tools)
        if self.samples:
            self.held.hear(tools.results(day))

    def take_sample(self, t: int, leaving: Mask) -> None:
        """Choose whose oil goes to the laboratory among the baths ``leaving`` (K, F) that will be changed."""
        if self.samples:
            self.sampled = self.samples.choose(t, self.belief, leaving)
            self.held.fill(self.sampled)

    def note_sample(self, shown_pct: Array) -> None:
        """Take in what the meter shows of the samples (K,), a mean of two; nan where none."""
        if not np.isnan(shown_pct).all():
            own = coefficients()["meter_repeatability"].sd ** 2 / SAMPLE_READINGS
            self.held.read(shown_pct, own + self.practice.resolution_pct**2 / 12)

    def hear(self, _t: int, reading_pct: Array, /) -> None:
        """Take in the readings (K, F) before a service; nan where none."""
        read = ~np.isnan(reading_pct)
        if read.any():
            var = coefficients()["meter_repeatability"].sd ** 2 + self.practice.resolution_pct**2 / 12
            lot_sd = coefficients()["fill_to_fill"].sd
            evidence = read_by(self.belief, reading_pct, np.full(read.shape, var))
            self.held.baths, _ = hear(self.belief, evidence, lot_sd=lot_sd)
            self.unread = self.unread & ~read
            self.unseen = np.where(read, 0, self.unseen)

    def serve(self, t: int, logged: Logged) -> None:
        """Take in what the log holds of service ``t``."""
        served = Served(
            load=logged.load[None],
            taken=logged.load[None],
            top_up=logged.top_up[None],
            worked=np.ones((1, *logged.load.shape), bool),
        )
        self.pattern, fried = infer(self.pattern, np.array([t % SERVICES_PER_WEEK]), served)
        self.held.baths = age(self.belief, usual_works(np.array([t]), fried)[0])
        self.unseen = self.unseen + 1

    def refill(self, where: Mask) -> None:
        """Take in that the baths ``where`` (K, F) were changed."""
        if where.any():
            self.held.baths = refill(self.belief, where, lot_sd=coefficients()["fill_to_fill"].sd)
            self.unread = self.unread | where
            self.unseen = np.where(where, 0, self.unseen)

    def forecast(self, t: int, services: int) -> Level:
        """Return level and gain (services, K, F) expected at the ends of services from ``t`` on."""
        coming = np.arange(t, t + services)
        return forecast(self.belief, usual_works(coming, expect(self.pattern, coming % SERVICES_PER_WEEK)))
