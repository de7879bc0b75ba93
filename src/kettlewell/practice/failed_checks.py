"""Practice in looking back: meters that went off between two checks, as only practice knows how.

All ranges are invented. Each kitchen reads two baths every morning for four weeks; then its
meter is found off, and each verdict is told anew with what the two checks found.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from enum import StrEnum

import numpy as np

from kettlewell.book import (
    Change,
    Entry,
    Force,
    Fryer,
    Judges,
    Kitchen,
    Limit,
    MeterCheck,
    Oil,
    OilKind,
    Reading,
    ReferenceLot,
    Service,
    in_order,
)
from kettlewell.core.arrays import Array, Mask
from kettlewell.core.metering.paths import Found, Path, PathKind
from kettlewell.core.outlook.lookback import Between, answered, at_first
from kettlewell.practice.hand_meter import HAND_METER

DAYS = 28
REFERENCE_PCT, LIMIT_PCT, CHANGED_AT_PCT = 10.0, 24.0, 20.0
FIRST = datetime(2026, 1, 5, 8, tzinfo=UTC)
KITCHEN = Kitchen(
    name="Practice",
    fryers=(
        Fryer(key="one", name="One", oil="oil", oil_mass_kg=15),
        Fryer(key="two", name="Two", oil="oil", oil_mass_kg=10),
    ),
    oils=(Oil(key="oil", name="Oil", kind=OilKind.RAPESEED),),
    meters=(HAND_METER,),
    reference_lots=(
        ReferenceLot(key="lot", name="Lot", tpc_pct=REFERENCE_PCT, expanded_u_pct=0.2, read_at_c=50.0),
    ),
    services=(Service(name="Day", weekdays=tuple(range(7)), begins=time(11), ends=time(15)),),
    limits=(
        Limit(
            jurisdiction="house",
            judges=Judges.OIL,
            quantity="total polar compounds",
            unfit_when=">",
            value=LIMIT_PCT,
            unit="% m/m",
            force=Force.HOUSE,
        ),
    ),
)


class WentOff(StrEnum):
    """How a practice meter went off."""

    DRIFT = "drift"
    WANDER = "wander"
    STEP = "step"


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """The verdicts (N,) looked back on: the probability told that they do ``not_stand``, and what is true."""

    not_stand: Array
    fell: Mask


def look_back_in_practice(rng: np.random.Generator, how: WentOff, *, kitchens: int, u_pct: float) -> Looked:
    """Return how looking back does in kitchens whose meters went off by ``how``.

    Both checks find the deviation to a standard uncertainty of ``u_pct``. Steps are judged as
    steps, all else as a drift.
    """
    found = [look for _ in range(kitchens) for look in look_back_once(rng, how, u_pct)]
    return Looked(not_stand=np.array([p for p, _ in found]), fell=np.array([fell for _, fell in found]))


def look_back_once(rng: np.random.Generator, how: WentOff, u_pct: float) -> Iterator[tuple[float, bool]]:
    """Yield for each verdict of one kitchen what was told of it, and whether it would have been another."""
    off_pct = draw_deviation(rng, how)
    first, last = (
        Found(pct=float(off_pct[day] + u_pct * rng.standard_normal()), u_pct=u_pct) for day in (0, DAYS)
    )
    good, failed = check(0, first.pct), check(DAYS, last.pct)
    kind = PathKind.STEP if how is WentOff.STEP else PathKind.DRIFT
    path = Path(kind=kind, first=at_first(KITCHEN.meters[0], first), last=last, days=DAYS)
    between = Between(settings=KITCHEN, failed=failed, good=good, begins=good.at, paths=(path,))
    for reading, answers in answered(between, in_order([good, *mornings(rng, off_pct), failed]), None):
        day = (reading.at - FIRST) // timedelta(days=1)
        again = answers.again(path, between.share(reading.at), reading.tpc_pct)
        yield again.not_stand, answers.told_at(off_pct[day]) is not answers.told


def draw_deviation(rng: np.random.Generator, how: WentOff) -> Array:
    """Return what a meter reads too much, day by day, off by 1.5 to 4 points in the end."""
    days = np.arange(DAYS + 1)
    start = rng.normal(0, 0.3)
    total = rng.choice([-1.0, 1.0]) * rng.uniform(1.5, 4)
    if how is WentOff.STEP:
        return np.asarray(start + total * (days > rng.uniform(0, DAYS)))
    line = start + total * days / DAYS
    if how is WentOff.DRIFT:
        return np.asarray(line)
    walk = np.cumsum(np.append(0.0, 0.2 * rng.standard_normal(DAYS)))
    return np.asarray(line + walk - walk[-1] * days / DAYS)


def check(day: int, deviation_pct: float) -> MeterCheck:
    """Return a check that found a deviation."""
    at, shown = FIRST + timedelta(days=day), (REFERENCE_PCT + deviation_pct,) * 3
    return MeterCheck(at=at, meter="hand", lot="lot", readings_pct=shown, oil_temp_c=50.0)


def mornings(rng: np.random.Generator, off_pct: Array) -> Iterator[Entry]:
    """Yield readings of both baths each morning; oil that shows much is changed."""
    gain, offset, noise_sd = rng.uniform(0.9, 1.05), rng.normal(0, 0.4), rng.uniform(0.3, 0.5)
    for fryer, rate in zip(("one", "two"), rng.uniform(1.2, 2.2, 2), strict=True):
        tpc_pct = rng.uniform(4, 18)
        for day, off in enumerate(off_pct[:-1]):
            at = FIRST + timedelta(days=day, hours=1)
            shown = off + offset + gain * tpc_pct + noise_sd * rng.standard_normal()
            yield Reading(at=at, fryer=fryer, tpc_pct=max(np.round(2 * shown) / 2, 0.0), oil_temp_c=150.0)
            if shown > CHANGED_AT_PCT:
                yield Change(at=at + timedelta(minutes=30), fryer=fryer)
                tpc_pct = 4.0
            tpc_pct += rate * rng.lognormal(0, 0.2)
