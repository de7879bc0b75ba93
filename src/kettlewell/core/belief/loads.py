"""How much was fried when nobody wrote it down, and how much oil it carried away.

An unlogged load is unknown, not zero. It is expected from the fryer's own pattern over
the week, raised because cooks forget more on busy days, and corrected by a logged
top-up: fresh oil added replaces what the food carried out. A logged load in turn says
how much oil was drawn when the top-up was not written down. Everything is learnt one
service at a time, so it goes on from where it stopped.
"""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index, Mask

FULL = 0.99  # a share drained and filled may not be all of the bath, whose logarithm would be infinite


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """What is learnt of each fryer's loads, as sums over past services.

    A load is a ratio to the fryer's stated usual load. ``slot_sum`` and ``slot_count``
    (K, F, slots of the week) of loads logged or told by a top-up; the rest (K, F):
    ``load_*`` the same over all slots; ``logged_*`` of loads logged alone; ``spread_*``
    squared relative departures from the pattern; ``draw_sum`` shares of the bath topped up
    over ``draw_count`` loads, ``draw_book`` as the coefficients have it; ``busy_*`` unlogged
    loads over the pattern's; ``forgotten`` of ``services`` were not logged; ``topped_at`` is
    how many services there had been at the last logged top-up. ``known`` are the coefficients.
    """

    known: Coefficients
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
class LoadEstimate:
    """Loads ``relative`` to the fryer's mean service, and what they drew, (T, K, F).

    ``turnover`` is the share of the bath drawn. The standard deviations have one cause.
    """

    relative: Array
    relative_sd: Array
    turnover: Array
    turnover_sd: Array


def initial_pattern(
    known: Coefficients, draw: Array, draw_rel_sd: Array, *, stated: Mask, slots: int
) -> Pattern:
    """Return the pattern before the first service.

    ``draw`` (K, F) is the share of the bath the stated usual load takes up and
    ``draw_rel_sd`` how well that is known; ``stated`` says whether a usual load was stated.
    """
    zero = np.zeros(draw.shape)
    strength = np.where(stated, known.stated_strength.value, known.unstated_strength.value)
    draw_strength = (known.top_up_note.sd / draw_rel_sd) ** 2
    spread_strength, busy_strength = known.spread_strength.value, known.busy_strength.value
    return Pattern(
        known=known,
        slot_sum=np.zeros((*draw.shape, slots)),
        slot_count=np.zeros((*draw.shape, slots)),
        load_sum=strength,
        load_count=strength,
        logged_sum=strength,
        logged_count=strength,
        spread_sum=zero + spread_strength * known.load_spread.sd**2,
        spread_count=zero + spread_strength,
        draw_sum=draw * draw_strength,
        draw_count=draw_strength,
        draw_book=draw,
        busy_sum=zero + busy_strength * known.busy_forgetting.value,
        busy_count=zero + busy_strength,
        forgotten=zero,
        services=zero,
        topped_at=zero,
    )


def expect(pattern: Pattern, slots: Index) -> LoadEstimate:
    """Return the loads expected of coming services in the slots (T,) of the week."""
    unlogged = pattern.forgotten / np.fmax(pattern.services, 1.0)
    raised = 1 + unlogged * (busy_factor(pattern.busy_sum, pattern.busy_count, unlogged < 1) - 1)
    usual, draw = pattern.usual(), pattern.draw()
    slot_sum, slot_count = (np.moveaxis(a[..., slots], -1, 0) for a in (pattern.slot_sum, pattern.slot_count))
    load = shrunk(pattern, slot_sum, slot_count, usual) * raised
    load_sd = load * np.sqrt(pattern.spread_sum / pattern.spread_count)
    return LoadEstimate(
        relative=load / usual, relative_sd=load_sd / usual, turnover=draw * load, turnover_sd=draw * load_sd
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceRecord:
    """What the book says of T services, each (T, K, F), nan where it says nothing.

    ``load`` relative to the usual, ``taken`` the oil it takes up relative to the usual
    load's, ``top_up`` the share of the bath added, ``worked`` whether there was a service.
    """

    load: Array
    taken: Array
    top_up: Array
    worked: Mask


def infer(pattern: Pattern, slots: Index, record: ServiceRecord) -> tuple[Pattern, LoadEstimate]:
    """Return the pattern after T services in the slots (T,) of the week, and what was fried in them.

    Each service is inferred from what was learnt before it, so that T services at once
    give what they give one by one.
    """
    known, evidence = pattern.known, load_evidence(pattern, record)
    logged, topped, load = evidence.logged, evidence.topped, evidence.load
    weight = np.where(logged, 1.0, hint_weight(known) * topped)
    load_sum, load_end = running(pattern.load_sum, weight * load)
    load_count, load_count_end = running(pattern.load_count, weight)
    slot_sum, slot_end = running_in_slots(pattern.slot_sum, slots, weight * load)
    slot_count, slot_count_end = running_in_slots(pattern.slot_count, slots, weight)
    usual = load_sum / load_count
    in_slot = shrunk(pattern, slot_sum, slot_count, usual)

    spread_sum, spread_end = running(pattern.spread_sum, logged * (load / in_slot - 1) ** 2)
    spread_count, spread_count_end = running(pattern.spread_count, logged)
    unlogged = record.worked & ~logged
    busy_weight = weight * unlogged
    busy_sum, busy_end = running(pattern.busy_sum, busy_weight * load / in_slot)
    busy_count, busy_count_end = running(pattern.busy_count, busy_weight)
    forgotten, forgotten_end = running(pattern.forgotten, unlogged)
    some_logged = forgotten < evidence.services

    prior = in_slot * busy_factor(busy_sum, busy_count, some_logged)
    prior_var = spread_sum / spread_count * prior**2
    share = topped * prior_var / (prior_var + (known.top_up_note.sd * prior) ** 2)
    mean = np.where(logged, load, prior + share * (load - prior))
    sd = np.where(logged, known.load_note.sd * load, np.sqrt(prior_var * (1 - share)))
    taken = np.where(logged, record.taken, mean)
    estimate = LoadEstimate(
        relative=mean / usual,
        relative_sd=sd / usual,
        turnover=np.where(topped, evidence.drawn + evidence.drained, evidence.draw * taken),
        turnover_sd=evidence.draw * sd,
    )
    learnt = Pattern(
        known=known,
        slot_sum=slot_end,
        slot_count=slot_count_end,
        load_sum=load_end,
        load_count=load_count_end,
        logged_sum=evidence.logged_sum,
        logged_count=evidence.logged_count,
        spread_sum=spread_end,
        spread_count=spread_count_end,
        draw_sum=evidence.draw_sum,
        draw_count=evidence.draw_count,
        draw_book=pattern.draw_book,
        busy_sum=busy_end,
        busy_count=busy_count_end,
        forgotten=forgotten_end,
        services=evidence.services_end,
        topped_at=evidence.topped_at,
    )
    return learnt, estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadEvidence:
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


def load_evidence(pattern: Pattern, record: ServiceRecord) -> LoadEvidence:
    """Return what logged loads and top-ups tell; a top-up may make up for several services.

    It counts for as many as its size suggests by the coefficients, at most for those since
    the last one that was logged. A bath cannot miss more than a quarter of its oil and fry:
    what goes beyond was drained first.
    """
    logged = record.worked & ~np.isnan(record.load)
    topped = record.worked & ~np.isnan(record.top_up)
    load, top_up = np.where(logged, record.load, 0.0), np.where(topped, record.top_up, 0.0)
    logged_sum, logged_end = running(pattern.logged_sum, load)
    logged_count, logged_count_end = running(pattern.logged_count, logged)
    usual = logged_sum / logged_count
    services, services_end = running(pattern.services, record.worked)
    topped_at = np.maximum.accumulate(
        np.concatenate([pattern.topped_at[None], np.where(topped, services + 1, 0.0)])
    )
    missing = np.minimum(top_up, pattern.known.largest_gap.value)
    covered = np.minimum(missing / (pattern.draw_book * usual), services + 1 - topped_at[:-1])
    drawn = missing / np.maximum(covered, 1.0)
    draw_sum, draw_end = running(pattern.draw_sum, drawn)
    draw_count, draw_count_end = running(pattern.draw_count, topped * np.where(logged, load, usual))
    draw = draw_sum / draw_count
    return LoadEvidence(
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


def hint_weight(known: Coefficients) -> float:
    """Return how much a top-up says of a load beside a load that was written down."""
    return known.load_spread.sd**2 / (known.load_spread.sd**2 + known.top_up_note.sd**2)


def shrunk(pattern: Pattern, slot_sum: Array, slot_count: Array, usual: Array) -> Array:
    """Return the load usual in a slot: its own mean, drawn to the fryer's ``usual`` while it is new."""
    strength = pattern.known.slot_strength.value
    return (slot_sum + strength * usual) / (slot_count + strength)


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
