"""How much was fried when nobody wrote it down, and how much oil it carried away.

An unlogged load is unknown, not zero. It is expected from the fryer's own pattern over
the week, raised because cooks forget more on busy days, and corrected by a logged
top-up: fresh oil added replaces what the food carried out. A logged load in turn says
how much oil was drawn when the top-up was not written down. Everything is learnt one
service at a time, so it goes on from where it stopped.
"""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.ageing.coefficients import coefficients
from kettlewell.core.arrays import Array, Mask

LOAD_REL_SD = coefficients()["load_note"].sd
USUAL_REL_SD = coefficients()["load_spread"].sd
TOP_UP_REL_SD = coefficients()["top_up_note"].sd
BUSY_FACTOR = coefficients()["busy_forgetting"].value
SLOT_STRENGTH, SPREAD_STRENGTH, BUSY_STRENGTH = 2.0, 8.0, 10.0
STATED_STRENGTH, UNSTATED_STRENGTH = 3.0, 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """What is learnt of each fryer's loads, as sums over past services.

    A load is a ratio to the fryer's stated usual load. ``slot_sum`` and ``slot_count``
    (K, F, slots of the week); the rest (K, F): ``load_*`` over all slots; ``spread_*``
    squared relative departures from the pattern; ``draw_sum`` shares of the bath topped
    up over ``draw_count`` usual loads; ``busy_*`` unlogged loads over the pattern's;
    ``forgotten`` of ``services`` were not logged; ``since_top_up`` loads since the last
    logged top-up.
    """

    slot_sum: Array
    slot_count: Array
    load_sum: Array
    load_count: Array
    spread_sum: Array
    spread_count: Array
    draw_sum: Array
    draw_count: Array
    busy_sum: Array
    busy_count: Array
    forgotten: Array
    services: Array
    since_top_up: Array

    def usual(self) -> Array:
        """Return the mean load (K, F) over the week."""
        return self.load_sum / self.load_count

    def in_slot(self, slot: int) -> Array:
        """Return the load (K, F) that is usual in a slot of the week."""
        total = self.slot_sum[..., slot] + SLOT_STRENGTH * self.usual()
        return total / (self.slot_count[..., slot] + SLOT_STRENGTH)

    def rel_sd(self) -> Array:
        """Return the relative standard deviation (K, F) of a load about the pattern."""
        return np.sqrt(self.spread_sum / self.spread_count)

    def draw(self) -> Array:
        """Return the share of the bath (K, F) that a load of 1 carries away."""
        return self.draw_sum / self.draw_count

    def busy(self) -> Array:
        """Return how much larger (K, F) unlogged loads are than the pattern."""
        some_logged = self.forgotten < self.services
        return np.where(some_logged, self.busy_sum / self.busy_count, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fried:
    """A service's load ``relative`` to the fryer's mean service, and what it drew.

    ``turnover`` is the share of the bath drawn. The standard deviations have one cause. All (K, F).
    """

    relative: Array
    relative_sd: Array
    turnover: Array
    turnover_sd: Array


def initial_pattern(draw: Array, draw_rel_sd: Array, *, known: Mask, slots: int) -> Pattern:
    """Return the pattern before the first service.

    ``draw`` (K, F) is the share of the bath the stated usual load takes up and
    ``draw_rel_sd`` how well that is known; ``known`` says whether a usual load was stated.
    """
    shape = draw.shape
    strength = np.where(known, STATED_STRENGTH, UNSTATED_STRENGTH)
    draw_strength = (TOP_UP_REL_SD / draw_rel_sd) ** 2
    zero = np.zeros(shape)
    return Pattern(
        slot_sum=np.zeros((*shape, slots)),
        slot_count=np.zeros((*shape, slots)),
        load_sum=strength,
        load_count=strength,
        spread_sum=zero + SPREAD_STRENGTH * USUAL_REL_SD**2,
        spread_count=zero + SPREAD_STRENGTH,
        draw_sum=draw * draw_strength,
        draw_count=draw_strength,
        busy_sum=zero + BUSY_STRENGTH * BUSY_FACTOR,
        busy_count=zero + BUSY_STRENGTH,
        forgotten=zero,
        services=zero,
        since_top_up=zero,
    )


def expect(pattern: Pattern, slot: int) -> Fried:
    """Return the load expected of a coming service in a slot of the week."""
    unlogged = pattern.forgotten / np.fmax(pattern.services, 1.0)
    load = pattern.in_slot(slot) * (1 + unlogged * (pattern.busy() - 1))
    return fried(pattern, load, load * pattern.rel_sd(), pattern.draw() * load)


def infer(
    pattern: Pattern, slot: int, load: Array, *, top_up: Array, worked: Mask, taken: Array | None = None
) -> tuple[Pattern, Fried]:
    """Return the pattern after a service and what was fried in it.

    ``load`` (K, F) is the logged load or nan, ``taken`` the oil it takes up relative to
    the usual load's (``load`` if not given), ``top_up`` the logged share of the bath added
    or nan, ``worked`` where there was a service at all.
    """
    usual, rel_sd, draw = pattern.in_slot(slot), pattern.rel_sd(), pattern.draw()
    logged, topped = ~np.isnan(load), ~np.isnan(top_up)
    prior = usual * pattern.busy()
    prior_var = (rel_sd * prior) ** 2
    services = np.clip(top_up / (draw * usual), 1.0, pattern.since_top_up / usual + 1.0)
    drawn = top_up / services
    share = topped * prior_var / (prior_var + (TOP_UP_REL_SD * prior) ** 2)
    mean = np.where(logged, load, prior + share * (np.where(topped, drawn / draw, prior) - prior))
    sd = np.where(logged, LOAD_REL_SD * load, np.sqrt(prior_var * (1 - share)))
    served = Served(
        load=mean,
        weight=np.where(worked, np.where(logged, 1.0, share), 0.0),
        logged=logged & worked,
        top_up=np.where(worked, drawn, np.nan),
        worked=worked,
    )
    taken = np.where(logged, load if taken is None else taken, mean)
    return learn(pattern, slot, served), fried(pattern, mean, sd, np.where(topped, drawn, draw * taken))


def fried(pattern: Pattern, load: Array, load_sd: Array, turnover: Array) -> Fried:
    """Return a load in the terms that age oil."""
    usual = pattern.usual()
    return Fried(
        relative=load / usual,
        relative_sd=load_sd / usual,
        turnover=turnover,
        turnover_sd=pattern.draw() * load_sd,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """What is known of one service, all (K, F).

    Its ``load``, known to ``weight`` of 1, whether that was ``logged``, the share of the bath
    topped up for it (nan: not logged), and whether there was a service at all.
    """

    load: Array
    weight: Array
    logged: Mask
    top_up: Array
    worked: Mask


def learn(pattern: Pattern, slot: int, served: Served) -> Pattern:
    """Return the pattern after a service in a slot of the week."""
    load, weight, logged = served.load, served.weight, served.logged
    relative = load / pattern.in_slot(slot)
    unlogged, topped = weight * ~logged, ~np.isnan(served.top_up)
    slot_sum, slot_count = pattern.slot_sum.copy(), pattern.slot_count.copy()
    slot_sum[..., slot] += weight * load
    slot_count[..., slot] += weight
    return Pattern(
        slot_sum=slot_sum,
        slot_count=slot_count,
        load_sum=pattern.load_sum + weight * load,
        load_count=pattern.load_count + weight,
        spread_sum=pattern.spread_sum + logged * (relative - 1) ** 2,
        spread_count=pattern.spread_count + logged,
        draw_sum=pattern.draw_sum + np.where(topped, served.top_up, 0.0),
        draw_count=pattern.draw_count + topped * load,
        busy_sum=pattern.busy_sum + unlogged * relative,
        busy_count=pattern.busy_count + unlogged,
        forgotten=pattern.forgotten + (served.worked & ~logged),
        services=pattern.services + served.worked,
        since_top_up=(pattern.since_top_up + served.worked * load) * ~topped,
    )
