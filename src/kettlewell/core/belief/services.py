"""Services of the book turned into work done by each bath."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from kettlewell.book import HotHours, Load, OfService, TopUp
from kettlewell.core.ageing.rates import working_hours
from kettlewell.core.arrays import Array, Index
from kettlewell.core.belief.baths import Baths, heat_of
from kettlewell.core.belief.filter import Work
from kettlewell.core.belief.loads import LoadEstimate, Pattern, ServiceRecord, expect, infer
from kettlewell.core.belief.week import Slot

StoodCold = Callable[[Slot], frozenset[str]]


@dataclass(frozen=True, slots=True)
class Noted:
    """What the book says of one service, by the index of the bath; what is not there is unknown.

    Food weighed by its wear, oil it takes up, oil added, hot hours, oil temperature.
    """

    wear_kg: dict[int, float] = field(default_factory=dict)
    uptake_kg: dict[int, float] = field(default_factory=dict)
    top_up_kg: dict[int, float] = field(default_factory=dict)
    hot_h: dict[int, float] = field(default_factory=dict)
    oil_temp_c: dict[int, float] = field(default_factory=dict)


def noted(baths: Baths, slot: Slot, entries: Sequence[OfService], *, stood_cold: StoodCold) -> Noted:
    """Return what ``entries`` say of a service; fryers that ``stood_cold`` were out of order or closed.

    A bath that is not planned to work in it did so if a load was written down for it.
    """
    note = Noted()
    for entry in entries:
        i = baths.fryer_index(entry.fryer)
        if isinstance(entry, Load):
            wear, uptake = baths.foods[entry.product]
            mass_kg = math.nan if entry.mass_kg is None else entry.mass_kg
            add(note.wear_kg, i, mass_kg * wear)
            add(note.uptake_kg, i, mass_kg * uptake)
        elif isinstance(entry, TopUp) and entry.mass_kg is not None:
            add(note.top_up_kg, i, entry.mass_kg)
        elif isinstance(entry, HotHours):
            add(note.hot_h, i, entry.hot_h)
            if entry.oil_temp_c is not None:
                note.oil_temp_c[i] = entry.oil_temp_c
    hours, cold = slot.hours, stood_cold(slot)
    for i, fryer in enumerate(baths.fryers):
        if fryer in cold:
            note.hot_h[i] = 0.0
        elif i not in note.hot_h:
            note.hot_h[i] = hours if fryer in slot.fryers or i in note.wear_kg else 0.0
    return note


def add(sums: dict[int, float], i: int, amount: float) -> None:
    """Add to the sum of bath ``i``; an unknown amount (nan) makes the sum unknown."""
    sums[i] = sums.get(i, 0.0) + amount


def table(notes: Sequence[dict[int, float]], baths: Baths) -> Array:
    """Return what was noted of T services as an array (T, 1, F), nan where nothing was."""
    rows = np.full((len(notes), 1, len(baths.fryers)), np.nan)
    for t, note in enumerate(notes):
        for i, value in note.items():
            rows[t, 0, i] = value
    return rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Services:
    """T services as arrays.

    Their slots ``of_week`` (T,), how many ``hours`` long they are (T, 1, 1), the ``record`` of
    them, hot hours and ageing relative to 175 °C (T, K, F).
    """

    of_week: Index
    hours: Array
    record: ServiceRecord
    hot_h: Array
    heat: Array


def services_of(baths: Baths, slots: Sequence[Slot], notes: Sequence[Noted]) -> Services:
    """Return T services of one kitchen with what was noted of each."""
    hot_h = table([note.hot_h for note in notes], baths)
    temps_c = table([note.oil_temp_c for note in notes], baths)
    return Services(
        of_week=np.array([slot.of_week for slot in slots], dtype=np.intp),
        hours=np.array([slot.hours for slot in slots])[:, None, None],
        record=ServiceRecord(
            load=likely(table([note.wear_kg for note in notes], baths) / baths.usual_wear_kg, baths),
            taken=likely(table([note.uptake_kg for note in notes], baths) / baths.usual_uptake_kg, baths),
            top_up=table([note.top_up_kg for note in notes], baths) / baths.mass_kg,
            worked=hot_h > 0,
        ),
        hot_h=hot_h,
        heat=np.where(np.isnan(temps_c), baths.heat, heat_of(temps_c, baths.known)),
    )


def likely(relative: Array, baths: Baths) -> Array:
    """Return loads relative to the usual, unknown where one is so large that it is a slip of the pen."""
    return np.where(relative > baths.known.largest_load.value, np.nan, relative)


def infer_work(pattern: Pattern, services: Services) -> tuple[Pattern, Work]:
    """Return the pattern after T past services, and the work (T, K, F) each bath did in them."""
    pattern, estimate = infer(pattern, services.of_week, services.record)
    return pattern, work_of(pattern, estimate, services)


def expect_work(pattern: Pattern, services: Services) -> Work:
    """Return the work (T, K, F) expected of T coming services, as planned or as usual."""
    usual = work_of(pattern, expect(pattern, services.of_week), services)
    planned = ~np.isnan(services.record.load) | ~np.isnan(services.record.top_up)
    if not planned.any():
        return usual
    _, work = infer_work(pattern, services)
    return Work(
        hours=np.where(planned, work.hours, usual.hours),
        turnover=np.where(planned, work.turnover, usual.turnover),
        hours_sd=np.where(planned, work.hours_sd, usual.hours_sd),
        turnover_sd=np.where(planned, work.turnover_sd, usual.turnover_sd),
    )


def work_of(pattern: Pattern, estimate: LoadEstimate, services: Services) -> Work:
    """Return the work (T, K, F) of T services; a bath that stood cold did none."""
    share, heat_up_h = pattern.known.load_share.value, pattern.known.heat_up_h.value
    hours = working_hours(
        services.hot_h, estimate.relative, usual_hot_h=services.hours, load_share=share, heat_up_h=heat_up_h
    )
    hot = services.hot_h > 0
    heat = services.heat * hot
    return Work(
        hours=heat * hours,
        turnover=hot * estimate.turnover,
        hours_sd=heat * (share * services.hours) * estimate.relative_sd,
        turnover_sd=hot * estimate.turnover_sd,
    )
