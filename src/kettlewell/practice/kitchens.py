"""Practice kitchens: everything that will happen to them, drawn before any rule is tried.

The physics is deliberately not the model's. All ranges are invented for practice, within
those the literature gives. Nothing here is seen by a rule but what lands in the log.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from kettlewell.book import OilKind
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.practice.chances import chance
from kettlewell.practice.draws import (
    USUAL_MASS_KG,
    by_oil,
    draw_fresh,
    draw_loads,
    draw_noise,
    draw_offset,
    draw_rates,
    draw_season,
    draw_steps,
    draw_toppings,
    draw_turnover,
    own_of_oils,
)
from kettlewell.practice.findings import Findings, draw_findings
from kettlewell.practice.habits import Habits, Topping
from kettlewell.practice.mishaps import Slips, draw_slips, draw_stretch
from kettlewell.practice.rota import Rota

LIMIT_PCT = 24.0
MOST_AGAIN = 2  # a cook who is told to measure again does so twice, then calls the chef: chosen


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """K kitchens with F fryers each over T services, D days.

    Truth, per kitchen (K, 1): ``power`` of the ageing law, ``heat_up_h``, how it is topped up
    (``topping``) and whether that is ``noted_late``;
    per fryer (K, F): ``gain`` and ``oil_offset_pct`` of the meter in its oil, ``mass_kg``,
    ``rate_pct_per_h`` at the real temperature and a usual
    load, ``draw`` share of the bath a usual load carries out, ``load_power``.
    Drawn in advance: ``fresh_pct`` (T, K, F), ``offset_pct`` (T, K, 1), ``hot_h`` (T, K, 1),
    ``load`` (T, K, F) relative to the usual, ``wobble`` (T, K, F) of the ageing,
    ``noise_pct`` (T, K, F) of a reading with its wet part, and ``again_noise_pct`` (2, T, K, F) of
    those that follow at once, ``skipped``,
    ``load_forgotten``, ``top_up_forgotten``, ``top_up_skipped`` (T, K, F),
    ``load_noise``, ``top_up_noise`` (T, K, F) relative errors of what is written down;
    ``findings`` what checks and the laboratory will find; ``slips`` what goes wrong.
    Known to everybody: ``slot`` (T,) of the week, ``oil`` (F,) of each fryer and its ``oil_kind``, the
    ``rota``, when the kitchen is ``closed`` (T, K, 1), though not every kitchen writes it down
    (``closing_written`` (K, 1)).
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
    topping: Index
    noted_late: Mask
    surface_power: float
    closed: Mask
    closing_written: Mask
    rota: Rota
    slips: Slips
    oil_kind: OilKind

    @property
    def services(self) -> int:
        """How many services were drawn."""
        return len(self.slot)

    @property
    def trickles(self) -> bool:
        """Whether all baths are kept full all through their services."""
        return bool((self.topping == Topping.THROUGH).all())


def draw_practice(
    rng: np.random.Generator, *, kitchens: int, fryers: int, days: int, habits: Habits | None = None
) -> Practice:
    """Return practice kitchens drawn from ``habits``."""
    habits = habits or Habits()
    # what is new is drawn apart, so that a seed still draws what it drew
    later, again, life = rng.spawn(3)
    return lived_in(drawn(rng, later, again, habits, (days, kitchens, fryers)), life, habits)


def drawn(
    rng: np.random.Generator,
    later: np.random.Generator,
    again: np.random.Generator,
    habits: Habits,
    size: tuple[int, int, int],
) -> Practice:
    """Return practice kitchens of one ``size`` (days, kitchens, fryers), of a plain life."""
    (days, kitchens, fryers), physics, rota = size, habits.physics, habits.trade.rota
    services = days * rota.per_day
    shape, each = (services, kitchens, fryers), (kitchens, 1)
    t = np.arange(services)
    slot = t % rota.per_week
    load = draw_loads(rng, slot, rota.per_week, kitchens=kitchens, fryers=fryers)
    busy = np.clip(1 + 0.8 * (load - 1), 0.4, 1.8)
    draw_assumed, draw = draw_turnover(rng, physics, kitchens, fryers)
    oil, sources = np.arange(fryers) % habits.oils, [rng, *[later] * (habits.oils - 1)]
    least, most = habits.walk_factor
    factor = np.exp(later.uniform(math.log(least), math.log(most), (1, kitchens, 1)))
    never = np.zeros(each, bool)
    return Practice(
        gain=rng.uniform(*habits.gain, each) + own_of_oils(later, habits.oil_gain, kitchens, oil),
        power=rng.uniform(*physics.power, each),
        heat_up_h=rng.uniform(*physics.heat_up_h, each),
        mass_kg=rng.uniform(8, 25, (kitchens, fryers)),
        rate_pct_per_h=draw_rates(rng, kitchens, fryers),
        draw=draw,
        draw_assumed=draw_assumed,
        load_power=rng.uniform(*physics.load_power, each),
        fresh_pct=by_oil([draw_fresh(source, habits, kitchens, days) for source in sources], oil),
        offset_pct=(offset := draw_offset(rng, habits, factor, services)),
        oil_offset_pct=own_of_oils(later, habits.oil_offset_pct, kitchens, oil),
        hot_h=rota.usual_hot_h[t % rota.per_day, None, None] * rng.uniform(0.9, 1.1, (services, *each)),
        load=load,
        wobble=np.exp(0.10 * rng.standard_normal(shape)),
        noise_pct=draw_noise(rng, habits, shape, scatter_pct := rng.uniform(*habits.repeatability_pct, each)),
        again_noise_pct=np.stack([draw_noise(again, habits, shape, scatter_pct) for _ in range(MOST_AGAIN)]),
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
            offset_pct=offset[:: rota.per_day, :, 0],
            repeatability_pct=scatter_pct,
            resolution_pct=habits.resolution_pct,
        ),
        topping=np.full(each, Topping.THROUGH),
        noted_late=never,
        surface_power=physics.surface_power,
        closed=np.zeros((services, *each), bool),
        closing_written=never,
        rota=rota,
        slips=Slips.none(shape, days),
        oil_kind=habits.oil_kind,
    )


def lived_in(practice: Practice, life: np.random.Generator, habits: Habits) -> Practice:
    """Return practice kitchens with all that their ``habits`` have beside the plain ones.

    Where they have nothing, every figure stays as it was.
    """
    physics, trade, shape = habits.physics, habits.trade, practice.load.shape
    kitchens, day = shape[1], np.arange(shape[0]) // trade.rota.per_day
    own = life.uniform(*physics.rate_factor, (kitchens, 1))
    surface = (USUAL_MASS_KG / practice.mass_kg) ** physics.surface_power
    closed = draw_stretch(life, day, kitchens, trade.closed_days)
    slips = draw_slips(life, habits.mishaps, shape, day)
    return replace(
        practice,
        rate_pct_per_h=practice.rate_pct_per_h * own * surface,
        wobble=practice.wobble * draw_steps(life, physics, shape, day),
        load=practice.load * draw_season(life, trade, kitchens, day) * ~closed,
        hot_h=practice.hot_h * ~closed,
        oil_offset_pct=practice.oil_offset_pct + (1 - practice.gain) * habits.right_at_pct,
        noise_pct=practice.noise_pct + slips.wet_pct,
        again_noise_pct=practice.again_noise_pct + slips.wet_pct,
        skipped=practice.skipped | closed,
        load_forgotten=practice.load_forgotten | closed,
        load_noise=practice.load_noise * slips.load_factor,
        topping=draw_toppings(life, habits, kitchens),
        noted_late=life.random((kitchens, 1)) < habits.noted_late,
        closed=closed,
        closing_written=life.random((kitchens, 1)) < trade.closing_written,
        slips=slips,
    )
