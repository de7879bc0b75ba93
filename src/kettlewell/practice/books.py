"""Practice kitchens as the program knows them: their settings, their baths, and their log as entries."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from kettlewell.book import (
    Change,
    Closed,
    Entry,
    FoodKind,
    Force,
    Fryer,
    Judges,
    Kitchen,
    Limit,
    Load,
    MeterCheck,
    Oil,
    Product,
    Reading,
    ReferenceLot,
    TopUp,
)
from kettlewell.core.ageing.coefficients import PACKAGED, Coefficients
from kettlewell.core.arrays import Array, Mask
from kettlewell.core.belief.baths import Baths, baths_of
from kettlewell.practice.findings import READINGS
from kettlewell.practice.hand_meter import HAND_METER
from kettlewell.practice.kitchens import LIMIT_PCT, Practice
from kettlewell.practice.rota import FIRST, Rota
from kettlewell.practice.run import Logged
from kettlewell.practice.samples import ControlOils

FILLED = timedelta(hours=8)
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
CHECKED, ADJUSTED, READ_IN_CONTROL, READ, READ_AGAIN, CHANGED, FILLED_UP = (
    timedelta(minutes=-m) for m in (60, 55, 50, 30, 5, 2, 1)
)
TOPPED_UP, NOTED, CHANGED_LATE = timedelta(minutes=30), timedelta(minutes=10), timedelta(minutes=20)
BETWEEN_READINGS = timedelta(minutes=5)
ALIKE = (
    *("rate_factor", "rate_factor_rel_sd", "fresh_pct", "fresh_sd_pct", "lot_sd_pct", "offset_sd_pct"),
    *("oil", "load_stated", "usual_h", "heat", "standby", "wear"),
)


def read_at(rota: Rota, t: int, again: int = 0) -> datetime:
    """Return when the baths are read before service ``t``, or read ``again``."""
    return rota.begins(t) + READ + again * BETWEEN_READINGS


def kitchen_of(
    practice: Practice,
    k: int,
    *,
    checked: bool = False,
    risk: float = 0.05,
    controls: Sequence[ReferenceLot] = (),
) -> Kitchen:
    """Return the settings of one practice kitchen, with what ``controls`` it came to have."""
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
            Oil(key=f"oil {n}", name=f"Oil {n}", kind=practice.oil_kind)
            for n in range(int(practice.oil.max()) + 1)
        ),
        products=(FRIES,),
        meters=(replace(HAND_METER, resolution_pct=practice.resolution_pct),),
        reference_lots=(*(lots(practice, k) if checked else ()), *controls),
        services=practice.rota.services,
        limits=(LIMIT,),
        risk=risk,
    )


def lots(practice: Practice, k: int) -> tuple[ReferenceLot, ...]:
    """Return the bottles of reference oil of one kitchen."""
    found = practice.findings
    return tuple(
        ReferenceLot(
            key=f"lot {n}",
            name=f"Lot {n}",
            tpc_pct=REFERENCE_PCT,
            expanded_u_pct=2 * found.reference_u_pct,
            read_at_c=50.0,
        )
        for n in range(int(found.lot[:, k].max()) + 1)
    )


def control_lots(k: int, log: "Notebook") -> list[ReferenceLot]:
    """Return the control oils that one kitchen came to have, each read when its value came."""
    found: dict[int, ReferenceLot] = {}
    for _, control, shown_pct in log.controls:
        if not np.isnan(shown_pct[k]):
            number, tpc_pct = int(control.number[k]), float(control.tpc_pct[k])
            found[number] = ReferenceLot(
                key=f"control {number}",
                name=f"Control oil {number}",
                tpc_pct=tpc_pct,
                expanded_u_pct=2 * PACKAGED.laboratory.sd * tpc_pct,
                oil=f"oil {control.oil[k]}",
            )
    return list(found.values())


def baths_in(practice: Practice, known: Coefficients, *, checked: bool, controlled: bool = False) -> Baths:
    """Return the baths of all practice kitchens: those of the first, but for what differs."""
    first = baths_of(kitchen_of(practice, 0, checked=checked), known)
    kitchens, usual_kg = len(practice.draw), practice.draw_assumed * practice.mass_kg / UPTAKE
    wear, uptake = first.foods["fries"]
    alike: dict[str, Any] = {name: np.repeat(getattr(first, name), kitchens, axis=0) for name in ALIKE}
    return replace(
        first,
        checked=first.checked or controlled,
        controlled=controlled,
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
        *readings_in(practice, k, log),
        *changes,
        *services_in(practice, k, log),
        *checks_in(practice, k, log),
        *controls_in(practice, k, log),
        *closings_in(practice, k),
    ]


def told(values: Array | Mask) -> list[tuple[str, float]]:
    """Return by fryer what is not nan, or is so."""
    known = values if values.dtype == bool else ~np.isnan(values)
    return [(f"F{i}", float(values[i])) for i in np.flatnonzero(known).tolist()]


def readings_in(practice: Practice, k: int, log: "Notebook") -> Iterator[Entry]:
    """Yield the readings of one kitchen."""
    for t, again, pct in log.readings:
        for fryer, tpc_pct in told(pct[k]):
            yield Reading(
                at=read_at(practice.rota, t, again),
                fryer=fryer,
                tpc_pct=tpc_pct,
                oil_temp_c=READ_AT_C,
                meter="hand",
            )


def services_in(practice: Practice, k: int, log: "Notebook") -> Iterator[Entry]:
    """Yield the loads and top-ups of one kitchen."""
    usual_kg = practice.draw_assumed[k] * practice.mass_kg[k] / UPTAKE
    for t, logged in log.services:
        for fryer, mass_kg in told(logged.load[k] * usual_kg):
            at = practice.rota.ends(t) + NOTED
            yield Load(at=at, fryer=fryer, product="fries", mass_kg=mass_kg)
        begins, ends = practice.rota.begins(t), practice.rota.ends(t)
        moments = (logged.before, logged.top_up, logged.after)
        for top_up, at in zip(moments, (begins + FILLED_UP, begins + TOPPED_UP, ends + NOTED), strict=True):
            for fryer, mass_kg in told(top_up[k] * practice.mass_kg[k]):
                yield TopUp(at=at, fryer=fryer, mass_kg=mass_kg)


def closings_in(practice: Practice, k: int) -> Iterator[Entry]:
    """Yield the one closing of a kitchen that writes it down, from the first service it leaves out."""
    closed = np.flatnonzero(practice.closed[:, k, 0])
    if closed.size and practice.closing_written[k, 0]:
        rota = practice.rota
        yield Closed(at=rota.begins(int(closed[0])), until=rota.ends(int(closed[-1])))


def checks_in(practice: Practice, k: int, log: "Notebook") -> Iterator[Entry]:
    """Yield the meter checks of one kitchen."""
    for day, deviations_pct, adjusted in log.checks:
        if not np.isnan(deviations_pct[k]):
            yield MeterCheck(
                at=practice.rota.begins(day * practice.rota.per_day) + (ADJUSTED if adjusted else CHECKED),
                meter="hand",
                lot=f"lot {practice.findings.lot[day, k]}",
                readings_pct=(float(REFERENCE_PCT + deviations_pct[k]),) * READINGS,
                oil_temp_c=50.0,
                adjusted=adjusted,
            )


def controls_in(practice: Practice, k: int, log: "Notebook") -> Iterator[Entry]:
    """Yield what the meter of one kitchen was read at in its control oils."""
    for day, control, shown_pct in log.controls:
        if not np.isnan(shown_pct[k]):
            yield MeterCheck(
                at=practice.rota.begins(day * practice.rota.per_day) + READ_IN_CONTROL,
                meter="hand",
                lot=f"control {control.number[k]}",
                readings_pct=(float(shown_pct[k]),) * READINGS,
                oil_temp_c=READ_AT_C,
            )


@dataclass(slots=True, kw_only=True)
class Notebook:
    """What practice kitchens wrote down: (service, how often again, readings), changes, services, checks.

    Of control oils the day, those in use then and what the meters showed (K,; nan where not read).

    Of a service loads (K, F) and what was topped up before it, while it ran and after it (K, F, 3).
    """

    readings: list[tuple[int, int, Array]] = field(default_factory=list)
    changes: list[tuple[datetime, Mask]] = field(default_factory=list)
    services: list[tuple[int, Logged]] = field(default_factory=list)
    checks: list[tuple[int, Array, bool]] = field(default_factory=list)
    controls: list[tuple[int, ControlOils, Array]] = field(default_factory=list)
