"""What is drawn of practice kitchens, one range after the other."""

from collections.abc import Sequence

import numpy as np

from kettlewell.core.arrays import Array, Index
from kettlewell.practice.chances import chance
from kettlewell.practice.habits import Habits, Physics, Topping, Trade

USUAL_MASS_KG = 15.0
WARMER_BY_10_C = 1.19
YEAR_DAYS = 365


def own_of_oils(rng: np.random.Generator, between: tuple[float, float], kitchens: int, oil: Index) -> Array:
    """Return what the meter of each kitchen has of its own in the oil of each fryer (K, F); 0 in one oil."""
    oils = int(oil.max()) + 1
    return rng.uniform(*between, (kitchens, oils))[:, oil] if oils > 1 else np.zeros((kitchens, len(oil)))


def by_oil(each: Sequence[Array], oil: Index) -> Array:
    """Return what is drawn for each oil (T, K, 1) as that of each fryer (T, K, F)."""
    return np.concatenate(each, axis=-1)[..., oil] if len(each) > 1 else each[0]


def draw_loads(rng: np.random.Generator, slot: Index, of_week: int, *, kitchens: int, fryers: int) -> Array:
    """Return loads (T, K, F): a pattern over the week, the day's business, and each fryer's own.

    ``slot`` (T,) is which of the services ``of_week`` each is.
    """
    services = len(slot)
    week = np.exp(0.25 * rng.standard_normal((of_week, kitchens, 1)))
    own = np.exp(0.10 * rng.standard_normal((of_week, kitchens, fryers)))
    day = np.exp(0.20 * rng.standard_normal((services, kitchens, 1)))
    rest = np.exp(0.20 * rng.standard_normal((services, kitchens, fryers)))
    return (week * own)[slot] * day * rest


def draw_rates(rng: np.random.Generator, kitchens: int, fryers: int) -> Array:
    """Return rates (K, F): default 0.5, kitchens and fryers apart, thermostats off by 5 °C."""
    thermostat_c = rng.uniform(-5, 5, (kitchens, fryers))
    kitchen = np.exp(0.22 * rng.standard_normal((kitchens, 1)))
    fryer = np.exp(0.18 * rng.standard_normal((kitchens, fryers)))
    return 0.38 * kitchen * fryer * WARMER_BY_10_C ** (thermostat_c / 10)


def draw_turnover(
    rng: np.random.Generator, physics: Physics, kitchens: int, fryers: int
) -> tuple[Array, Array]:
    """Return the shares of the bath (K, F) that a usual load draws by the book, and in truth."""
    assumed = 0.07 * rng.uniform(*physics.food_kg_per_kg, (kitchens, fryers))
    return assumed, assumed * rng.uniform(0.6, 1.4, (kitchens, 1))


def draw_fresh(rng: np.random.Generator, habits: Habits, kitchens: int, days: int) -> Array:
    """Return the TPC (T, K, 1) of the oil that is poured fresh, by delivery."""
    lots = -(-days // habits.lot_days)
    low, high = habits.fresh_pct
    spread = habits.lot_spread_pct
    supplier = rng.uniform(low + spread, high - spread, (1, kitchens, 1))
    by_lot = supplier + rng.uniform(-spread, spread, (lots, kitchens, 1))
    per_day = habits.trade.rota.per_day
    return np.repeat(by_lot, habits.lot_days * per_day, axis=0)[: days * per_day]


def draw_offset(rng: np.random.Generator, habits: Habits, factor: Array, services: int) -> Array:
    """Return the meter's offset (T, K, 1), wandering ``factor`` (1, K, 1) times as far as usual."""
    start = rng.uniform(*habits.offset_pct, factor.shape)
    step_sd = habits.offset_walk_sd_pct * factor / np.sqrt(habits.trade.rota.per_day)
    steps = step_sd * rng.standard_normal((services, factor.shape[1], 1))
    return np.asarray(start + np.cumsum(steps, axis=0))


def draw_noise(
    rng: np.random.Generator, habits: Habits, shape: tuple[int, int, int], repeatability_pct: Array
) -> Array:
    """Return the error of each reading beside gain and offset; water raises some."""
    wet = chance(rng, shape, habits.wet)
    return repeatability_pct * rng.standard_normal(shape) + wet * rng.uniform(1.5, 8.0, shape)


def draw_season(rng: np.random.Generator, trade: Trade, kitchens: int, day: Index) -> Array:
    """Return what the time of year makes of loads (T, K, 1) on each ``day`` (T,): 1 in the mean of a year."""
    swing, begun = rng.uniform(*trade.season, (kitchens, 1)), rng.random((kitchens, 1))
    return 1 + swing * np.sin(2 * np.pi * (day[:, None, None] / YEAR_DAYS + begun))


def draw_steps(rng: np.random.Generator, physics: Physics, shape: tuple[int, int, int], day: Index) -> Array:
    """Return by what a thermostat (T, K, F) that goes off from a day of its own on speeds ageing up."""
    step_c = rng.uniform(*physics.thermostat_step_c, shape[1:])
    since = rng.integers(1, int(day[-1]) + 2, shape[1:])
    return WARMER_BY_10_C ** (step_c * (day[:, None, None] >= since) / 10)


def draw_toppings(rng: np.random.Generator, habits: Habits, kitchens: int) -> Index:
    """Return how each kitchen (K, 1) tops up."""
    ways = np.array(habits.toppings or (Topping.THROUGH,))
    return ways[rng.integers(len(ways), size=(kitchens, 1))]
