"""Letting a rule run practice kitchens: what it did, and what was true meanwhile."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from kettlewell.core.ageing.power_law import advance_power_law
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.practice.instruments import Instruments, Tools
from kettlewell.practice.kitchens import LIMIT_PCT, MOST_AGAIN, Practice


@dataclass(frozen=True, slots=True, kw_only=True)
class Logged:
    """What the log holds of one service, all (K, F): nan is not written down.

    ``load`` relative to the usual, oil topped up as a share of the bath: ``top_up`` while frying, ``before``
    it and ``after`` it (None: never so).
    """

    load: Array
    top_up: Array
    before: Array | None = None
    after: Array | None = None


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

    True TPC before and after each service, readings (nan where none) and how often it was read
    again, hot hours and the part of them past the limit, and which baths were changed before or after it.
    """

    tpc_before_pct: Array
    tpc_after_pct: Array
    reading_pct: Array
    again: Index
    hot_h: Array
    past_h: Array
    changed: Mask


def fry(practice: Practice, t: int, tpc_pct: Array) -> Array:
    """Return the true TPC after service ``t`` begun with ``tpc_pct``."""
    hours = practice.hot_h[t] * (0.55 + 0.45 * practice.load[t] ** practice.load_power) + practice.heat_up_h
    return advance_power_law(
        tpc_pct,
        practice.rate_pct_per_h * practice.wobble[t],
        fresh_tpc_pct=practice.fresh_pct[t],
        hot_h=hours,
        turnover=practice.draw * practice.load[t],
        curvature=np.log2(practice.power),
    )


def run(practice: Practice, rule: Rule) -> Course:
    """Return the course of all kitchens under ``rule``, every bath filled fresh at first."""
    shape = practice.load.shape
    course = Course(
        tpc_before_pct=np.empty(shape),
        tpc_after_pct=np.empty(shape),
        reading_pct=np.empty(shape),
        again=np.zeros(shape, np.intp),
        hot_h=np.broadcast_to(practice.hot_h, shape),
        past_h=np.empty(shape),
        changed=np.empty(shape, bool),
    )
    tpc, owed = np.broadcast_to(practice.fresh_pct[0], shape[1:]), np.zeros(shape[1:])
    instruments = Instruments(practice=practice)
    for t in range(practice.services):
        rule.tend(t, instruments)
        course.reading_pct[t] = reading = instruments.read(t, tpc, rule.wants_reading(t))
        rule.read(t, reading, 0)
        for again in range(MOST_AGAIN):
            if not (wanted := rule.wants_again(t)).any():
                break
            rule.read(t, instruments.read(t, tpc, wanted, again=again + 1), again + 1)
            course.again[t] += wanted
        early = rule.before(t, reading)
        rule.note_sample(t, instruments.send(t, tpc, rule.wants_sample(t)))
        course.tpc_before_pct[t] = tpc = np.where(early, practice.fresh_pct[t], tpc)
        course.tpc_after_pct[t] = after = fry(practice, t, tpc)
        course.past_h[t] = practice.hot_h[t] * past(tpc, after)
        owed = np.where(early, 0.0, owed) + practice.draw * practice.load[t]
        logged, owed = write_down(practice, t, owed)
        late = rule.after(t, logged)
        course.changed[t] = early | late
        tpc, owed = np.where(late, practice.fresh_pct[t], after), np.where(late, 0.0, owed)
    return course


def write_down(practice: Practice, t: int, owed: Array) -> tuple[Logged, Array]:
    """Return what the cooks write down after a service, and the oil still missing from the bath."""
    topped = ~practice.top_up_skipped[t]
    load = np.where(practice.load_forgotten[t], np.nan, practice.load[t] * practice.load_noise[t])
    known = topped & ~practice.top_up_forgotten[t]
    top_up = np.where(known, owed * practice.top_up_noise[t], np.nan)
    return Logged(load=load, top_up=top_up), np.where(topped, 0.0, owed)


def past(before_pct: Array, after_pct: Array) -> Array:
    """Return the share of a service spent past the limit, taking it as straight."""
    rise = np.where(np.abs(after_pct - before_pct) < 1e-9, 1e-9, after_pct - before_pct)
    share = np.where(rise > 0, (after_pct - LIMIT_PCT) / rise, (before_pct - LIMIT_PCT) / -rise)
    return np.clip(share, 0.0, 1.0)
