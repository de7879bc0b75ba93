"""How much was fried when nobody wrote it down, and how much oil it carried away.

An unlogged load is unknown, not zero. It is expected from the fryer's own pattern over
the week, raised because cooks forget more on busy days, and corrected by a logged
top-up: fresh oil added replaces what the food carried out. A logged load in turn says
how much oil was drawn, and the book how much of that is replaced, when (before frying, while
frying or after it), and how often that is not written down. Everything is learnt one
service at a time, so it goes on from where it stopped.
"""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.ageing.balance import TINY
from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index, Mask

FULL = 0.99  # a share drained and filled may not be all of the bath, whose logarithm would be infinite
BEFORE_FRYING, WHILE_FRYING, AFTER_FRYING, BEFORE_NEXT = MOMENTS = range(4)  # when oil is poured


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """What is learnt of each fryer's loads, as sums over past services.

    A load is a ratio to the fryer's stated usual load. ``slot_sum`` and ``slot_count``
    (K, F, slots of the week) of loads logged or told by a top-up; the rest (K, F):
    ``load_*`` the same over all slots; ``logged_*`` of loads logged alone; ``spread_*``
    squared relative departures from the pattern; ``draw_sum`` shares of the bath topped up
    over ``draw_count`` loads, ``draw_book`` as the coefficients have it; ``busy_*`` unlogged
    loads over the pattern's; ``forgotten`` of ``services`` were not logged; ``topped_at`` is
    how many services there had been at the last logged top-up. ``poured_when`` (K, F, 3) counts top-ups
    before frying, while frying and after it; ``replaced_*`` services whose oil was replaced, of all;
    ``unwritten_*`` those of them whose top-up was not written down, of all that had none. Loads with no
    top-up weigh little until one is logged: ``bare`` is that weight, ``bare_at`` what it was at the
    last one. ``known`` are the coefficients.
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
    poured_when: Array
    replaced_sum: Array
    replaced_count: Array
    unwritten_sum: Array
    unwritten_count: Array
    bare: Array
    bare_at: Array

    def usual(self) -> Array:
        """Return the mean load (K, F) over the week."""
        return self.load_sum / self.load_count

    def draw(self) -> Array:
        """Return the share of the bath (K, F) that a load of 1 carries away."""
        return self.draw_sum / self.draw_count

    def turnover(self) -> Array:
        """Return the share of the bath (K, F) that fresh oil replaces in a usual service."""
        return self.draw() * self.usual() * self.replaced_sum / self.replaced_count


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadEstimate:
    """Loads ``relative`` to the fryer's mean service, (T, K, F), and oil poured to replace what they drew.

    ``poured`` (T, K, F, 4) at each of the ``MOMENTS``, as -ln of the share of old oil that stays.
    ``relative_sd`` and ``turnover_sd`` have one cause, the load; ``pour_sd`` is for not knowing whether oil
    was poured.
    """

    relative: Array
    relative_sd: Array
    poured: Array
    turnover_sd: Array
    pour_sd: Array


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
    when = [known.filled_before.value, known.filled_frying.value, known.filled_after.value]
    habit = zero + known.habit_strength.value
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
        poured_when=zero[..., None] + np.array(when),
        replaced_sum=habit * known.replaced.value,
        replaced_count=habit,
        unwritten_sum=habit * known.replaced.value,
        unwritten_count=habit,
        bare=zero,
        bare_at=zero,
    )


def expect(pattern: Pattern, slots: Index, lasting: Array | float = 1.0) -> LoadEstimate:
    """Return the loads expected of coming services in the slots (T,) of the week.

    ``lasting`` (T, K, F) is how long they last relative to what is usual.
    """
    unlogged = pattern.forgotten / np.fmax(pattern.services, 1.0)
    raised = 1 + unlogged * (busy_factor(pattern.busy_sum, pattern.busy_count, unlogged < 1) - 1)
    usual, draw = pattern.usual(), pattern.draw()
    slot_sum, slot_count = (np.moveaxis(a[..., slots], -1, 0) for a in (pattern.slot_sum, pattern.slot_count))
    load = shrunk(pattern, slot_sum, slot_count, usual) * raised * lasting
    load_sd = load * np.sqrt(pattern.spread_sum / pattern.spread_count)
    replaced = pattern.replaced_sum / pattern.replaced_count
    return LoadEstimate(
        relative=load / usual,
        relative_sd=load_sd / usual,
        poured=(replaced * draw * load)[..., None] * shares(pattern.poured_when),
        turnover_sd=replaced * draw * load_sd,
        pour_sd=draw * load * np.sqrt(replaced * (1 - replaced)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceRecord:
    """What the book says of T services, each (T, K, F), nan where it says nothing.

    ``load`` relative to the usual, ``taken`` the oil it takes up relative to the usual
    load's, ``worked`` whether there was a service, ``lasted`` its hot hours relative to what is usual.
    Where ``topped``, ``poured`` (T, K, F, 4) is the share of the bath added at each of the ``MOMENTS``, nan
    where that is not known.
    """

    load: Array
    taken: Array
    topped: Mask
    poured: Array
    worked: Mask
    lasted: Array

    @property
    def told(self) -> Mask:
        """Whether a service is said to have been topped up; by nothing is not at all."""
        return np.asarray(self.worked & self.topped & (self.poured != 0).any(axis=-1))


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

    prior = in_slot * busy_factor(busy_sum, busy_count, some_logged) * record.lasted
    prior_var = spread_sum / spread_count * prior**2
    share = topped * prior_var / (prior_var + (known.top_up_note.sd * prior) ** 2)
    mean = np.where(logged, load, prior + share * (load - prior))
    sd = np.where(logged, known.load_note.sd * load, np.sqrt(prior_var * (1 - share)))
    drawn, drawn_sd = evidence.draw * np.where(logged, record.taken, mean), evidence.draw * sd
    written = 1 - forgotten / np.fmax(evidence.services, 1.0)
    habits, pours = pours_of(pattern, record, evidence, drawn=drawn, written=written)
    estimate = LoadEstimate(
        relative=mean / usual,
        relative_sd=sd / usual,
        poured=pours.poured,
        turnover_sd=pours.credence * drawn_sd,
        pour_sd=drawn * np.sqrt(pours.credence * (1 - pours.credence)),
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
        **habits,
    )
    return learnt, estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadEvidence:
    """Loads logged or told by top-ups, (T, K, F), and the sums (K, F) after them.

    ``topped`` says where the amount of a top-up is known. ``load`` is as logged, else what the top-up tells
    (0 where neither), ``covered`` how many services a top-up made up for, of ``since`` without one, ``draw``
    the share a load of 1 draws, ``services`` how many there had been before.
    """

    logged: Mask
    topped: Mask
    load: Array
    covered: Array
    since: Array
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
    what goes beyond was drained first. "To the mark" makes up for all.
    """
    logged, told = record.worked & ~np.isnan(record.load), record.told
    amount = record.poured.sum(axis=-1)
    topped = told & ~np.isnan(amount)
    load, top_up = np.where(logged, record.load, 0.0), np.where(topped, amount, 0.0)
    logged_sum, logged_end = running(pattern.logged_sum, load)
    logged_count, logged_count_end = running(pattern.logged_count, logged)
    usual = logged_sum / logged_count
    services, services_end = running(pattern.services, record.worked)
    topped_at = np.maximum.accumulate(
        np.concatenate([pattern.topped_at[None], np.where(told, services + 1, 0.0)])
    )
    since = services + 1 - topped_at[:-1]
    missing = np.minimum(top_up, pattern.known.largest_gap.value)
    covered = np.where(topped, np.minimum(missing / (pattern.draw_book * usual), since), since)
    drawn = missing / np.maximum(covered, 1.0)
    draw_sum, draw_end = running(pattern.draw_sum, drawn)
    draw_count, draw_count_end = running(pattern.draw_count, topped * np.where(logged, load, usual))
    draw = draw_sum / draw_count
    return LoadEvidence(
        logged=logged,
        topped=topped,
        load=np.where(logged, load, drawn / draw),
        covered=np.maximum(covered, 1.0),
        since=since,
        draw=draw,
        services=services,
        logged_sum=logged_end,
        logged_count=logged_count_end,
        draw_sum=draw_end,
        draw_count=draw_count_end,
        services_end=services_end,
        topped_at=topped_at[-1],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Pours:
    """The oil ``poured`` (T, K, F, 4) in services, and the ``credence`` (T, K, F) that it was."""

    poured: Array
    credence: Array


def pours_of(
    pattern: Pattern, record: ServiceRecord, evidence: LoadEvidence, *, drawn: Array, written: Array
) -> tuple[dict[str, Array], Pours]:
    """Return what services teach of when and how far a fryer is topped up, and what was poured in them.

    ``drawn`` (T, K, F) is what they took, ``written`` (T, K, F) the share of loads that were written down:
    where they are, a service without one says nothing of a top-up either. A logged top-up shows how many
    of the services since the last one it made up for; the others were topped up without a word, or the
    level sank. A load without a top-up counts a little for a level that sinks, until one settles it.
    """
    known, told, topped = pattern.known, record.told, record.worked & record.topped
    since, covered = evidence.since, evidence.covered
    plain = np.where(topped, 1.0, known.bare_load.value * evidence.logged) * ~told
    bare, bare_end = running(pattern.bare, plain)
    bare_at = np.maximum.accumulate(np.concatenate([pattern.bare_at[None], np.where(told, bare, 0.0)]))
    settled = since - (bare - bare_at[:-1])
    without_word = known.unwritten_top_up.value * (since - covered)
    replaced_sum, replaced_end = running(pattern.replaced_sum, told * (covered + without_word))
    replaced_count, replaced_count_end = running(pattern.replaced_count, np.where(told, settled, plain))
    unwritten_sum, unwritten_end = running(pattern.unwritten_sum, told * without_word)
    unwritten_count, unwritten_count_end = running(
        pattern.unwritten_count, np.where(told, settled - 1, plain)
    )
    when, when_end = running(pattern.poured_when, told[..., None] * moments_of(record.poured))
    habits = {
        "poured_when": when_end,
        "replaced_sum": replaced_end,
        "replaced_count": replaced_count_end,
        "unwritten_sum": unwritten_end,
        "unwritten_count": unwritten_count_end,
        "bare": bare_end,
        "bare_at": bare_at[-1],
    }
    unwritten = unwritten_sum / unwritten_count
    to_the_mark = np.minimum(drawn * (1 + (since - 1) * (1 - unwritten)), known.largest_gap.value)
    unknown = np.isnan(record.poured)
    as_told = mixed(np.where(unknown, (to_the_mark / count(unknown))[..., None], record.poured))
    silent = np.where(evidence.logged, 0.0, written)
    credence = np.minimum(unwritten + silent * (replaced_sum / replaced_count - unwritten), 1.0)
    as_usual = (credence * drawn)[..., None] * shares(when)
    return habits, Pours(
        poured=np.where(topped[..., None], as_told, as_usual), credence=np.where(topped, 1.0, credence)
    )


def count(there: Mask) -> Array:
    """Return how many of the moments (..., 4) are there; 1 where none is."""
    return np.asarray(np.fmax(there.sum(axis=-1), 1.0))


def shares(counts: Array) -> Array:
    """Return at which of the ``MOMENTS`` (..., 4) oil is poured, from counts (..., 3) of all but the last."""
    part = counts / counts.sum(axis=-1, keepdims=True)
    return np.concatenate([part, np.zeros_like(part[..., :1])], axis=-1)


def moments_of(poured: Array) -> Array:
    """Return when oil was poured (..., 3), from amounts at the ``MOMENTS`` (..., 4); unknown ones alone.

    What was poured before the next service was poured before one.
    """
    unknown = np.isnan(poured)
    weights = np.where(unknown.any(axis=-1, keepdims=True), unknown, poured)
    part = weights / np.fmax(weights.sum(axis=-1, keepdims=True), TINY)
    part[..., BEFORE_FRYING] += part[..., BEFORE_NEXT]
    return np.asarray(part[..., :BEFORE_NEXT])


def mixed(share: Array) -> Array:
    """Return how far fresh oil that makes up a share of the bath thins it: -ln of what stays of the old."""
    return np.asarray(-np.log1p(-np.minimum(share, FULL)))


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
