"""One service of the book turned into work done by each bath."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from kettlewell.core.ageing.coefficients import coefficients
from kettlewell.core.ageing.rates import working_hours
from kettlewell.core.arrays import Array
from kettlewell.core.belief.baths import Baths, heat_of
from kettlewell.core.belief.filter import Work
from kettlewell.core.belief.loads import Fried, Pattern, expect, infer
from kettlewell.core.belief.week import Slot
from kettlewell.core.book import Entry, HotHours, Load, TopUp


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """What the book says of one service, each (1, F), nan where it says nothing.

    ``load`` and ``taken`` are relative to the usual service, ``top_up`` is a share of
    the bath, ``hot_h`` hours, ``heat`` ageing relative to 175 °C.
    """

    load: Array
    taken: Array
    top_up: Array
    hot_h: Array
    heat: Array


def noted(baths: Baths, slot: Slot, entries: Sequence[Entry], *, out: Collection[str]) -> Noted:
    """Return what ``entries`` say of a service; baths ``out`` of order stood cold."""
    wear_kg, uptake_kg, top_up_kg, hot_h = (dict[int, float]() for _ in range(4))
    heat = baths.heat
    for entry in entries:
        i = baths.fryer_index[entry.fryer]
        if isinstance(entry, Load):
            wear, uptake = baths.foods[entry.product]
            mass_kg = math.nan if entry.mass_kg is None else entry.mass_kg
            add(wear_kg, i, mass_kg * wear)
            add(uptake_kg, i, mass_kg * uptake)
        elif isinstance(entry, TopUp) and entry.mass_kg is not None:
            add(top_up_kg, i, entry.mass_kg)
        elif isinstance(entry, HotHours):
            add(hot_h, i, entry.hot_h)
            if entry.oil_temp_c is not None:
                heat = heat.copy()
                heat[i] = heat_of(entry.oil_temp_c)
    for key, i in baths.fryer_index.items():
        if key in out:
            hot_h[i] = 0.0
        else:
            hot_h.setdefault(i, slot.hours if key in slot.fryers else 0.0)
    return Noted(
        load=row(baths, wear_kg) / baths.usual_wear_kg,
        taken=row(baths, uptake_kg) / baths.usual_uptake_kg,
        top_up=row(baths, top_up_kg) / baths.mass_kg,
        hot_h=row(baths, hot_h),
        heat=heat[None],
    )


def add(sums: dict[int, float], i: int, amount: float) -> None:
    """Add to the sum of bath ``i``; an unknown amount (nan) makes the sum unknown."""
    sums[i] = sums.get(i, 0.0) + amount


def row(baths: Baths, sums: dict[int, float]) -> Array:
    """Return sums as an array (1, F), nan where nothing was noted."""
    return np.array([[sums.get(i, math.nan) for i in range(len(baths.mass_kg))]])


def serve(pattern: Pattern, slot: Slot, note: Noted) -> tuple[Pattern, Work]:
    """Return the pattern after a past service, and the work each bath did."""
    worked = note.hot_h > 0
    pattern, fried = infer(
        pattern, slot.of_week, note.load, top_up=note.top_up, worked=worked, taken=note.taken
    )
    return pattern, work_of(fried, slot, note)


def foresee(pattern: Pattern, slot: Slot, note: Noted) -> Work:
    """Return the work that each bath is expected to do in a coming service, as planned or as usual."""
    usual = work_of(expect(pattern, slot.of_week), slot, note)
    planned = ~np.isnan(note.load) | ~np.isnan(note.top_up)
    if not planned.any():
        return usual
    _, work = serve(pattern, slot, note)
    return Work(
        hours=np.where(planned, work.hours, usual.hours),
        turnover=np.where(planned, work.turnover, usual.turnover),
        hours_sd=np.where(planned, work.hours_sd, usual.hours_sd),
        turnover_sd=np.where(planned, work.turnover_sd, usual.turnover_sd),
    )


def work_of(fried: Fried, slot: Slot, note: Noted) -> Work:
    """Return a service's work; a bath that stood cold did none."""
    share, heat_up = coefficients()["load_share"].value, coefficients()["heat_up_h"].value
    hours = working_hours(
        note.hot_h, fried.relative, usual_hot_h=slot.hours, load_share=share, heat_up_h=heat_up
    )
    hot = note.hot_h > 0
    heat = note.heat * hot
    return Work(
        hours=heat * hours,
        turnover=hot * fried.turnover,
        hours_sd=heat * (share * slot.hours) * fried.relative_sd,
        turnover_sd=hot * fried.turnover_sd,
    )


def combine(shares: Sequence[tuple[Work, Array]]) -> Work:
    """Return the work of several shares (1, F) of services together."""
    total, *rest = [part_of(work, share) for work, share in shares]
    for part in rest:
        total = Work(
            hours=total.hours + part.hours,
            turnover=total.turnover + part.turnover,
            hours_sd=np.hypot(total.hours_sd, part.hours_sd),
            turnover_sd=np.hypot(total.turnover_sd, part.turnover_sd),
        )
    return total


def part_of(work: Work, share: Array) -> Work:
    """Return a share (1, F) of a service's work."""
    return Work(
        hours=work.hours * share,
        turnover=work.turnover * share,
        hours_sd=work.hours_sd * share,
        turnover_sd=work.turnover_sd * share,
    )
