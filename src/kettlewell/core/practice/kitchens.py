"""Practice kitchens: everything that will happen to them, drawn before any rule is tried.

The physics is deliberately not the model's. All ranges are invented for practice, within
those the literature gives. Nothing here is seen by a rule but what lands in the log.
"""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.arrays import Array, Index, Mask

SERVICES_PER_DAY = 2
SERVICES_PER_WEEK = 7 * SERVICES_PER_DAY
USUAL_HOT_H = np.array([1.75, 2.25])
LIMIT_PCT = 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """Ranges from which kitchens are drawn; shares are probabilities."""

    gain: tuple[float, float] = (0.88, 1.08)
    offset_pct: tuple[float, float] = (-0.8, 0.8)
    offset_walk_sd_pct: float = 0.03
    fresh_pct: tuple[float, float] = (3.3, 4.7)
    lot_spread_pct: float = 0.2
    lot_days: int = 14
    wet: tuple[float, float] = (0.0, 0.05)
    skipped: tuple[float, float] = (0.05, 0.60)
    load_forgotten: tuple[float, float] = (0.05, 1.0)
    top_up_forgotten: tuple[float, float] = (0.02, 0.60)
    repeatability_pct: tuple[float, float] = (0.3, 0.7)
    resolution_pct: float = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """K kitchens with F fryers each over T services, D days.

    Truth, per kitchen (K, 1): ``gain``, ``power`` of the ageing law, ``heat_up_h``;
    per fryer (K, F): ``mass_kg``, ``rate_pct_per_h`` at the real temperature and a usual
    load, ``draw`` share of the bath a usual load carries out, ``load_power``.
    Drawn in advance: ``fresh_pct`` (T, K, 1), ``offset_pct`` (T, K, 1), ``hot_h`` (T, K, 1),
    ``load`` (T, K, F) relative to the usual, ``wobble`` (T, K, F) of the ageing,
    ``noise_pct`` (T, K, F) of a reading with its wet part, ``skipped``,
    ``load_forgotten``, ``top_up_forgotten``, ``top_up_skipped`` (T, K, F),
    ``load_noise``, ``top_up_noise`` (T, K, F) relative errors of what is written down.
    Known to everybody: ``slot`` (T,) of the week.
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
    hot_h: Array
    load: Array
    wobble: Array
    noise_pct: Array
    skipped: Mask
    load_forgotten: Mask
    top_up_forgotten: Mask
    top_up_skipped: Mask
    load_noise: Array
    top_up_noise: Array
    slot: Index
    resolution_pct: float

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
    return Practice(
        gain=rng.uniform(*habits.gain, (kitchens, 1)),
        power=rng.uniform(0.75, 1.15, (kitchens, 1)),
        heat_up_h=rng.uniform(0.1, 0.5, (kitchens, 1)),
        mass_kg=rng.uniform(8, 25, (kitchens, fryers)),
        rate_pct_per_h=draw_rates(rng, kitchens, fryers),
        draw=draw,
        draw_assumed=draw_assumed,
        load_power=rng.uniform(0.6, 1.2, (kitchens, 1)),
        fresh_pct=draw_fresh(rng, habits, kitchens, days),
        offset_pct=draw_offset(rng, habits, kitchens, services),
        hot_h=usual_h * rng.uniform(0.9, 1.1, (services, kitchens, 1)),
        load=load,
        wobble=np.exp(0.10 * rng.standard_normal(shape)),
        noise_pct=draw_noise(rng, habits, shape),
        skipped=chance(rng, shape, habits.skipped),
        load_forgotten=chance(rng, shape, habits.load_forgotten, busy),
        top_up_forgotten=chance(rng, shape, habits.top_up_forgotten, busy),
        top_up_skipped=rng.random(shape) < 0.15,
        load_noise=np.exp(0.08 * rng.standard_normal(shape)),
        top_up_noise=np.exp(0.15 * rng.standard_normal(shape)),
        slot=slot,
        resolution_pct=habits.resolution_pct,
    )


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


def draw_offset(rng: np.random.Generator, habits: Habits, kitchens: int, services: int) -> Array:
    """Return the meter's offset (T, K, 1), wandering."""
    start = rng.uniform(*habits.offset_pct, (1, kitchens, 1))
    step_sd = habits.offset_walk_sd_pct / np.sqrt(SERVICES_PER_DAY)
    return np.asarray(start + np.cumsum(step_sd * rng.standard_normal((services, kitchens, 1)), axis=0))


def draw_noise(rng: np.random.Generator, habits: Habits, shape: tuple[int, int, int]) -> Array:
    """Return the error of each reading beside gain and offset; water raises some."""
    kitchens = shape[1]
    repeatability = rng.uniform(*habits.repeatability_pct, (kitchens, 1))
    wet = chance(rng, shape, habits.wet)
    return repeatability * rng.standard_normal(shape) + wet * rng.uniform(1.5, 8.0, shape)


def chance(
    rng: np.random.Generator,
    shape: tuple[int, int, int],
    between: tuple[float, float],
    factor: Array | float = 1.0,
) -> Mask:
    """Return what happens with a probability of each kitchen's own, times ``factor``."""
    share = rng.uniform(*between, (shape[1], 1))
    return np.asarray(rng.random(shape) < share * factor)
