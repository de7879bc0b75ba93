"""Practice kitchens as the program knows them: their settings, their baths, and their log as entries."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from typing import Any

import numpy as np

from kettlewell.book import (
    Change,
    Entry,
    FoodKind,
    Force,
    Fryer,
    Judges,
    Kitchen,
    Limit,
    Load,
    Meter,
    MeterCheck,
    Oil,
    OilKind,
    Product,
    Reading,
    ReferenceLot,
    Service,
    TopUp,
)
from kettlewell.core.ageing.coefficients import PACKAGED, Coefficients
from kettlewell.core.arrays import Array, Mask
from kettlewell.core.belief.baths import Baths, baths_of
from kettlewell.practice.findings import READINGS
from kettlewell.practice.kitchens import LIMIT_PCT, SERVICES_PER_DAY, Practice

FIRST = datetime(2026, 1, 5, tzinfo=UTC)  # a Monday
FILLED = timedelta(hours=8)
SERVICES = (
    Service(name="Lunch", weekdays=tuple(range(7)), begins=time(11, 30), ends=time(13, 15)),
    Service(name="Dinner", weekdays=tuple(range(7)), begins=time(17, 30), ends=time(19, 45)),
)
LIMIT = Limit(
    jurisdiction="house",
    judges=Judges.OIL,
    quantity="total polar compounds",
    unfit_when=">",
    value=LIMIT_PCT,
    unit="% m/m",
    force=Force.HOUSE,
)
FRIES = Product(key="fries", name="Fries", kind=FoodKind.FROZEN_FRIES)
UPTAKE = PACKAGED.foods[FoodKind.FROZEN_FRIES].uptake_kg_per_kg
READ_AT_C = 150.0
REFERENCE_PCT = 10.0
# when things happen, from the beginning of a service or from its end
CHECKED, ADJUSTED, READ, READ_AGAIN, CHANGED = (timedelta(minutes=-m) for m in (60, 55, 30, 5, 2))
NOTED, CHANGED_LATE = timedelta(minutes=10), timedelta(minutes=20)
BETWEEN_READINGS = timedelta(minutes=5)
ALIKE = (
    *("rate_factor", "rate_factor_rel_sd", "fresh_pct", "fresh_sd_pct", "lot_sd_pct", "offset_sd_pct"),
    *("oil", "load_stated", "usual_h", "heat", "wear"),
)


def begins(t: int) -> datetime:
    """Return when service ``t`` begins."""
    day, of_day = divmod(t, SERVICES_PER_DAY)
    at = SERVICES[of_day].begins
    return FIRST + timedelta(days=day, hours=at.hour, minutes=at.minute)


def ends(t: int) -> datetime:
    """Return when service ``t`` ends."""
    day, of_day = divmod(t, SERVICES_PER_DAY)
    at = SERVICES[of_day].ends
    return FIRST + timedelta(days=day, hours=at.hour, minutes=at.minute)


def read_at(t: int, again: int = 0) -> datetime:
    """Return when the baths are read before service ``t``, or read ``again``."""
    return begins(t) + READ + again * BETWEEN_READINGS


def kitchen_of(practice: Practice, k: int, *, checked: bool = False, risk: float = 0.05) -> Kitchen:
    """Return the settings of one practice kitchen."""
    usual_kg = practice.draw_assumed[k] * practice.mass_kg[k] / UPTAKE
    return Kitchen(
        name=f"Practice {k}",
        fryers=tuple(
            Fryer(
                key=f"F{i}",
                name=f"Fryer {i}",
                oil=f"oil {practice.oil[i]}",
                oil_mass_kg=float(practice.mass_kg[k, i]),
                fries=("fries",),
                usual_load_kg=float(usual_kg[i]),
            )
            for i in range(len(practice.oil))
        ),
        oils=tuple(
            Oil(key=f"oil {n}", name=f"Oil {n}", kind=OilKind.RAPESEED)
            for n in range(int(practice.oil.max()) + 1)
        ),
        products=(FRIES,),
        meters=(Meter(key="hand", name="Hand meter", resolution_pct=practice.resolution_pct),),
        reference_lots=lots(practice, k) if checked else (),
        services=SERVICES,
        limits=(LIMIT,),
        risk=risk,
    )


def lots(practice: Practice, k: int) -> tuple[ReferenceLot, ...]:
    """Return the bottles of reference oil of one kitchen."""
    found = practice.findings
    return tuple(
        ReferenceLot(
            key=f"lot {n}", name=f"Lot {n}", tpc_pct=REFERENCE_PCT, expanded_u_pct=2 * found.reference_u_pct
        )
        for n in range(int(found.lot[:, k].max()) + 1)
    )


def baths_in(practice: Practice, known: Coefficients, *, checked: bool) -> Baths:
    """Return the baths of all practice kitchens: those of the first, but for what differs."""
    first = baths_of(kitchen_of(practice, 0, checked=checked), known)
    kitchens, usual_kg = len(practice.draw), practice.draw_assumed * practice.mass_kg / UPTAKE
    wear, uptake = first.foods["fries"]
    alike: dict[str, Any] = {name: np.repeat(getattr(first, name), kitchens, axis=0) for name in ALIKE}
    return replace(
        first,
        mass_kg=practice.mass_kg,
        usual_wear_kg=usual_kg * wear,
        usual_uptake_kg=usual_kg * uptake,
        **alike,
    )


def entries_of(practice: Practice, k: int, log: "Notebook") -> list[Entry]:
    """Return what was written down in one kitchen, in no order."""
    filled = [Change(at=FIRST + FILLED, fryer=f"F{i}") for i in range(len(practice.oil))]
    changes = [Change(at=at, fryer=fryer) for at, where in log.changes for fryer, _ in told(where[k])]
    return [
        *filled,
        *readings_in(k, log),
        *changes,
        *services_in(practice, k, log),
        *checks_in(practice, k, log),
    ]


def told(values: Array | Mask) -> list[tuple[str, float]]:
    """Return by fryer what is not nan, or is so."""
    known = values if values.dtype == bool else ~np.isnan(values)
    return [(f"F{i}", float(values[i])) for i in np.flatnonzero(known).tolist()]


def readings_in(k: int, log: "Notebook") -> Iterator[Entry]:
    """Yield the readings of one kitchen."""
    for t, again, pct in log.readings:
        for fryer, tpc_pct in told(pct[k]):
            yield Reading(
                at=read_at(t, again), fryer=fryer, tpc_pct=tpc_pct, oil_temp_c=READ_AT_C, meter="hand"
            )


def services_in(practice: Practice, k: int, log: "Notebook") -> Iterator[Entry]:
    """Yield the loads and top-ups of one kitchen."""
    usual_kg = practice.draw_assumed[k] * practice.mass_kg[k] / UPTAKE
    for t, load, top_up in log.services:
        at = ends(t) + NOTED
        for fryer, mass_kg in told(load[k] * usual_kg):
            yield Load(at=at, fryer=fryer, product="fries", mass_kg=mass_kg)
        for fryer, mass_kg in told(top_up[k] * practice.mass_kg[k]):
            yield TopUp(at=at, fryer=fryer, mass_kg=mass_kg)


def checks_in(practice: Practice, k: int, log: "Notebook") -> Iterator[Entry]:
    """Yield the meter checks of one kitchen."""
    for day, deviations_pct, adjusted in log.checks:
        if not np.isnan(deviations_pct[k]):
            yield MeterCheck(
                at=begins(day * SERVICES_PER_DAY) + (ADJUSTED if adjusted else CHECKED),
                meter="hand",
                lot=f"lot {practice.findings.lot[day, k]}",
                readings_pct=(float(REFERENCE_PCT + deviations_pct[k]),) * READINGS,
                oil_temp_c=50.0,
                adjusted=adjusted,
            )


class Notebook:
    """What practice kitchens wrote down: (service, how often again, readings), changes, services, checks."""

    def __init__(self) -> None:
        """Begin with an empty log."""
        self.readings: list[tuple[int, int, np.ndarray]] = []
        self.changes: list[tuple[datetime, np.ndarray]] = []
        self.services: list[tuple[int, np.ndarray, np.ndarray]] = []
        self.checks: list[tuple[int, np.ndarray, bool]] = []
