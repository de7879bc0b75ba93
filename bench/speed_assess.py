"""How fast one kitchen is assessed: 8 fryers and a year of entries, from nothing and from a checkpoint.

python bench/speed_assess.py [DAYS]    about half a minute
"""

import statistics
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from datetime import time as clock

import numpy as np

from kettlewell.book import (
    Change,
    Entry,
    FoodKind,
    Fryer,
    Kitchen,
    Load,
    Oil,
    OilKind,
    Product,
    Reading,
    Service,
    TopUp,
)
from kettlewell.core import assess, checkpoint
from kettlewell.practice.hand_meter import HAND_METER

START = datetime(2025, 1, 6, tzinfo=UTC)
FRYERS, ROUNDS = 8, 7


def kitchen() -> Kitchen:
    """Return a kitchen of eight fryers that fries lunch and dinner every day."""
    return Kitchen(
        name="bench",
        jurisdiction="CH",
        oils=(Oil(key="oil", name="Oil", kind=OilKind.RAPESEED),),
        products=(Product(key="fries", name="Fries", kind=FoodKind.FROZEN_FRIES),),
        meters=(HAND_METER,),
        fryers=tuple(
            Fryer(
                key=f"F{n}",
                name=f"F{n}",
                oil="oil",
                oil_mass_kg=15,
                set_temp_c=172,
                fries=("fries",),
                usual_load_kg=4,
            )
            for n in range(FRYERS)
        ),
        services=(
            Service(name="Lunch", weekdays=tuple(range(7)), begins=clock(11, 30), ends=clock(14)),
            Service(name="Dinner", weekdays=tuple(range(7)), begins=clock(18), ends=clock(21)),
        ),
    )


def entries(days: int) -> list[Entry]:
    """Return some days of entries: readings on most, some loads and top-ups, a change every two weeks."""
    rng = np.random.default_rng(1)
    book: list[Entry] = []
    for day in range(days):
        morning = START + timedelta(days=day)
        for n in range(FRYERS):
            fryer, age_days = f"F{n}", (day + n) % 14
            if age_days == 0 or day == 0:
                book.append(Change(at=morning + timedelta(hours=10), fryer=fryer))
            if rng.random() < 0.7:
                tpc_pct = round(2 * (4.5 + 1.2 * age_days + rng.normal(0, 0.5))) / 2
                book.append(
                    Reading(at=morning + timedelta(hours=11, minutes=n), fryer=fryer, tpc_pct=tpc_pct)
                )
            if rng.random() < 0.6:
                load_kg = float(rng.uniform(2, 6))
                book.append(
                    Load(at=morning + timedelta(hours=14), fryer=fryer, product="fries", mass_kg=load_kg)
                )
            if rng.random() < 0.5:
                book.append(
                    TopUp(at=morning + timedelta(hours=21), fryer=fryer, mass_kg=float(rng.uniform(0.2, 0.6)))
                )
    return book


def median_ms(call: Callable[[], object]) -> float:
    """Return the median time of a call in milliseconds."""
    times = []
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        call()
        times.append(1000 * (time.perf_counter() - begin))
    return statistics.median(times)


def main(days: int = 365) -> None:
    """Print the figures."""
    place, book = kitchen(), entries(days)
    now = START + timedelta(days=days, hours=10)
    stopped = checkpoint(place, book, at=now - timedelta(hours=1))
    new = [entry for entry in book if entry.at >= stopped.covers_to]
    new.append(Reading(at=now - timedelta(minutes=5), fryer="F0", tpc_pct=12.0))
    assess(place, new, now=now, since=stopped)
    print(f"{FRYERS} fryers, {days} days, {len(book)} entries")
    print(f"from nothing: {median_ms(lambda: assess(place, book, now=now)):.0f} ms")
    continued_ms = median_ms(lambda: assess(place, new, now=now, since=stopped))
    print(f"from a checkpoint and {len(new)} entries: {continued_ms:.1f} ms")


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
