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
from kettlewell.core.arrays import Array, Index, Mask

LOAD_REL_SD = coefficients()["load_note"].sd
USUAL_REL_SD = coefficients()["load_spread"].sd
TOP_UP_REL_SD = coefficients()["top_up_note"].sd
BUSY_FACTOR = coefficients()["busy_forgetting"].value
HINT_WEIGHT = USUAL_REL_SD**2 / (USUAL_REL_SD**2 + TOP_UP_REL_SD**2)
SLOT_STRENGTH, SPREAD_STRENGTH, BUSY_STRENGTH = 2.0, 8.0, 10.0
LARGEST_GAP, FULL = 0.25, 0.99
STATED_STRENGTH, UNSTATED_STRENGTH = 3.0, 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """What is learnt of each fryer's loads, as sums over past services.

    A load is a ratio to the fryer's stated usual load. ``slot_sum`` and ``slot_count``
    (K, F, slots of the week) of loads logged or told by a top-up; the rest (K, F):
    ``load_*`` the same over all slots; ``logged_*`` of loads logged alone; ``spread_*``
    squared relative departures from the pattern; ``draw_sum`` shares of the bath topped up
    over ``draw_count`` loads, ``draw_book`` as the coefficients have it; ``busy_*`` unlogged
    loads over the pattern's; ``forgotten`` of ``services`` were not logged; ``topped_at`` is
    how many services there had been at the last logged top-up.
    """

    slot_sum: Array
    slot_count: Array
    load_sum: Array
    load_count: Array
    logged_sum: Array
    logged_count: Array
    spread_sum: Array
    spread_count: Array
    draw_sum: Array
    draw_count: Array
    draw_book: Array
    busy_sum: Array
    busy_count: Array
    forgotten: Array
    services: Array
    topped_at: Array

    def usual(self) -> Array:
        """Return the mean load (K, F) over the week."""
        return self.load_sum / self.load_count

    def draw(self) -> Array:
        """Return the share of the bath (K, F) that a load of 1 carries away."""
        return self.draw_sum / self.draw_count


@dataclass(frozen=True, slots=True, kw_only=True)
class Fried:
    """Loads ``relative`` to the fryer's mean service, and what they drew, (T, K, F).

    ``turnover`` is the share of the bath drawn. The standard deviations have one cause.
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
    zero = np.zeros(draw.shape)
    strength = np.where(known, STATED_STRENGTH, UNSTATED_STRENGTH)
    draw_strength = (TOP_UP_REL_SD / draw_rel_sd) ** 2
    return Pattern(
        slot_sum=np.zeros((*draw.shape, slots)),
        slot_count=np.zeros((*draw.shape, slots)),
        load_sum=strength,
        load_count=strength,
        logged_sum=strength,
        logged_count=strength,
        spread_sum=zero + SPREAD_STRENGTH * USUAL_REL_SD**2,
        spread_count=zero + SPREAD_STRENGTH,
        draw_sum=draw * draw_strength,
        draw_count=draw_strength,
        draw_book=draw,
        busy_sum=zero + BUSY_STRENGTH * BUSY_FACTOR,
        busy_count=zero + BUSY_STRENGTH,
        forgotten=zero,
        services=zero,
        topped_at=zero,
    )


def expect(pattern: Pattern, slots: Index) -> Fried:
    """Return the loads expected of coming services in the slots (T,) of the week."""
    unlogged = pattern.forgotten / np.fmax(pattern.services, 1.0)
    raised = 1 + unlogged * (busy_factor(pattern.busy_sum, pattern.busy_count, unlogged < 1) - 1)
    usual, draw = pattern.usual(), pattern.draw()
    slot_sum, slot_count = (np.moveaxis(a[..., slots], -1, 0) for a in (pattern.slot_sum, pattern.slot_count))
    load = shrunk(slot_sum, slot_count, usual) * raised
    load_sd = load * np.sqrt(pattern.spread_sum / pattern.spread_count)
    return Fried(
        relative=load / usual, relative_sd=load_sd / usual, turnover=draw * load, turnover_sd=draw * load_sd
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """What the book says of T services, each (T, K, F), nan where it says nothing.

    ``load`` relative to the usual, ``taken`` the oil it takes up relative to the usual
    load's, ``top_up`` the share of the bath added, ``worked`` whether there was a service.
    """

    load: Array
    taken: Array
    top_up: Array
    worked: Mask


def infer(pattern: Pattern, slots: Index, served: Served) -> tuple[Pattern, Fried]:
    """Return the pattern after T services in the slots (T,) of the week, and what was fried in them.

    Each service is inferred from what was learnt before it, so that T services at once
    give what they give one by one.
    """
    hinted = hint(pattern, served)
    logged, topped, load = hinted.logged, hinted.topped, hinted.load
    weight = np.where(logged, 1.0, HINT_WEIGHT * topped)
    load_sum, load_end = running(pattern.load_sum, weight * load)
    load_count, load_count_end = running(pattern.load_count, weight)
    slot_sum, slot_end = running_in_slots(pattern.slot_sum, slots, weight * load)
    slot_count, slot_count_end = running_in_slots(pattern.slot_count, slots, weight)
    usual = load_sum / load_count
    in_slot = shrunk(slot_sum, slot_count, usual)

    spread_sum, spread_end = running(pattern.spread_sum, logged * (load / in_slot - 1) ** 2)
    spread_count, spread_count_end = running(pattern.spread_count, logged)
    unlogged = served.worked & ~logged
    busy_weight = weight * unlogged
    busy_sum, busy_end = running(pattern.busy_sum, busy_weight * load / in_slot)
    busy_count, busy_count_end = running(pattern.busy_count, busy_weight)
    forgotten, forgotten_end = running(pattern.forgotten, unlogged)
    some_logged = forgotten < hinted.services

    prior = in_slot * busy_factor(busy_sum, busy_count, some_logged)
    prior_var = spread_sum / spread_count * prior**2
    share = topped * prior_var / (prior_var + (TOP_UP_REL_SD * prior) ** 2)
    mean = np.where(logged, load, prior + share * (load - prior))
    sd = np.where(logged, LOAD_REL_SD * load, np.sqrt(prior_var * (1 - share)))
    taken = np.where(logged, served.taken, mean)
    fried = Fried(
        relative=mean / usual,
        relative_sd=sd / usual,
        turnover=np.where(topped, hinted.drawn + hinted.drained, hinted.draw * taken),
        turnover_sd=hinted.draw * sd,
    )
    learnt = Pattern(
        slot_sum=slot_end,
        slot_count=slot_count_end,
        load_sum=load_end,
        load_count=load_count_end,
        logged_sum=hinted.logged_sum,
        logged_count=hinted.logged_count,
        spread_sum=spread_end,
        spread_count=spread_count_end,
        draw_sum=hinted.draw_sum,
        draw_count=hinted.draw_count,
        draw_book=pattern.draw_book,
        busy_sum=busy_end,
        busy_count=busy_count_end,
        forgotten=forgotten_end,
        services=hinted.services_end,
        topped_at=hinted.topped_at,
    )
    return learnt, fried


@dataclass(frozen=True, slots=True, kw_only=True)
class Hinted:
    """Loads logged or told by top-ups, (T, K, F), and the sums (K, F) after them.

    ``load`` is as logged, else what the top-up tells (0 where neither), ``drawn`` the share of
    the bath topped up for one service, ``drained`` the turnover by fresh oil that cannot have
    replaced what the food took, ``draw`` the share a load of 1 draws, ``services`` how many
    there had been before.
    """

    logged: Mask
    topped: Mask
    load: Array
    drawn: Array
    drained: Array
    draw: Array
    services: Array
    logged_sum: Array
    logged_count: Array
    draw_sum: Array
    draw_count: Array
    services_end: Array
    topped_at: Array


def hint(pattern: Pattern, served: Served) -> Hinted:
    """Return what logged loads and top-ups tell; a top-up may make up for several services.

    It counts for as many as its size suggests by the coefficients, at most for those since
    the last one that was logged. A bath cannot miss more than a quarter of its oil and fry:
    what goes beyond was drained first.
    """
    logged = served.worked & ~np.isnan(served.load)
    topped = served.worked & ~np.isnan(served.top_up)
    load, top_up = np.where(logged, served.load, 0.0), np.where(topped, served.top_up, 0.0)
    logged_sum, logged_end = running(pattern.logged_sum, load)
    logged_count, logged_count_end = running(pattern.logged_count, logged)
    usual = logged_sum / logged_count
    services, services_end = running(pattern.services, served.worked)
    topped_at = np.maximum.accumulate(
        np.concatenate([pattern.topped_at[None], np.where(topped, services + 1, 0.0)])
    )
    missing = np.minimum(top_up, LARGEST_GAP)
    covered = np.minimum(missing / (pattern.draw_book * usual), services + 1 - topped_at[:-1])
    drawn = missing / np.maximum(covered, 1.0)
    draw_sum, draw_end = running(pattern.draw_sum, drawn)
    draw_count, draw_count_end = running(pattern.draw_count, topped * np.where(logged, load, usual))
    draw = draw_sum / draw_count
    return Hinted(
        logged=logged,
        topped=topped,
        load=np.where(logged, load, drawn / draw),
        drawn=drawn,
        drained=-np.log1p(-np.minimum(top_up - missing, FULL)),
        draw=draw,
        services=services,
        logged_sum=logged_end,
        logged_count=logged_count_end,
        draw_sum=draw_end,
        draw_count=draw_count_end,
        services_end=services_end,
        topped_at=topped_at[-1],
    )


def shrunk(slot_sum: Array, slot_count: Array, usual: Array) -> Array:
    """Return the load usual in a slot: its own mean, drawn to the fryer's ``usual`` while it is new."""
    return (slot_sum + SLOT_STRENGTH * usual) / (slot_count + SLOT_STRENGTH)


def busy_factor(busy_sum: Array, busy_count: Array, some_logged: Mask) -> Array:
    """Return how much larger unlogged loads are than the pattern; 1 where none was ever logged."""
    return np.where(some_logged, busy_sum / busy_count, 1.0)


def running(start: Array, added: Array | Mask) -> tuple[Array, Array]:
    """Return sums from ``start`` (K, F) before each of the steps ``added`` (T, K, F), and after all."""
    total = np.cumsum(np.concatenate([start[None], added]), axis=0)
    return total[:-1], total[-1]


def running_in_slots(start: Array, slots: Index, added: Array) -> tuple[Array, Array]:
    """Return the sum of each step's own slot before it, and the sums (K, F, slots) after all."""
    spread = np.zeros((*added.shape, start.shape[-1]))
    steps = np.arange(len(slots))
    spread[steps, :, :, slots] = added
    before, after = running(start, spread)
    return before[steps, :, :, slots], after
