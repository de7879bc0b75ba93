"""Acts that move oil between vessels: changes, moves, storing and bringing back."""

from dataclasses import dataclass, replace

import numpy as np

from kettlewell.book import AtFryer, Change, Move, Return, Store
from kettlewell.core.arrays import Array, Index
from kettlewell.core.belief.baths import Baths
from kettlewell.core.belief.filter import own_copies, refill, rescaled
from kettlewell.core.belief.state import BEND, LEVEL, RATE, Belief


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredFill:
    """A fill out of its fryer: what is believed of its level, linear in the shared values."""

    base: float
    sensitivity: Array
    var: float
    oil: int


def act(
    baths: Baths,
    belief: Belief,
    stored: dict[str, StoredFill],
    entry: AtFryer,
    *,
    lot_sd: float,
    into_empty: bool = False,
) -> Belief:
    """Return the belief after an act on a vessel; ``stored`` gains or loses the fill it names.

    Bringing back a fill that was never stored changes nothing. ``into_empty`` says that oil
    is moved into an empty bath, so that it mixes with nothing.
    """
    i = baths.fryer_index[entry.fryer]
    if isinstance(entry, Change):
        where = np.arange(len(baths.mass_kg))[None] == i
        oil = baths.oil[i] if entry.oil is None else baths.oil_index[entry.oil]
        oils = np.where(where, oil, belief.oil)
        return refill(other_oil(baths, belief, oils), where, lot_sd=lot_sd)
    if isinstance(entry, Store):
        stored[entry.fryer] = take(belief, i)
    elif isinstance(entry, Return) and entry.fryer in stored:
        return pour(baths, belief, i, stored.pop(entry.fryer), share=1.0)
    elif isinstance(entry, Move):
        into = baths.fryer_index[entry.into]
        all_of_it = into_empty or entry.mass_kg is None
        share = 1.0 if all_of_it else min(entry.mass_kg / baths.mass_kg[into], 1.0)
        return pour(baths, belief, into, take(belief, i), share=share)
    return belief


def take(belief: Belief, i: int) -> StoredFill:
    """Return what is believed of the oil in bath ``i`` of a batch of one kitchen."""
    return StoredFill(
        base=float(belief.base[0, i, LEVEL]),
        sensitivity=belief.sensitivity[0, i, LEVEL].copy(),
        var=float(belief.own_cov[0, i, LEVEL, LEVEL]),
        oil=int(belief.oil[0, i]),
    )


def pour(baths: Baths, belief: Belief, i: int, fill: StoredFill, *, share: float) -> Belief:
    """Return the belief once ``share`` of bath ``i`` is oil of ``fill``.

    What both oils have in common beyond the shared values is forgotten, so the
    level's variance is a little too small when they came from one bath.
    """
    base, sensitivity, cov = own_copies(belief)
    rest = 1 - share
    base[0, i, LEVEL] = rest * base[0, i, LEVEL] + share * fill.base
    sensitivity[0, i, LEVEL] = rest * sensitivity[0, i, LEVEL] + share * fill.sensitivity
    cov[0, i, LEVEL, LEVEL] = rest**2 * cov[0, i, LEVEL, LEVEL] + share**2 * fill.var
    for other in (RATE, BEND):
        cov[0, i, LEVEL, other] = cov[0, i, other, LEVEL] = rest * cov[0, i, LEVEL, other]
    poured = replace(belief, base=base, sensitivity=sensitivity, own_cov=cov)
    if share <= 0.5 or belief.oil[0, i] == fill.oil:
        return poured
    oil = belief.oil.copy()
    oil[0, i] = fill.oil
    return other_oil(baths, poured, oil)


def other_oil(baths: Baths, belief: Belief, oil: Index) -> Belief:
    """Return the belief with other oils (1, F) in the baths, each ageing at its own kind's rate."""
    if (oil == belief.oil).all():
        return belief
    factor = baths.rate_factor[oil] / baths.rate_factor[belief.oil]
    rel_sd = np.hypot(baths.rate_factor_rel_sd[oil], baths.rate_factor_rel_sd[belief.oil])
    return rescaled(belief, factor, np.where(oil == belief.oil, 0.0, rel_sd)).with_oil(oil)
