"""Letting a rule run practice kitchens: what it did, and what was true meanwhile."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.practice.bath import Bath, Served, chosen, filled, serve
from kettlewell.practice.instruments import Instruments, Tools
from kettlewell.practice.kitchens import MOST_AGAIN, Practice


@dataclass(frozen=True, slots=True, kw_only=True)
class Logged:
    """What the log holds of one service, all (K, F): nan is not written down.

    ``load`` relative to the usual, oil topped up as a share of the bath: ``top_up`` while frying, ``before``
    it and ``after`` it. ``closed`` says that it is written down that there was no service.
    """

    load: Array
    top_up: Array
    before: Array
    after: Array
    closed: Mask

    @classmethod
    def nothing(cls, shape: tuple[int, int]) -> "Logged":
        """Return a log of a service in which nothing was written down."""
        unknown = np.full(shape, np.nan)
        return cls(load=unknown, top_up=unknown, before=unknown, after=unknown, closed=np.zeros(shape, bool))


class Rule(Protocol):
    """A rule that runs a kitchen from its log. ``t`` counts services from 0."""

    def tend(self, t: int, tools: Tools, /) -> None:
        """Check the meters and take in what the laboratory found, before service ``t`` is begun."""

    def wants_reading(self, t: int, /) -> Mask:
        """Return which baths (K, F) to read before service ``t``."""

    def read(self, t: int, reading_pct: Array, again: int, /) -> None:
        """Take in what was read (K, F) before service ``t``, nan where nothing, or read ``again``."""

    def wants_again(self, t: int, /) -> Mask:
        """Return which baths to read again at once."""

    def before(self, t: int, reading_pct: Array, /) -> Mask:
        """Return which baths to change before service ``t``; nan where no first reading was taken."""

    def wants_sample(self, t: int, /) -> Mask:
        """Return which baths to take a sample of before any is changed, one of a kitchen at most."""

    def note_sample(self, t: int, shown_pct: Array, /) -> None:
        """Take in what the meter shows of the samples (K,) before service ``t``; nan where none."""

    def after(self, t: int, logged: Logged, /) -> Mask:
        """Return which baths to change after service ``t``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """What happened, all (T, K, F), service by service.

    The baths before each service as ``Bath`` has them, the highest TPC in it and that after it,
    readings (nan where none) and how often it was read again, hot hours and the part of them past the
    limit, and which baths were changed before or after it.
    """

    tpc_before_pct: Array
    level_before: Array
    fresh_before_pct: Array
    highest_pct: Array
    tpc_after_pct: Array
    reading_pct: Array
    again: Index
    hot_h: Array
    past_h: Array
    changed: Mask

    def before(self, t: int) -> Bath:
        """Return the baths before service ``t``."""
        return Bath(
            tpc_pct=self.tpc_before_pct[t], fresh_pct=self.fresh_before_pct[t], level=self.level_before[t]
        )


def run(practice: Practice, rule: Rule) -> Course:
    """Return the course of all kitchens under ``rule``, every bath filled fresh at first."""
    shape = practice.load.shape
    course = Course(
        tpc_before_pct=np.empty(shape),
        level_before=np.empty(shape),
        fresh_before_pct=np.empty(shape),
        highest_pct=np.empty(shape),
        tpc_after_pct=np.empty(shape),
        reading_pct=np.empty(shape),
        again=np.zeros(shape, np.intp),
        hot_h=np.broadcast_to(practice.hot_h, shape),
        past_h=np.empty(shape),
        changed=np.empty(shape, bool),
    )
    bath, owed = filled(practice, 0), np.zeros(shape[1:])
    instruments = Instruments(practice=practice)
    for t in range(practice.services):
        rule.tend(t, instruments)
        course.reading_pct[t] = reading = instruments.read(t, bath.tpc_pct, rule.wants_reading(t))
        rule.read(t, reading, 0)
        for again in range(MOST_AGAIN):
            if not (wanted := rule.wants_again(t)).any():
                break
            rule.read(t, instruments.read(t, bath.tpc_pct, wanted, again=again + 1), again + 1)
            course.again[t] += wanted
        early = rule.before(t, reading)
        rule.note_sample(t, instruments.send(t, bath.tpc_pct, rule.wants_sample(t)))
        bath = chosen(early, filled(practice, t), bath)
        course.tpc_before_pct[t], course.level_before[t] = bath.tpc_pct, bath.level
        course.fresh_before_pct[t] = bath.fresh_pct
        served = serve(practice, t, bath)
        course.highest_pct[t], course.tpc_after_pct[t] = served.highest_pct, served.bath.tpc_pct
        course.past_h[t] = served.past_h
        logged, owed = write_down(practice, t, served, np.where(early, 0.0, owed))
        late = rule.after(t, logged)
        course.changed[t] = early | late
        instruments.note_changes(course.changed[t])
        bath, owed = chosen(late, filled(practice, t), served.bath), np.where(late, 0.0, owed)
    return course


def write_down(practice: Practice, t: int, served: Served, owed: Array) -> tuple[Logged, Array]:
    """Return what the cooks write down after a service, and the oil poured that they still owe the log.

    Where oil trickles in they write it down for several services at once.
    """
    load = np.where(practice.load_forgotten[t], np.nan, practice.load[t] * practice.load_noise[t])
    poured = owed + served.poured
    writes = (~practice.top_up_skipped[t] if practice.trickles else poured > 0) & ~practice.closed[t]
    known = writes & ~practice.top_up_forgotten[t]
    written, at = poured * practice.top_up_noise[t], np.where(practice.noted_late, 1.0, served.poured_at)
    logged = Logged(
        load=load,
        top_up=np.where(known & (at > 0) & (at < 1), written, np.nan),
        before=np.where(known & (at == 0), written, np.nan),
        after=np.where(known & (at == 1), written, np.nan),
        closed=np.broadcast_to(practice.closed[t] & practice.closing_written, load.shape),
    )
    return logged, np.where(writes, 0.0, poured)
