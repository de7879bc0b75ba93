"""A state comes under other settings: from now on they count, and nothing before is read anew."""

from dataclasses import replace
from typing import Any

import numpy as np

from kettlewell.book import Fryer, Kitchen
from kettlewell.book.account import Vessel, in_fryer
from kettlewell.book.residues import under_other_settings
from kettlewell.core.arrays import Array, Index
from kettlewell.core.belief.baths import Baths, baths_of, pattern_of, prior_of
from kettlewell.core.belief.filter import Work, predict, rescaled
from kettlewell.core.belief.joint import LEVEL, OF_BATHS, Belief
from kettlewell.core.belief.layout import Layout
from kettlewell.core.belief.loads import Pattern
from kettlewell.core.belief.meters import marginalised
from kettlewell.core.belief.priors import initial_belief
from kettlewell.core.belief.scatter import for_meters
from kettlewell.core.belief.seen import Seen, nothing_seen
from kettlewell.core.belief.state import Bookmark, MeterFacts, State
from kettlewell.core.belief.thermostat import set_as_before
from kettlewell.core.metering.drift import Drifting, unchecked


def resettled(state: State, old: Kitchen, new: Kitchen) -> State:
    """Return the state of one kitchen under ``new`` settings; ``new`` still has what the book names.

    Fryers, oils and meters that come are believed as the priors say, given what was learnt of the
    others; fryers that go are let go. A rate stays physical: another food, another usual load or oil of
    another kind changes it as the coefficients say.
    """
    if new == old:
        return state
    after, lasts = set_anew(replace(state, occasion=None), old, new), state.occasion
    if lasts is None or place_of(after).vessels != place_of(state).vessels:
        return after
    before = replace(state, belief=lasts.belief, seen=lasts.seen, scatter=lasts.scatter, occasion=None)
    before = set_anew(before, old, new)
    lasts = replace(lasts, belief=before.belief, seen=before.seen, scatter=before.scatter)
    return replace(after, occasion=lasts)


def set_anew(state: State, old: Kitchen, new: Kitchen) -> State:
    """Return the state under other settings, but for the readings that another may join."""
    place = place_of(state)
    slots, baths = place.baths.slots, baths_of(new, place.baths.known)
    if state.owed is not None:  # it was done under the old settings
        state = replace(state, belief=predict(state.belief, state.owed), owed=None)
    state = with_meters_used(state, baths)
    belief = widened(state.belief, baths)
    belief = exchanged_fresh(belief, place_of(state).baths, baths)
    state = replace(
        state,
        belief=belief,
        drifting=drifting_of(state.drifting, len(baths.meters), baths),
        scatter=for_meters(state.scatter, len(baths.meters)),
        place=replace(place_of(state), meters=meters_of(place_of(state), baths)),
    )
    state = with_fryers(state, baths)
    state = with_rates(state, old, new, baths)
    state = replace(state, pattern=with_slots(state.pattern, slots, baths.slots))
    return replace(
        state,
        place=replace(
            place_of(state),
            kitchen=new,
            baths=baths,
            account=place.account.with_fryers(new),
            residues=under_other_settings(place.residues, old, new),
            hot_readings=set_as_before(place.hot_readings, old, new),
        ),
    )


def place_of(state: State) -> Bookmark:
    """Return where one kitchen's book was left."""
    if state.place is None:
        raise ValueError("this state is of no book: it has no place in one")
    return state.place


def with_meters_used(state: State, baths: Baths) -> State:
    """Return the state with a meter that was only assumed, and never used, taken for the kitchen's first."""
    place = place_of(state)
    assumed = len(place.meters) == 1 and not place.baths.meters[0].key and not place.meters[0].used
    if not assumed or baths.meters[0].key == "":
        return state
    meters = (baths.meters[0],)
    return replace(state, place=replace(place, baths=replace(place.baths, meters=meters)))


def meters_of(place: Bookmark, baths: Baths) -> tuple[MeterFacts, ...]:
    """Return what the book says of the meters, those that came last."""
    return (*place.meters, *[MeterFacts()] * (len(baths.meters) - len(place.meters)))


def drifting_of(drifting: Drifting, meters: int, baths: Baths) -> Drifting:
    """Return how meters drift once they are so many."""
    came = unchecked((1, meters - drifting.var.shape[1]), baths.known)
    return replace(
        drifting,
        **{
            name: np.concatenate([getattr(drifting, name), getattr(came, name)], axis=1)
            for name in ("mean_pct", "var", "log_weight")
        },
    )


def widened(belief: Belief, baths: Baths) -> Belief:
    """Return the belief with the oils and meters that came, as the prior has them given all others.

    What was observed depends on the new values through the old ones alone, so that given those they
    are as they were beforehand.
    """
    old = belief.layout
    layout = Layout(
        oils=len(baths.oils),
        meters=len(baths.meters),
        checked=old.checked or baths.layout.checked,
        controlled=old.controlled or baths.layout.controlled,
        scale_meters=old.scale_meters,
    )
    if layout == old:
        return belief
    prior = initial_belief(prior_of(baths, layout))
    at = old.places_in(layout)
    new = np.setdiff1d(np.arange(layout.size), at)
    mean, cov = prior.shared[0], prior.shared_cov[0]
    pull = np.linalg.solve(cov[np.ix_(at, at)], cov[np.ix_(at, new)]).T
    shared, shared_cov = np.zeros((1, layout.size)), np.zeros((1, layout.size, layout.size))
    shared[0, at] = belief.shared[0]
    shared[0, new] = mean[new] + pull @ (belief.shared[0] - mean[at])
    known = belief.shared_cov[0]
    shared_cov[0][np.ix_(at, at)] = known
    shared_cov[0][np.ix_(new, at)] = pull @ known
    shared_cov[0][np.ix_(at, new)] = (pull @ known).T
    left = cov[np.ix_(new, new)] - pull @ cov[np.ix_(at, new)]
    shared_cov[0][np.ix_(new, new)] = left + pull @ known @ pull.T
    sensitivity = np.zeros((*belief.sensitivity.shape[:-1], layout.size))
    sensitivity[..., at] = belief.sensitivity
    wider = replace(belief, layout=layout, shared=shared, shared_cov=shared_cov, sensitivity=sensitivity)
    return wider.with_oil(belief.oil)


def exchanged_fresh(belief: Belief, old: Baths, new: Baths) -> Belief:
    """Return the belief with other fresh values of oils that are told of otherwise now."""
    prior = None
    for n in range(len(old.oils)):
        if (old.fresh_pct[0, n], old.fresh_sd_pct[0, n]) == (new.fresh_pct[0, n], new.fresh_sd_pct[0, n]):
            continue
        prior = prior or initial_belief(prior_of(new, belief.layout))
        belief = exchanged(belief, prior, n)
    return belief


def exchanged(belief: Belief, prior: Belief, oil: int) -> Belief:
    """Return the belief with an oil's fresh value believed as beforehand, given its response."""
    layout = belief.layout
    y0, gain = layout.fresh.start + oil, layout.gains.start + oil
    belief = marginalised(belief, y0)
    cov, known = prior.shared_cov[0], belief.shared_cov[0].copy()
    pull = cov[y0, gain] / cov[gain, gain]
    shared = belief.shared.copy()
    shared[0, y0] = prior.shared[0, y0] + pull * (belief.shared[0, gain] - prior.shared[0, gain])
    known[y0, :] = known[:, y0] = pull * known[gain, :]
    known[y0, y0] = cov[y0, y0] - pull * cov[gain, y0] + pull**2 * known[gain, gain]
    return replace(belief, shared=shared, shared_cov=known[None])


def with_fryers(state: State, baths: Baths) -> State:
    """Return the state with the fryers of other settings, in their order; what is kept apart stays."""
    place = place_of(state)
    if place.baths.fryers == baths.fryers:
        return state
    kept = place.vessels[len(place.baths.fryers) :]
    vessels = (*(in_fryer(key) for key in baths.fryers), *kept)
    state = with_vessels(replace(state, place=replace(place, baths=baths)), vessels)
    at = [place.baths.fryers.index(key) if key in place.baths.fryers else -1 for key in baths.fryers]
    running = tuple(service.taken(np.array(at)) for service in place.running)
    running = tuple(service for service in running if service.hot_h.any())
    return replace(
        state,
        pattern=pattern_taken(
            state.pattern, pattern_of(replace(baths, slots=place.baths.slots)), np.array(at)
        ),
        place=replace(place_of(state), running=running),
    )


def with_vessels(state: State, vessels: tuple[Vessel, ...]) -> State:
    """Return the state with these vessels, in this order; one that comes holds oil of unknown age."""
    place = place_of(state)
    if vessels == place.vessels:
        return state
    came = [vessel for vessel in vessels if vessel not in place.vessels]
    at = np.array([(*place.vessels, *came).index(vessel) for vessel in vessels])
    belief = state.belief
    if came:
        fryers = [place.baths.fryers.index(vessel.key) for vessel in came]
        fresh = of_vessels(initial_belief(prior_of(place.baths, belief.layout)), fryers)
        arrays: dict[str, Any] = {
            name: np.concatenate([getattr(belief, name), getattr(older(fresh), name)], axis=1)
            for name in OF_BATHS
        }
        belief = replace(belief, **arrays)
    nothing = nothing_seen((1, len(came)))
    seen: dict[str, Any] = {
        name: np.concatenate([getattr(state.seen, name), getattr(nothing, name)], axis=1)[:, at]
        for name in Seen.__dataclass_fields__
    }
    return replace(
        state,
        belief=of_vessels(belief, at),
        seen=Seen(**seen),
        owed=None if state.owed is None else owed_by(state.owed, at),
        occasion=None,
        place=replace(place, vessels=vessels),
    )


def owed_by(owed: Work, at: Index) -> Work:
    """Return the work owed by vessels in another order; those that came owe none."""
    columns: dict[str, Any] = {
        name: np.pad(getattr(owed, name), ((0, 0), (0, 0), (0, int(at.max()) + 1)))[..., at]
        for name in Work.__dataclass_fields__
    }
    return Work(**columns)


def with_spare(state: State) -> State:
    """Return the state of kitchens with one more vessel each, to hold oil that is taken out of a fryer."""
    fryers = state.belief.oil.shape[1]
    at = np.array([*range(fryers), 0])
    seen = {name: getattr(state.seen, name)[:, at] for name in Seen.__dataclass_fields__}
    return replace(state, belief=of_vessels(state.belief, at), seen=Seen(**seen))


def of_vessels(belief: Belief, at: Index | list[int]) -> Belief:
    """Return the belief of some vessels alone."""
    return replace(belief, **{name: getattr(belief, name)[:, at] for name in OF_BATHS})


def older(belief: Belief, where: Array | bool = True) -> Belief:  # noqa: FBT001, FBT002 - a mask
    """Return the belief with the fills ``where`` (K, V) made old whose beginning is not known."""
    age_pct = belief.known.old_fill
    base, own_cov = belief.base.copy(order="K"), belief.own_cov.copy(order="K")
    base[..., LEVEL] += np.where(where, age_pct.value, 0.0)
    own_cov[..., LEVEL, LEVEL] += np.where(where, age_pct.sd**2, 0.0)
    return replace(belief, base=base, own_cov=own_cov)


def with_rates(state: State, old: Kitchen, new: Kitchen, baths: Baths) -> State:
    """Return the state with rates and loads in the terms of other settings."""
    place = place_of(state)
    was = baths_of(old, baths.known)
    stays = [(n, was.fryers.index(key)) for n, key in enumerate(baths.fryers) if key in was.fryers]
    factor = np.ones((1, len(place.vessels)))
    pattern = state.pattern
    if stays:
        now, before = (np.array(index) for index in zip(*stays, strict=True))
        wear = baths.wear[0, now] / was.wear[0, before]
        restated = np.array([told_anew(old.fryers[m], new.fryers[n]) for n, m in stays])
        factor[0, now] = wear * load_factor(pattern, was, baths, (before, now, restated))
        pattern = restated_pattern(pattern, was, baths, (before, now, restated))
    factor *= kind_factor(state, baths)
    belief = state.belief if (factor == 1).all() else rescaled(state.belief, factor)
    return replace(
        state,
        belief=belief,
        pattern=pattern,
        rate_factor=baths.rate_factor,
        rate_factor_rel_sd=baths.rate_factor_rel_sd,
        lot_sd_pct=baths.lot_sd_pct,
    )


def told_anew(old: Fryer, new: Fryer) -> bool:
    """Return whether the usual load of a fryer was stated anew."""
    return old.usual_load_kg != new.usual_load_kg


def kind_factor(state: State, baths: Baths) -> Array:
    """Return by how much rates (1, V) change since the oils are told to be of another kind."""
    oil = state.belief.oil
    before = np.ones_like(baths.rate_factor)
    before[:, : state.rate_factor.shape[1]] = state.rate_factor
    came = np.arange(before.shape[1]) >= state.rate_factor.shape[1]
    before = np.where(came, baths.rate_factor, before)
    return np.take_along_axis(baths.rate_factor / before, oil, axis=1)


Matched = tuple[Index, Index, Array]  # of the fryers that stay: their places before and now, loads told anew


def load_factor(pattern: Pattern, was: Baths, baths: Baths, matched: Matched) -> Array:
    """Return by how much an hour at the usual load ages more, where that was stated anew."""
    before, now, restated = matched
    usual_kg = pattern.usual()[0, now] * was.usual_wear_kg[0, before] / was.wear[0, before]
    stated_kg = baths.usual_wear_kg[0, now] / baths.wear[0, now]
    share = pattern.known.load_share.value
    idle = (1 - share) * baths.standby[0, now]
    return np.where(restated, (idle + share * stated_kg / usual_kg) / (idle + share), 1.0)


def restated_pattern(pattern: Pattern, was: Baths, baths: Baths, matched: Matched) -> Pattern:
    """Return the loads relative to other usual loads, or begun anew where that was stated anew."""
    before, now, restated = matched
    fresh = pattern_of(replace(baths, slots=((0, ""),) * pattern.slot_sum.shape[-1]))
    usual_kg, stated_kg = (
        part.usual_wear_kg[0, at] / part.wear[0, at] for part, at in ((was, before), (baths, now))
    )
    draws = [part.usual_uptake_kg[0, at] / part.mass_kg[0, at] for part, at in ((was, before), (baths, now))]
    arrays: dict[str, Any] = {}
    for name in ("slot_sum", "slot_count", "load_sum", "load_count", "logged_sum", "logged_count"):
        values = getattr(pattern, name).copy()
        kept = restated.reshape(-1, *[1] * (values.ndim - 2))
        scale = (usual_kg / stated_kg if name.endswith("_sum") else np.ones(len(now))).reshape(kept.shape)
        values[0, now] = np.where(kept, getattr(fresh, name)[0, now], values[0, now] * scale)
        arrays[name] = values
    draw_sum, draw_book = pattern.draw_sum.copy(), pattern.draw_book.copy()
    draw_sum[0, now] *= draws[1] / draws[0]
    draw_book[0, now] = draws[1]
    return replace(pattern, draw_sum=draw_sum, draw_book=draw_book, **arrays)


def pattern_taken(pattern: Pattern, fresh: Pattern, at: Index) -> Pattern:
    """Return the loads of fryers in another order; -1 is one that came, with the ``fresh`` pattern."""
    came = at < 0
    arrays: dict[str, Any] = {}
    for name in PATTERN_ARRAYS:
        values, new = getattr(pattern, name), getattr(fresh, name)
        arrays[name] = np.where(came.reshape(-1, *[1] * (values.ndim - 2)), new, values[:, np.maximum(at, 0)])
    return replace(pattern, **arrays)


PATTERN_ARRAYS = tuple(name for name in Pattern.__dataclass_fields__ if name != "known")


def with_slots(
    pattern: Pattern, old: tuple[tuple[int, str], ...], new: tuple[tuple[int, str], ...]
) -> Pattern:
    """Return the loads by the services of another week: those of the same day and name stay."""
    if old == new:
        return pattern
    arrays: dict[str, Any] = {}
    for name in ("slot_sum", "slot_count"):
        values = getattr(pattern, name)
        padded = np.concatenate([values, np.zeros((*values.shape[:-1], 1))], axis=-1)
        arrays[name] = padded[..., [old.index(slot) if slot in old else -1 for slot in new]]
    return replace(pattern, **arrays)
