"""Services of the book turned into work done by each bath."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np

from kettlewell.book import Load, OfService, TopUp
from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.ageing.rates import working_hours
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.baths import Baths, heat_of
from kettlewell.core.belief.filter import OF_WORK, Work
from kettlewell.core.belief.loads import (
    AFTER_FRYING,
    BEFORE_FRYING,
    BEFORE_NEXT,
    MOMENTS,
    WHILE_FRYING,
    LoadEstimate,
    Pattern,
    ServiceRecord,
    expect,
    infer,
    mixed,
)
from kettlewell.core.belief.week import Slot

StoodCold = Callable[[Slot], frozenset[str]]


@dataclass(frozen=True, slots=True)
class Noted:
    """What the book says of one service, by the index of the bath; what is not there is unknown.

    Food weighed by its wear, oil it takes up, oil added at each of the ``MOMENTS`` (nan: to the mark), hot
    hours, and the same weighed by how fast oil ages at their temperature with food (``aged_h``) and without
    (``idle_h``).
    """

    wear_kg: dict[int, float] = field(default_factory=dict)
    uptake_kg: dict[int, float] = field(default_factory=dict)
    poured_kg: dict[int, list[float]] = field(default_factory=dict)
    hot_h: dict[int, float] = field(default_factory=dict)
    aged_h: dict[int, float] = field(default_factory=dict)
    idle_h: dict[int, float] = field(default_factory=dict)


def noted(
    baths: Baths,
    slot: Slot,
    entries: Sequence[OfService],
    *,
    stood_cold: StoodCold,
    poured_to: datetime | None = None,
) -> Noted:
    """Return what ``entries`` say of a service; fryers that ``stood_cold`` were out of order or closed.

    A bath that is not planned to work in it did so if a load was written down for it. Of oil added up to
    ``poured_to`` nothing is left to add.
    """
    note = Noted()
    for entry in entries:
        i = baths.fryer_index(entry.fryer)
        if isinstance(entry, Load):
            wear, uptake = baths.foods[entry.product]
            mass_kg = math.nan if entry.mass_kg is None else entry.mass_kg
            add(note.wear_kg, i, mass_kg * wear)
            add(note.uptake_kg, i, mass_kg * uptake)
        elif isinstance(entry, TopUp):
            poured_kg = note.poured_kg.setdefault(i, [0.0] * len(MOMENTS))
            if poured_to is None or entry.at > poured_to:
                poured_kg[moment_of(slot, entry.at, baths.known)] += (
                    math.nan if entry.mass_kg is None else entry.mass_kg
                )
        else:
            heat, standby = float(baths.heat[0, i]), float(baths.standby[0, i])
            if entry.oil_temp_c is not None:
                heat, standby = float(heat_of(entry.oil_temp_c, baths.known)), 1.0
            add(note.hot_h, i, entry.hot_h)
            add(note.aged_h, i, entry.hot_h * heat)
            add(note.idle_h, i, entry.hot_h * heat * standby)
    hours, cold = slot.hours, stood_cold(slot)
    for i, fryer in enumerate(baths.fryers):
        if fryer in cold:
            note.hot_h[i] = 0.0
        elif i not in note.hot_h:
            note.hot_h[i] = hours if fryer in slot.fryers or i in note.wear_kg else 0.0
    return note


def runs(slot: Slot, at: datetime) -> bool:
    """Return whether a service runs at a time."""
    return slot.begins <= at <= (slot.cut or slot.ends)


def moment_of(slot: Slot, at: datetime, known: Coefficients) -> int:
    """Return when oil was poured at a time: before a service, while it ran, after it, or before the next."""
    if at < slot.begins:
        return BEFORE_FRYING
    if runs(slot, at):
        return WHILE_FRYING
    ends = slot.cut or slot.ends
    return AFTER_FRYING if at <= ends + timedelta(hours=known.soon_after_h.value) else BEFORE_NEXT


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

    Their slots ``of_week`` (T,), the ``record`` of them, hot hours, the hours that a usual load
    counts as, ageing relative to 175 °C, and that without food relative to it (T, K, F).
    """

    of_week: Index
    load_h: Array
    record: ServiceRecord
    hot_h: Array
    heat: Array
    standby: Array


def services_of(baths: Baths, slots: Sequence[Slot], notes: Sequence[Noted]) -> Services:
    """Return T services of one kitchen with what was noted of each."""
    hot_h, aged_h, idle_h = (
        table([getattr(note, name) for note in notes], baths) for name in ("hot_h", "aged_h", "idle_h")
    )
    told = (hot_h > 0) & ~np.isnan(aged_h)
    load = likely(table([note.wear_kg for note in notes], baths) / baths.usual_wear_kg, baths)
    hours = np.array([slot.hours for slot in slots])[:, None, None]
    return Services(
        of_week=np.array([slot.of_week for slot in slots], dtype=np.intp),
        load_h=load_hours(load, hours, baths),
        record=ServiceRecord(
            load=load,
            taken=likely(table([note.uptake_kg for note in notes], baths) / baths.usual_uptake_kg, baths),
            worked=hot_h > 0,
            lasted=np.where(hot_h > 0, hot_h / hours, 1.0),
            topped=topped_in(notes, baths),
            poured=poured_in(notes, baths),
        ),
        hot_h=hot_h,
        heat=np.where(told, aged_h / np.where(told, hot_h, 1.0), baths.heat),
        standby=np.where(told, idle_h / np.where(told, aged_h, 1.0), baths.standby),
    )


def load_hours(load: Array, hours: Array, baths: Baths) -> Array:
    """Return the hours (T, K, F) that a usual ``load`` counts as in services of ``hours`` (T, 1, 1).

    What was written down wears alike in a long service and a short one; what was not goes with the time.
    """
    return np.where(np.isnan(load), hours, baths.usual_h)


def topped_in(notes: Sequence[Noted], baths: Baths) -> Mask:
    """Return which baths (T, 1, F) were topped up in T services."""
    topped = np.zeros((len(notes), 1, len(baths.fryers)), bool)
    for t, note in enumerate(notes):
        topped[t, 0, list(note.poured_kg)] = True
    return topped


def poured_in(notes: Sequence[Noted], baths: Baths) -> Array:
    """Return by what share of the bath (T, 1, F, 4) it was topped up at each moment of T services."""
    poured_kg = np.zeros((len(notes), 1, len(baths.fryers), len(MOMENTS)))
    for t, note in enumerate(notes):
        for i, at_moments_kg in note.poured_kg.items():
            poured_kg[t, 0, i] = at_moments_kg
    return np.asarray(poured_kg / baths.mass_kg[..., None])


def likely(relative: Array, baths: Baths) -> Array:
    """Return loads relative to the usual, unknown where one is so large that it is a slip of the pen."""
    return np.where(relative > baths.known.largest_load.value, np.nan, relative)


def infer_work(pattern: Pattern, services: Services) -> tuple[Pattern, Work]:
    """Return the pattern after T past services, and the work (T, K, F) each bath did in them."""
    pattern, estimate = infer(pattern, services.of_week, services.record)
    return pattern, work_of(pattern, estimate, services)


def expect_work(pattern: Pattern, services: Services) -> Work:
    """Return the work (T, K, F) expected of T coming services, as planned or as usual."""
    usual = work_of(pattern, expect(pattern, services.of_week, services.record.lasted), services)
    planned = ~np.isnan(services.record.load) | services.record.topped
    if not planned.any():
        return usual
    _, work = infer_work(pattern, services)
    return Work(
        **{name: np.where(planned, getattr(work, name), getattr(usual, name)) for name in OF_WORK},
    )


def work_of(pattern: Pattern, estimate: LoadEstimate, services: Services) -> Work:
    """Return the work (T, K, F) of T services; a bath that stood cold did none, but oil may thin it."""
    known, record = pattern.known, services.record
    hours = working_hours(
        services.hot_h,
        estimate.relative,
        usual_hot_h=services.load_h,
        load_share=known.load_share.value,
        heat_up_h=known.heat_up_h.value,
        standby=services.standby,
    )
    hot = services.hot_h > 0
    heat = services.heat * hot
    thinned = mixed(np.nan_to_num(record.poured)) * record.topped[..., None]
    poured = np.where(hot[..., None], estimate.poured, thinned)
    return Work(
        hours=heat * hours,
        before=poured[..., BEFORE_FRYING],
        turnover=poured[..., WHILE_FRYING],
        after=poured[..., AFTER_FRYING] + poured[..., BEFORE_NEXT],
        hours_sd=heat * (known.load_share.value * services.load_h) * estimate.relative_sd,
        turnover_sd=hot * estimate.turnover_sd,
        pour_sd=hot * estimate.pour_sd,
    )
