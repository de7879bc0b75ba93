"""The one state of a walk through the book; a checkpoint is a state."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np

from kettlewell.book import Closed, Kitchen, MeterCheck
from kettlewell.book.account import Account, Vessel
from kettlewell.book.residues import Residues
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.baths import Baths, pattern_of, prior_of
from kettlewell.core.belief.filter import AFTER, BEFORE, Work
from kettlewell.core.belief.joint import Belief
from kettlewell.core.belief.loads import Pattern
from kettlewell.core.belief.occasion import Occasion
from kettlewell.core.belief.priors import initial_belief
from kettlewell.core.belief.scatter import Scatter, no_scatter
from kettlewell.core.belief.seen import Seen, nothing_seen
from kettlewell.core.belief.week import Slot
from kettlewell.core.limits.polymers import PolymerFigure
from kettlewell.core.metering.drift import Drifting, unchecked


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """A service that runs: its ``whole`` work, hot hours (F,), and the share of it ``done``.

    ``whole`` (7, F) are rows as ``filter.as_rows`` has them.
    """

    slot: Slot
    whole: Array
    hot_h: Array
    done: float = 0.0

    def part(self, done: Array | float, share: float) -> Array:
        """Return the work (7, F) from the share ``done`` (F,) to another.

        Oil is poured before it as it begins, and after it as it ends, but not where it was cut short.
        """
        rows: Array = (share - done) * self.whole
        rows[BEFORE] = self.whole[BEFORE] * ((share > 0) & (done == 0))
        rows[AFTER] = self.whole[AFTER] * ((share == 1) & (done < 1))
        return rows

    def only(self, fryers: Mask) -> "Running":
        """Return the service with the work of some ``fryers`` (F,) alone."""
        return self.taken(np.where(fryers, np.arange(len(fryers)), -1))

    def taken(self, at: Index) -> "Running":
        """Return the service with its fryers in another order ``at`` (N,); at -1 one that does not work."""
        works = at >= 0
        return replace(self, whole=self.whole[:, at] * works, hot_h=self.hot_h[at] * works)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterFacts:
    """What the book says of one meter: whether it is ``out`` of use, was ever ``used``, and its checks."""

    out: bool = False
    used: bool = False
    checks: tuple[MeterCheck, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class HotReading:
    """A reading in a service that ``began`` then, in oil so much ``hotter_c`` than the fryer was set to."""

    at: datetime
    ref: str
    began: datetime
    hotter_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bookmark:
    """Where in the book of one kitchen a state stands, and what of it is no array.

    It covers all entries before ``covers_to``, ``entries`` of them; ``digest`` stands for them in any
    order, ``settings`` for the epochs up to then. The ``kitchen`` as it was set then, its baths, the
    ``vessels`` in the order of the state's arrays, the account of oil (of whole fills: nothing here asks
    what was topped up or measured of them), the ``residues`` in vessels, the ``hot_readings`` by fryer,
    services ``running``, fryers out of order, those whose oil was ``looked_at``, closures that are told
    of, the lots that were ``recalled`` as the account spells them, the meters, which of them a reading
    is taken as by if it names none (``unnamed``), up to when they have ``drifted``, what the laboratory
    found of ``polymers``, and by oil which of its ``deliveries`` was named last. For so many
    ``silent_days`` of frying nothing at all was written.
    """

    model_version: str
    covers_to: datetime
    entries: int
    digest: int
    settings: str
    kitchen: Kitchen
    baths: Baths
    vessels: tuple[Vessel, ...]
    account: Account
    residues: Residues = field(default_factory=Residues)
    hot_readings: Mapping[str, tuple[HotReading, ...]] = field(default_factory=dict)
    running: tuple[Running, ...] = ()
    out_of_order: frozenset[str] = frozenset()
    looked_at: frozenset[str] = frozenset()
    closed: tuple[Closed, ...] = ()
    recalled: frozenset[str] = frozenset()
    meters: tuple[MeterFacts, ...]
    unnamed: int = 0
    drifted_to: datetime | None = None
    silent_days: int = 0
    polymers: tuple[PolymerFigure, ...] = ()
    deliveries: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """What is believed and seen of the oil in V vessels of K kitchens, after some part of their books.

    The first F vessels are the fryers, the others hold oil that is kept. ``rate_factor``,
    ``rate_factor_rel_sd`` and ``lot_sd_pct`` (K, O) are of the oils, ``drifting`` (K, M, G) and ``scatter``
    (K, M) of the meters. ``pattern`` is of the loads that are known of up to the end of the services
    begun; ``owed`` is work done since the last measurement, ``occasion`` what was before the readings
    that another may join. ``place`` is where one kitchen's book was left.
    """

    belief: Belief
    seen: Seen
    drifting: Drifting
    scatter: Scatter
    rate_factor: Array
    rate_factor_rel_sd: Array
    lot_sd_pct: Array
    pattern: Pattern
    owed: Work | None = None
    occasion: Occasion | None = None
    place: Bookmark | None = None

    @property
    def covers_to(self) -> datetime:
        """Up to when the entries of its book are taken in; raises ValueError for a state of no book."""
        if self.place is None:
            raise ValueError("this state is of no book: it has no place in one")
        return self.place.covers_to

    def with_belief(self, belief: Belief, seen: Seen | None = None) -> "State":
        """Return the state with another belief, and what is seen; written out, since every step makes it."""
        return State(
            belief=belief,
            seen=seen or self.seen,
            drifting=self.drifting,
            scatter=self.scatter,
            rate_factor=self.rate_factor,
            rate_factor_rel_sd=self.rate_factor_rel_sd,
            lot_sd_pct=self.lot_sd_pct,
            pattern=self.pattern,
            owed=self.owed,
            occasion=self.occasion,
            place=self.place,
        )

    def with_occasion(
        self,
        occasion: Occasion | None,
        *,
        belief: Belief | None = None,
        seen: Seen | None = None,
        scatter: Scatter | None = None,
    ) -> "State":
        """Return the state with other readings that others may join, and what they tell."""
        return State(
            belief=belief or self.belief,
            seen=seen or self.seen,
            drifting=self.drifting,
            scatter=scatter or self.scatter,
            rate_factor=self.rate_factor,
            rate_factor_rel_sd=self.rate_factor_rel_sd,
            lot_sd_pct=self.lot_sd_pct,
            pattern=self.pattern,
            owed=self.owed,
            occasion=occasion,
            place=self.place,
        )

    def left_at(self, place: Bookmark, owed: Work | None) -> "State":
        """Return the state with the book left at another place; written out as ``with_belief`` is."""
        return State(
            belief=self.belief,
            seen=self.seen,
            drifting=self.drifting,
            scatter=self.scatter,
            rate_factor=self.rate_factor,
            rate_factor_rel_sd=self.rate_factor_rel_sd,
            lot_sd_pct=self.lot_sd_pct,
            pattern=self.pattern,
            owed=owed,
            occasion=self.occasion,
            place=place,
        )


def initial_state(baths: Baths) -> State:
    """Return what is believed of kitchens before their first entry: every bath filled fresh."""
    belief = initial_belief(prior_of(baths))
    kitchens, fryers = baths.oil.shape
    return State(
        belief=belief,
        seen=nothing_seen((kitchens, fryers)),
        scatter=no_scatter((kitchens, len(baths.meters))),
        drifting=unchecked((kitchens, len(baths.meters)), baths.known),
        rate_factor=baths.rate_factor,
        rate_factor_rel_sd=baths.rate_factor_rel_sd,
        lot_sd_pct=baths.lot_sd_pct,
        pattern=pattern_of(baths),
    )
