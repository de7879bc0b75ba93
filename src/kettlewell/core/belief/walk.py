"""Walking through the day book of one kitchen, service by service."""

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from kettlewell.book import (
    AtFryer,
    Change,
    Entry,
    Kitchen,
    LabResult,
    Move,
    OfService,
    OutOfOrder,
    Reading,
    Return,
    SensoryNote,
    Store,
)
from kettlewell.core.ageing.coefficients import coefficients
from kettlewell.core.arrays import Mask
from kettlewell.core.belief.baths import Baths, pattern_of, prior_of
from kettlewell.core.belief.filter import Work, age
from kettlewell.core.belief.loads import Pattern
from kettlewell.core.belief.meter_walk import MeterHistory, MeterWalk
from kettlewell.core.belief.meters import Turns
from kettlewell.core.belief.priors import initial_belief
from kettlewell.core.belief.readings import Heard, hear, hear_laboratory, read_by
from kettlewell.core.belief.service import Noted, combine, each, noted, serve, services_of
from kettlewell.core.belief.state import Belief
from kettlewell.core.belief.timeline import Owed, Running, Step, Stretch
from kettlewell.core.belief.vessels import StoredFill, act
from kettlewell.core.belief.week import Slot
from kettlewell.core.metering import laboratory_u_pct, reading_var


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A reading and how it was taken: the share believed sound, and its surprise."""

    reading: Reading
    sound_share: float
    surprise_pct: float
    fresh: bool
    changed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """What the book says of the fill in a fryer.

    Since when it is there (None: before the book began), its readings, its last laboratory
    result and sensory note, and whether the fryer is empty.
    """

    filled_at: datetime | None = None
    readings: tuple[Taken, ...] = ()
    laboratory: LabResult | None = None
    senses: SensoryNote | None = None
    empty: bool = False

    def with_senses(self, note: SensoryNote) -> "Fill":
        """Return the fill with a sensory note; oil once found spoiled stays so until it is changed."""
        return self if self.spoiled else replace(self, senses=note)

    @property
    def spoiled(self) -> bool:
        """Whether the senses found the oil spoiled."""
        return self.senses is not None and self.senses.spoiled

    def with_reading(self, taken: Taken) -> "Fill":
        """Return the fill with one more reading."""
        return Fill(
            filled_at=self.filled_at,
            readings=(*self.readings, taken),
            laboratory=self.laboratory,
            senses=self.senses,
            empty=self.empty,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Checkpoint:
    """Where a walk stopped: everything needed to go on without replay.

    It covers all entries before ``covers_to``; ``digest`` stands for them in any order.
    """

    model_version: str
    kitchen: Kitchen
    covers_to: datetime
    entries: int
    digest: int
    belief: Belief
    pattern: Pattern
    carried: Owed
    running: dict[str, list[Running]]
    stored: dict[str, StoredFill]
    fills: dict[str, Fill]
    stored_fills: dict[str, Fill]
    out_of_order: frozenset[str]
    meters: tuple[MeterHistory, ...]
    drifted_to: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One stretch to walk: from the beginning of ``slot`` to ``until``.

    ``entries`` are those of its time, ``said`` those that speak of its service's loads, hot
    hours and top-ups.
    """

    slot: Slot
    until: datetime
    entries: Sequence[Entry]
    said: Sequence[OfService]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """One step of a walk, kept for the smoother.

    The ``work`` done (None: none), the ``turns`` of the meters up to then, and the belief after
    the acts on vessels, after the work and after the measurements; the last once the step's
    entries on meters are taken too, their turns by then ``turned``. ``emptied`` (F,)
    are baths whose oil is no longer what it was before the step's acts, ``changed`` (F,) those
    where an unlogged change was concluded. ``owed`` is work of the same stretch that comes after
    its last measurement.
    """

    leg: Leg
    work: Work | None
    turns: Turns
    turned: Turns
    filled: Belief
    aged: Belief
    measured: Belief
    emptied: Mask
    changed: Mask
    owed: Work | None = None


class Walk:
    """A walk through the day book of one kitchen, service by service."""

    def __init__(self, baths: Baths, since: Checkpoint | None = None) -> None:
        """Begin with what is believed beforehand, or where ``since`` stopped."""
        self.baths = baths
        keys = list(baths.fryer_index)
        self.belief = initial_belief(prior_of(baths)) if since is None else since.belief
        self.pattern = pattern_of(baths) if since is None else since.pattern
        self.carried: Owed = {} if since is None else since.carried
        self.stored = {} if since is None else dict(since.stored)
        self.fills = dict.fromkeys(keys, Fill()) if since is None else dict(since.fills)
        self.stored_fills = {} if since is None else dict(since.stored_fills)
        self.out_of_order = set() if since is None else set(since.out_of_order)
        self.meters = MeterWalk(baths, since.meters, since.drifted_to) if since else MeterWalk(baths)
        self.moments: list[Moment] = []
        self.keep_moments = False
        self.running: dict[str, list[Running]] = {} if since is None else copied(since.running)
        self.lot_sd = coefficients()["fill_to_fill"].sd

    def walk(self, legs: Sequence[Leg], orders: Sequence[OutOfOrder]) -> None:
        """Walk stretches one after the other; ``orders`` take fryers out of use or put them back."""
        if legs:
            left = deque(orders)
            notes = [self.note(leg, left) for leg in legs]
            services = services_of(self.baths, [leg.slot for leg in legs], notes)
            self.pattern, work = serve(self.pattern, services)
            for leg, one, hot_h in zip(legs, each(work), services.hot_h[:, 0].tolist(), strict=True):
                self.stretch(leg, one, hot_h)
            orders = tuple(left)
        self.put_out_of_order(orders)

    def note(self, leg: Leg, orders: deque[OutOfOrder]) -> Noted:
        """Return what is noted of a service; ``orders`` from before its middle count for it."""
        middle = leg.slot.begins + (leg.slot.ends - leg.slot.begins) / 2
        while orders and orders[0].at < middle:
            self.put_out_of_order([orders.popleft()])
        return noted(self.baths, leg.slot, leg.said, out=self.out_of_order)

    def stretch(self, leg: Leg, work: Work, hot_h: Sequence[float]) -> None:
        """Walk one stretch with the work its service does, ``hot_h`` by bath."""
        for fryer, hours in zip(self.baths.fryer_index, hot_h, strict=True):
            running = [one for one in self.running.get(fryer, ()) if one.done < 1]
            if hours > 0:
                running.append(Running(slot=leg.slot, work=work, hot_h=hours))
            self.running[fryer] = running
        stretch = Stretch(self.running, self.carried)
        stretch.lay_out(leg.entries, leg.until)
        if any(step.measured for step in stretch.steps):
            self.belief = self.meters.drift(self.belief, leg.slot.begins)
        for step in stretch.steps:
            self.take(leg, step)
        self.carried = stretch.carried
        if self.keep_moments and self.carried:
            self.moments[-1] = replace(self.moments[-1], owed=self.work_of(self.carried))

    def put_out_of_order(self, orders: Iterable[OutOfOrder]) -> None:
        """Take fryers out of use or put them back."""
        for order in orders:
            (self.out_of_order.discard if order.back else self.out_of_order.add)(order.fryer)

    def take(self, leg: Leg, step: Step) -> None:
        """Take one step: acts on vessels, work, measurements."""
        for entry in step.acts:
            if isinstance(entry, Store | Move) and self.fills[entry.fryer].empty:
                continue
            empty = isinstance(entry, Move) and self.fills[entry.into].empty
            self.belief = act(
                self.baths, self.belief, self.stored, entry, lot_sd=self.lot_sd, into_empty=empty
            )
            self.note_act(entry)
        filled, work = self.belief, self.work_of(step.worked) if step.worked else None
        if work is not None:
            self.belief = age(self.belief, work)
        aged = self.belief
        changed = self.measure(step.measured) if step.measured else np.zeros(len(self.baths.mass_kg), bool)
        turns = self.meters.turns
        for touched in step.meters:
            self.belief = self.meters.take(self.belief, touched)
        if self.keep_moments:
            self.moments.append(
                Moment(
                    leg=leg,
                    work=work,
                    turns=turns,
                    turned=self.meters.turns,
                    filled=filled,
                    aged=aged,
                    measured=self.belief,
                    emptied=self.touched_by(step.acts),
                    changed=changed,
                )
            )

    def touched_by(self, acts: Sequence[AtFryer]) -> Mask:
        """Return which baths (F,) hold other oil after these acts."""
        vessels = [entry for entry in acts if not isinstance(entry, SensoryNote)]
        keys = {entry.into if isinstance(entry, Move) else entry.fryer for entry in vessels}
        return np.array([key in keys for key in self.baths.fryer_index])

    def work_of(self, worked: Owed) -> Work:
        """Return the work of one step from shares of services."""
        shares: dict[int, tuple[Work, list[float]]] = {}
        for fryer, owed in worked.items():
            for work, share in owed:
                _, row = shares.setdefault(id(work), (work, [0.0] * len(self.baths.mass_kg)))
                row[self.baths.fryer_index[fryer]] += share
        if len(shares) == 1 and all(share == 1 for _, row in shares.values() for share in row):
            return next(iter(shares.values()))[0]
        return combine([(work, np.array([row])) for work, row in shares.values()])

    def measure(self, measured: dict[str, Reading | LabResult]) -> Mask:
        """Learn from the readings and laboratory results of one step; return unlogged changes (F,)."""
        shape = self.belief.oil.shape
        value, var, meters = np.full(shape, np.nan), np.ones(shape), np.zeros(shape, np.intp)
        result, u_pct = np.full(shape, np.nan), np.ones(shape)
        for fryer, entry in measured.items():
            i = self.baths.fryer_index[fryer]
            if isinstance(entry, Reading):
                meters[0, i] = meter = self.baths.meter_index(entry.meter)
                value[0, i], var[0, i] = entry.tpc_pct, self.reading_var(entry, meter)
            else:
                result[0, i], u_pct[0, i] = entry.tpc_pct, laboratory_u_pct(entry)
                self.fills[fryer] = replace(self.fills[fryer], laboratory=entry)
        changed = np.zeros(shape[1], bool)
        if not np.isnan(value).all():
            read = read_by(self.belief, value, var, meters)
            self.belief, heard = hear(self.belief, read, lot_sd=self.lot_sd)
            self.note_readings(measured, heard)
            changed = heard.changed[0]
        if not np.isnan(result).all():
            self.belief = hear_laboratory(self.belief, result, u_pct)
        return changed

    def reading_var(self, reading: Reading, meter: int) -> float:
        """Return the variance of a reading; how a further meter takes each oil is not learnt."""
        own = reading_var(reading, self.baths.meters[meter])
        oils = bool(meter) and len(self.baths.oil_index) > 1
        return own + oils * coefficients()["oil_offset"].sd ** 2

    def note_readings(self, measured: dict[str, Reading | LabResult], heard: Heard) -> None:
        """Write the readings into their fills; an unlogged change begins a new fill."""
        for fryer, entry in measured.items():
            if isinstance(entry, Reading):
                i = self.baths.fryer_index[fryer]
                changed = bool(heard.changed[0, i])
                taken = Taken(
                    reading=entry,
                    sound_share=float(heard.sound[0, i]),
                    surprise_pct=float(heard.surprise[0, i]),
                    fresh=bool(heard.fresh[0, i]),
                    changed=changed,
                )
                fill = self.fills[fryer]
                if changed:  # lately: at the latest before the reading that was doubted
                    fill = Fill(filled_at=fill.readings[-1].reading.at)
                self.fills[fryer] = fill.with_reading(taken)

    def note_act(self, entry: AtFryer) -> None:
        """Write an act on a vessel, or a sensory note, into the fills it concerns."""
        fryer = entry.fryer
        if isinstance(entry, SensoryNote):
            self.fills[fryer] = self.fills[fryer].with_senses(entry)
        elif isinstance(entry, Change):
            self.fills[fryer] = Fill(filled_at=entry.at)
        elif isinstance(entry, Store):
            self.stored_fills[fryer] = self.fills[fryer]
            self.fills[fryer] = Fill(empty=True)
        elif isinstance(entry, Return) and fryer in self.stored_fills:
            self.fills[fryer] = self.stored_fills.pop(fryer)
        elif isinstance(entry, Move):
            self.note_move(entry)

    def note_move(self, move: Move) -> None:
        """Write a move into both fills.

        A fill that takes over a bath brings its readings along, one that makes up most of it no
        more than its age; spoiled oil stays spoiled. Without an amount all that fits is moved,
        and the smaller bath leaves something behind in the larger one.
        """
        moved, into = self.fills[move.fryer], self.fills[move.into]
        from_kg, into_kg = (
            self.baths.mass_kg[self.baths.fryer_index[key]] for key in (move.fryer, move.into)
        )
        if into.empty or move.mass_kg is None:
            into = moved
        elif move.mass_kg > into_kg / 2:
            into = Fill(filled_at=moved.filled_at)
        if moved.spoiled and moved.senses is not None:
            into = into.with_senses(moved.senses)
        self.fills[move.into] = into
        if move.mass_kg is None and from_kg <= into_kg:
            self.fills[move.fryer] = Fill(empty=True)

    def settled(self) -> Belief:
        """Return the belief once the work still owed is done."""
        return age(self.belief, self.work_of(self.carried)) if self.carried else self.belief


def copied(running: dict[str, list[Running]]) -> dict[str, list[Running]]:
    """Return services in progress that can go on without changing the ones given."""
    return {fryer: [replace(one) for one in ones] for fryer, ones in running.items()}
