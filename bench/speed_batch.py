"""How fast many kitchens are filtered and forecast, and one update beside two general filters.

python bench/speed_batch.py [KITCHENS]    about half a minute; filterpy and progpy are needed
"""

import resource
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from typing import ClassVar

import filterpy.kalman
import numpy as np
from progpy import PrognosticsModel
from progpy.state_estimators import UnscentedKalmanFilter

from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.filter import OF_WORK, Work, one_after_another
from kettlewell.core.belief.level import highest_in
from kettlewell.core.belief.seen import Doubt
from kettlewell.core.belief.state import initial_state
from kettlewell.core.belief.step import Readings, Refill, Step, step
from kettlewell.core.outlook.forecast import passing
from kettlewell.practice.books import READ_AT_C, baths_in
from kettlewell.practice.kitchens import draw_practice

FRYERS, READINGS, AHEAD = 8, 200, 14
CHUNK, CORES = 625, 2
FILL_READINGS, STEP_PCT, FRESH_PCT, LIMIT_PCT = 25, 0.8, 4.0, 24.0
READING_SD_PCT = 0.5


def readings(rng: np.random.Generator, kitchens: int) -> np.ndarray:
    """Return readings (READINGS, K, F) of fills that age straight and are changed in turn; some skipped."""
    shape = (READINGS, kitchens, FRYERS)
    age_readings = (np.arange(READINGS) % FILL_READINGS)[:, None, None]
    shown = FRESH_PCT + STEP_PCT * (age_readings + 1) + READING_SD_PCT * rng.standard_normal(shape)
    return np.where(rng.random(shape) < 0.3, np.nan, shown)


def usual_work(kitchens: int) -> Work:
    """Return what a usual service does to every bath."""
    shape = (1, kitchens, FRYERS)
    amounts = {"hours": 2.0, "turnover": 0.01, "hours_sd": 0.3, "turnover_sd": 0.002}
    return Work(**{name: np.full(shape, amounts.get(name, 0.0)) for name in OF_WORK})


def taken(shown: np.ndarray, n: int) -> Readings:
    """Return the n-th readings (K, F) of one meter, one a service, nan where skipped."""
    return Readings(
        pct=shown,
        var=np.full(shown.shape, READING_SD_PCT**2),
        meters=np.zeros(shown.shape, np.intp),
        temp_c=np.full(shown.shape, READ_AT_C),
        at_s=np.full(shown.shape, float(n)),
        doubt=np.full(shown.shape, Doubt.NONE),
        refs=np.full(shown.shape, "", dtype=object),
    )


def assess_chunk(seed: int, kitchens: int = CHUNK) -> np.ndarray:
    """Return the probability (AHEAD, K, F) of having passed the limit, after all readings."""
    rng, work = np.random.default_rng(seed), usual_work(kitchens)
    baths = baths_in(draw_practice(rng, kitchens=kitchens, fryers=FRYERS, days=1), PACKAGED, checked=False)
    state, everywhere = initial_state(baths), np.ones((kitchens, FRYERS), bool)
    for n, shown in enumerate(readings(rng, kitchens)):
        filled = (Refill(where=everywhere, oil=baths.oil, at_s=float(n)),) if n % FILL_READINGS == 0 else ()
        state = step(state, Step(acts=filled, work=work, readings=taken(shown, n)))
    return passing(highest_in(state.belief, one_after_another([work] * AHEAD)), LIMIT_PCT)


def seconds(call: Callable[[], object]) -> float:
    """Return how long a call takes."""
    begun = time.perf_counter()
    call()
    return time.perf_counter() - begun


def all_chunks(kitchens: int) -> None:
    """Work through every chunk on all cores."""
    sizes = [min(CHUNK, kitchens - done) for done in range(0, kitchens, CHUNK)]
    with ProcessPoolExecutor(CORES) as pool:
        for _ in pool.map(assess_chunk, range(len(sizes)), sizes):
            pass


def filterpy_update_s(updates: int = 2000) -> float:
    """Return filterpy's time for one step of level and rate and one reading."""
    one = filterpy.kalman.KalmanFilter(dim_x=2, dim_z=1)
    one.x, one.P = np.array([FRESH_PCT, 0.5]), np.diag([0.5, 0.3])
    one.F, one.H = np.array([[1.0, 2.0], [0.0, 1.0]]), np.array([[1.0, 0.0]])
    one.Q, one.R = np.diag([0.01, 1e-5]), np.array([[READING_SD_PCT**2]])

    def work() -> None:
        for _ in range(updates):
            one.predict()
            one.update(5.0)

    return seconds(work) / updates


class Bath(PrognosticsModel):
    """A bath that ages at a rate of its own: state level and rate, output the reading."""

    inputs: ClassVar[list[str]] = ["hours"]
    states: ClassVar[list[str]] = ["level", "rate"]
    outputs: ClassVar[list[str]] = ["reading"]
    events: ClassVar[list[str]] = ["limit"]
    default_parameters: ClassVar[dict[str, object]] = {
        "x0": {"level": FRESH_PCT, "rate": 0.5},
        "process_noise": 0.01,
        "measurement_noise": READING_SD_PCT,
    }

    def dx(self, x, u):  # noqa: ANN001, ANN201
        """Return the change of the state."""
        return self.StateContainer({"level": x["rate"] * u["hours"], "rate": 0 * x["rate"]})

    def output(self, x):  # noqa: ANN001, ANN201
        """Return the reading."""
        return self.OutputContainer({"reading": x["level"]})


def progpy_update_s(updates: int = 300) -> float:
    """Return the time of one update of progpy's unscented Kalman filter."""
    bath = Bath()
    one = UnscentedKalmanFilter(bath, bath.initialize())
    worked, shown = bath.InputContainer({"hours": 1.0}), bath.OutputContainer({"reading": 5.0})

    def work() -> None:
        for n in range(1, updates + 1):
            one.estimate(float(n), worked, shown)

    return seconds(work) / updates


def spent() -> tuple[float, float]:
    """Return the workers' processor time in s, and the most memory all can have held in GB (Linux)."""
    own, workers = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    return workers.ru_utime + workers.ru_stime, 1024 * (own.ru_maxrss + CORES * workers.ru_maxrss) / 1e9


def main(kitchens: int = 12_500) -> None:
    """Print the time and memory of the batch, and the times of one update."""
    batch_s = seconds(lambda: all_chunks(kitchens))
    processor_s, peak_gb = spent()
    chunk = min(CHUNK, kitchens)
    ours_s = seconds(lambda: assess_chunk(0, chunk)) / (chunk * FRYERS * READINGS)
    filterpy_s, progpy_s = filterpy_update_s(), progpy_update_s()
    print(f"{kitchens} kitchens x {FRYERS} fryers x {READINGS} readings, {AHEAD} services ahead:")
    print(f"{batch_s:.1f} s in {CORES} processes ({processor_s:.1f} s of processor time), {peak_gb:.2f} GB")
    print("\n| one update, one core | microseconds | times ours |\n|---|---|---|")
    for name, took_s in (("ours, in a batch", ours_s), ("filterpy", filterpy_s), ("progpy's UKF", progpy_s)):
        print(f"| {name} | {1e6 * took_s:.2f} | {took_s / ours_s:.0f} |")


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
