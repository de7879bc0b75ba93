"""The truth within a service: oil ages, food carries some of it away, and fresh oil is poured."""

from dataclasses import dataclass

import numpy as np

from kettlewell.core.ageing.power_law import advance_power_law
from kettlewell.core.arrays import Array, Mask
from kettlewell.practice.habits import Topping
from kettlewell.practice.kitchens import LIMIT_PCT, Practice

PIECES = 6  # of a service, all of one length: chosen
SUNK_TO = 0.8  # of the full mark: the lower mark, at which all fill up; invented for practice
POURS_BEFORE = {Topping.BEFORE: 0, Topping.DURING: PIECES // 2, Topping.AFTER: PIECES}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bath:
    """The oil of baths (K, F): its TPC, what it would have were it fresh, and the share of the full mark."""

    tpc_pct: Array
    fresh_pct: Array
    level: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """What a service made of baths, all (K, F).

    The ``bath`` after it, the ``highest_pct`` it had while frying, the hours ``past_h`` the limit, and
    the fresh oil ``poured`` as a share of the full bath, ``poured_at`` which share of the service (0 before
    it, 1 after it).
    """

    bath: Bath
    highest_pct: Array
    past_h: Array
    poured: Array
    poured_at: Array


def filled(practice: Practice, t: int) -> Bath:
    """Return baths filled fresh before service ``t``."""
    fresh = practice.fresh_pct[t]
    shape = practice.load.shape[1:]
    fresh = np.broadcast_to(fresh, shape)
    return Bath(tpc_pct=fresh, fresh_pct=fresh, level=np.ones(shape))


def chosen(where: Mask, one: Bath, other: Bath) -> Bath:
    """Return the baths of ``one`` ``where`` so, else those of the other."""
    return Bath(
        tpc_pct=np.where(where, one.tpc_pct, other.tpc_pct),
        fresh_pct=np.where(where, one.fresh_pct, other.fresh_pct),
        level=np.where(where, one.level, other.level),
    )


def fry(practice: Practice, t: int, tpc_pct: Array) -> Array:
    """Return the true TPC after service ``t`` begun with ``tpc_pct``, fresh oil trickling in all the time."""
    return advance_power_law(
        tpc_pct,
        practice.rate_pct_per_h * practice.wobble[t],
        fresh_tpc_pct=practice.fresh_pct[t],
        hot_h=working_h(practice, t),
        turnover=practice.draw * practice.load[t],
        curvature=np.log2(practice.power),
    )


def working_h(practice: Practice, t: int) -> Array:
    """Return the hours (K, F) at a usual load that age the oil as much as service ``t`` does."""
    hours = practice.hot_h[t] * (0.55 + 0.45 * practice.load[t] ** practice.load_power) + practice.heat_up_h
    return np.where(practice.closed[t], 0.0, hours)


def serve(practice: Practice, t: int, bath: Bath) -> Served:
    """Return what service ``t`` makes of baths."""
    return trickled(practice, t, bath) if practice.trickles else poured_in(practice, t, bath)


def trickled(practice: Practice, t: int, bath: Bath) -> Served:
    """Return what a service makes of baths that are kept full all through it.

    What is fresh that day counts as fresh for all oil. The way is monotone, so its ends are its extremes.
    """
    before, after = bath.tpc_pct, fry(practice, t, bath.tpc_pct)
    return Served(
        bath=Bath(tpc_pct=after, fresh_pct=bath.fresh_pct, level=bath.level),
        highest_pct=np.maximum(before, after),
        past_h=practice.hot_h[t] * past(before, after),
        poured=practice.draw * practice.load[t],
        poured_at=np.full(after.shape, 0.5),
    )


def poured_in(practice: Practice, t: int, bath: Bath) -> Served:
    """Return what a service makes of baths whose level sinks until fresh oil is poured."""
    shape = bath.tpc_pct.shape
    highest, past_h, poured, poured_at = np.zeros(shape), np.zeros(shape), np.zeros(shape), np.zeros(shape)
    for n in range(PIECES):
        bath, share = topped_up(practice, t, bath, n)
        poured, poured_at = poured + share, np.where(share > 0, n / PIECES, poured_at)
        aged = aged_in_piece(practice, t, bath)
        highest = np.maximum(highest, np.maximum(bath.tpc_pct, aged.tpc_pct))
        past_h = past_h + practice.hot_h[t] / PIECES * past(bath.tpc_pct, aged.tpc_pct)
        bath = aged
    bath, share = topped_up(practice, t, bath, PIECES)
    return Served(
        bath=bath,
        highest_pct=highest,
        past_h=past_h,
        poured=poured + share,
        poured_at=np.where(share > 0, 1.0, poured_at),
    )


def aged_in_piece(practice: Practice, t: int, bath: Bath) -> Bath:
    """Return baths after one piece of a service: aged by their own law, and lower by what the food took."""
    tpc_pct = advance_power_law(
        bath.tpc_pct,
        practice.rate_pct_per_h * practice.wobble[t] * bath.level**-practice.surface_power,
        fresh_tpc_pct=bath.fresh_pct,
        hot_h=working_h(practice, t) / PIECES,
        turnover=0.0,
        curvature=np.log2(practice.power),
    )
    level = bath.level - practice.draw * practice.load[t] / PIECES
    return Bath(tpc_pct=tpc_pct, fresh_pct=bath.fresh_pct, level=level)


def topped_up(practice: Practice, t: int, bath: Bath, n: int) -> tuple[Bath, Array]:
    """Return baths once those whose turn it is before piece ``n`` are filled up, and the share poured."""
    turn = np.zeros(bath.level.shape, bool)
    for topping, piece in POURS_BEFORE.items():
        if piece == n:
            turn |= (practice.topping == topping) & ~practice.top_up_skipped[t]
    if n < PIECES:
        turn |= bath.level < SUNK_TO
    share = np.where(turn & ~practice.closed[t], 1 - bath.level, 0.0)
    mixed, fresh = share / (bath.level + share), practice.fresh_pct[t]
    topped = Bath(
        tpc_pct=bath.tpc_pct + mixed * (fresh - bath.tpc_pct),
        fresh_pct=bath.fresh_pct + mixed * (fresh - bath.fresh_pct),
        level=bath.level + share,
    )
    return topped, share


def past(before_pct: Array, after_pct: Array) -> Array:
    """Return the share of a stretch spent past the limit, taking it as straight."""
    rise = np.where(np.abs(after_pct - before_pct) < 1e-9, 1e-9, after_pct - before_pct)
    share = np.where(rise > 0, (after_pct - LIMIT_PCT) / rise, (before_pct - LIMIT_PCT) / -rise)
    return np.clip(share, 0.0, 1.0)
