"""Practice kitchens: everything that will happen to them, drawn before any rule is tried.

The physics is deliberately not the model's. All ranges are invented for practice, within
those the literature gives. Nothing here is seen by a rule but what lands in the log.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.practice.findings import Findings, Shown, draw_findings

SERVICES_PER_DAY = 2
SERVICES_PER_WEEK = 7 * SERVICES_PER_DAY
USUAL_HOT_H = np.array([1.75, 2.25])
LIMIT_PCT = 24.0
MOST_AGAIN = 2  # a cook who is told to measure again does so twice, then calls the chef: chosen


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """Ranges from which kitchens are drawn; shares are probabilities.

    With several ``oils`` the fryers of a kitchen take turns in them, and each oil has a gain and
    an offset of its own on top of the kitchen's. ``walk_factor`` times the walk of the offset.
    """

    gain: tuple[float, float] = (0.88, 1.08)
    offset_pct: tuple[float, float] = (-0.8, 0.8)
    offset_walk_sd_pct: float = 0.03
    walk_factor: tuple[float, float] = (1.0, 1.0)
    oils: int = 1
    oil_gain: tuple[float, float] = (-0.05, 0.05)
    oil_offset_pct: tuple[float, float] = (-0.85, 0.85)
    seen: Shown = field(default_factory=Shown)
    fresh_pct: tuple[float, float] = (3.3, 4.7)
    lot_spread_pct: float = 0.2
    lot_days: int = 14
    wet: tuple[float, float] = (0.0, 0.05)
    skipped: tuple[float, float] = (0.05, 0.60)
    load_forgotten: tuple[float, float] = (0.05, 1.0)
    top_up_forgotten: tuple[float, float] = (0.02, 0.60)
    repeatability_pct: tuple[float, float] = (0.3, 0.7)
    resolution_pct: float = 0.5


DRIFTING = Habits(walk_factor=(0.5, 2.0), oils=2)
"""Kitchens of two oils, whose meters drift at rates of their own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """K kitchens with F fryers each over T services, D days.

    Truth, per kitchen (K, 1): ``power`` of the ageing law, ``heat_up_h``;
    per fryer (K, F): ``gain`` and ``oil_offset_pct`` of the meter in its oil, ``mass_kg``,
    ``rate_pct_per_h`` at the real temperature and a usual
    load, ``draw`` share of the bath a usual load carries out, ``load_power``.
    Drawn in advance: ``fresh_pct`` (T, K, F), ``offset_pct`` (T, K, 1), ``hot_h`` (T, K, 1),
    ``load`` (T, K, F) relative to the usual, ``wobble`` (T, K, F) of the ageing,
    ``noise_pct`` (T, K, F) of a reading with its wet part, and ``again_noise_pct`` (2, T, K, F) of
    those that follow at once, ``skipped``,
    ``load_forgotten``, ``top_up_forgotten``, ``top_up_skipped`` (T, K, F),
    ``load_noise``, ``top_up_noise`` (T, K, F) relative errors of what is written down;
    ``findings`` what checks and the laboratory will find.
    Known to everybody: ``slot`` (T,) of the week, ``oil`` (F,) of each fryer.
    """

    gain: Array
    power: Array
    heat_up_h: Array
    mass_kg: Array
    rate_pct_per_h: Array
    draw: Array
    draw_assumed: Array
    load_power: Array
    fresh_pct: Array
    offset_pct: Array
    oil_offset_pct: Array
    hot_h: Array
    load: Array
    wobble: Array
    noise_pct: Array
    again_noise_pct: Array
    skipped: Mask
    load_forgotten: Mask
    top_up_forgotten: Mask
    top_up_skipped: Mask
    load_noise: Array
    top_up_noise: Array
    slot: Index
    oil: Index
    resolution_pct: float
    findings: Findings

    @property
    def services(self) -> int:
        """How many services were drawn."""
        return len(self.slot)


def draw_practice(
    rng: np.random.Generator, *, kitchens: int, fryers: int, days: int, habits: Habits | None = None
) -> Practice:
    """Return practice kitchens drawn from ``habits``."""
    habits = habits or Habits()
    services = days * SERVICES_PER_DAY
    shape = (services, kitchens, fryers)
    slot = np.arange(services) % SERVICES_PER_WEEK
    usual_h = USUAL_HOT_H[slot % SERVICES_PER_DAY, None, None]
    load = draw_loads(rng, slot, kitchens, fryers)
    busy = np.clip(1 + 0.8 * (load - 1), 0.4, 1.8)
    draw_assumed, draw = draw_turnover(rng, kitchens, fryers)
    later, again = rng.spawn(2)  # what is new is drawn apart, so that a seed still draws what it drew
    oil, sources = np.arange(fryers) % habits.oils, [rng, *[later] * (habits.oils - 1)]
    least, most = habits.walk_factor
    factor = np.exp(later.uniform(math.log(least), math.log(most), (1, kitchens, 1)))
    return Practice(
        gain=rng.uniform(*habits.gain, (kitchens, 1)) + own_of_oils(later, habits.oil_gain, kitchens, oil),
        power=rng.uniform(0.75, 1.15, (kitchens, 1)),
        heat_up_h=rng.uniform(0.1, 0.5, (kitchens, 1)),
        mass_kg=rng.uniform(8, 25, (kitchens, fryers)),
        rate_pct_per_h=draw_rates(rng, kitchens, fryers),
        draw=draw,
        draw_assumed=draw_assumed,
        load_power=rng.uniform(0.6, 1.2, (kitchens, 1)),
        fresh_pct=by_oil([draw_fresh(source, habits, kitchens, days) for source in sources], oil),
        offset_pct=(offset := draw_offset(rng, habits, factor, services)),
        oil_offset_pct=own_of_oils(later, habits.oil_offset_pct, kitchens, oil),
        hot_h=usual_h * rng.uniform(0.9, 1.1, (services, kitchens, 1)),
        load=load,
        wobble=np.exp(0.10 * rng.standard_normal(shape)),
        noise_pct=draw_noise(
            rng, habits, shape, repeatability_pct := rng.uniform(*habits.repeatability_pct, (kitchens, 1))
        ),
        again_noise_pct=np.stack(
            [draw_noise(again, habits, shape, repeatability_pct) for _ in range(MOST_AGAIN)]
        ),
        skipped=chance(rng, shape, habits.skipped),
        load_forgotten=chance(rng, shape, habits.load_forgotten, busy),
        top_up_forgotten=chance(rng, shape, habits.top_up_forgotten, busy),
        top_up_skipped=rng.random(shape) < 0.15,
        load_noise=np.exp(0.08 * rng.standard_normal(shape)),
        top_up_noise=np.exp(0.15 * rng.standard_normal(shape)),
        slot=slot,
        oil=oil,
        resolution_pct=habits.resolution_pct,
        findings=draw_findings(
            later,
            habits.seen,
            offset_pct=offset[::SERVICES_PER_DAY, :, 0],
            repeatability_pct=repeatability_pct,
            resolution_pct=habits.resolution_pct,
        ),
    )


def own_of_oils(rng: np.random.Generator, between: tuple[float, float], kitchens: int, oil: Index) -> Array:
    """Return what the meter of each kitchen has of its own in the oil of each fryer (K, F); 0 in one oil."""
    oils = int(oil.max()) + 1
    return rng.uniform(*between, (kitchens, oils))[:, oil] if oils > 1 else np.zeros((kitchens, len(oil)))


def by_oil(each: Sequence[Array], oil: Index) -> Array:
    """Return what is drawn for each oil (T, K, 1) as that of each fryer (T, K, F)."""
    return np.concatenate(each, axis=-1)[..., oil] if len(each) > 1 else each[0]


def draw_loads(rng: np.random.Generator, slot: Index, kitchens: int, fryers: int) -> Array:
    """Return loads (T, K, F): a pattern over the week, the day's business, and each fryer's own."""
    services = len(slot)
    week = np.exp(0.25 * rng.standard_normal((SERVICES_PER_WEEK, kitchens, 1)))
    own = np.exp(0.10 * rng.standard_normal((SERVICES_PER_WEEK, kitchens, fryers)))
    day = np.exp(0.20 * rng.standard_normal((services, kitchens, 1)))
    rest = np.exp(0.20 * rng.standard_normal((services, kitchens, fryers)))
    return (week * own)[slot] * day * rest


def draw_rates(rng: np.random.Generator, kitchens: int, fryers: int) -> Array:
    """Return rates (K, F): default 0.5, kitchens and fryers apart, thermostats off by 5 °C."""
    thermostat_c = rng.uniform(-5, 5, (kitchens, fryers))
    kitchen = np.exp(0.22 * rng.standard_normal((kitchens, 1)))
    fryer = np.exp(0.18 * rng.standard_normal((kitchens, fryers)))
    return 0.38 * kitchen * fryer * 1.19 ** (thermostat_c / 10)


def draw_turnover(rng: np.random.Generator, kitchens: int, fryers: int) -> tuple[Array, Array]:
    """Return the shares of the bath (K, F) that a usual load draws by the book, and in truth."""
    assumed = 0.07 * rng.uniform(0.05, 0.25, (kitchens, fryers))
    return assumed, assumed * rng.uniform(0.6, 1.4, (kitchens, 1))


def draw_fresh(rng: np.random.Generator, habits: Habits, kitchens: int, days: int) -> Array:
    """Return the TPC (T, K, 1) of the oil that is poured fresh, by delivery."""
    lots = -(-days // habits.lot_days)
    low, high = habits.fresh_pct
    spread = habits.lot_spread_pct
    supplier = rng.uniform(low + spread, high - spread, (1, kitchens, 1))
    by_lot = supplier + rng.uniform(-spread, spread, (lots, kitchens, 1))
    return np.repeat(by_lot, habits.lot_days * SERVICES_PER_DAY, axis=0)[: days * SERVICES_PER_DAY]


def draw_offset(rng: np.random.Generator, habits: Habits, factor: Array, services: int) -> Array:
    """Return the meter's offset (T, K, 1), wandering ``factor`` (1, K, 1) times as far as usual."""
    start = rng.uniform(*habits.offset_pct, factor.shape)
    step_sd = habits.offset_walk_sd_pct * factor / np.sqrt(SERVICES_PER_DAY)
    steps = step_sd * rng.standard_normal((services, factor.shape[1], 1))
    return np.asarray(start + np.cumsum(steps, axis=0))


def draw_noise(
    rng: np.random.Generator, habits: Habits, shape: tuple[int, int, int], repeatability_pct: Array
) -> Array:
    """Return the error of each reading beside gain and offset; water raises some."""
    wet = chance(rng, shape, habits.wet)
    return repeatability_pct * rng.standard_normal(shape) + wet * rng.uniform(1.5, 8.0, shape)


def chance(
    rng: np.random.Generator,
    shape: tuple[int, int, int],
    between: tuple[float, float],
    factor: Array | float = 1.0,
) -> Mask:
    """Return what happens with a probability of each kitchen's own, times ``factor``."""
    share = rng.uniform(*between, (shape[1], 1))
    return np.asarray(rng.random(shape) < share * factor)
