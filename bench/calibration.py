"""Whether intervals are honest, and how much better than a straight line and a local linear trend.

python bench/calibration.py [KITCHENS] [SEED]    about 2 minutes for 250 kitchens of 4 fryers
"""

import sys
from collections.abc import Sequence

import numpy as np
from scipy.optimize import minimize

from kettlewell.practice.calibration import (
    HORIZONS,
    Overheard,
    Trial,
    at_horizons,
    coverage,
    crps,
    decile_shares,
    life_pit,
    moments,
    try_forecasts,
    what_came,
)
from kettlewell.practice.habits import Habits
from kettlewell.practice.kitchens import Practice, draw_practice
from kettlewell.practice.rivals import LocalTrend, StraightLine, TrendNoise
from kettlewell.practice.rules import Threshold
from kettlewell.practice.run import run

FRYERS, DAYS, TUNED_ON = 4, 110, 100
EVERY_SERVICES = 5
CHANGED_AT_PCT = (19.0, 24.0)
STRATA = {
    "all loads logged": Habits(load_forgotten=(0.0, 0.0)),
    "no load logged": Habits(load_forgotten=(1.0, 1.0)),
    "gain 0.89": Habits(gain=(0.89, 0.89)),
}


def draw(kitchens: int, seed: int, habits: Habits | None = None) -> tuple[Practice, Threshold]:
    """Return kitchens that change at a reading of their own choice, whatever we would say."""
    rng = np.random.default_rng(seed)
    practice = draw_practice(rng, kitchens=kitchens, fryers=FRYERS, days=DAYS, habits=habits)
    at_pct = rng.uniform(*CHANGED_AT_PCT, (kitchens, 1))
    return practice, Threshold(practice=practice, at_pct=at_pct)


def tuned_noise(kitchens: int, seed: int) -> TrendNoise:
    """Return the spreads with which the local linear trend forecasts kitchens of its own best."""
    practice, rule = draw(kitchens, seed)
    times = moments(practice, EVERY_SERVICES)

    def loss(log_sds: Sequence[float]) -> float:
        trend, taken = LocalTrend(shape=(kitchens, FRYERS), noise=noise_of(log_sds)), []

        def note(t: int) -> None:
            if t in times:
                taken.append(at_horizons(trend, t))

        course = run(practice, Overheard(practice=practice, rule=rule, listeners=[trend], note=note))
        mean, sd = (np.stack(values) for values in zip(*taken, strict=True))
        return float(crps(mean, sd, what_came(practice, course, times).tpc_pct).mean())

    return noise_of(minimize(loss, np.log([0.3, 0.02, 1.0]), method="Nelder-Mead", options={"maxfev": 80}).x)


def noise_of(log_sds: Sequence[float]) -> TrendNoise:
    """Return spreads from their logarithms."""
    level, slope, reading = np.exp(log_sds)
    return TrendNoise(level_sd_pct=level, slope_sd_pct=slope, reading_sd_pct=reading)


def print_coverage(name: str, trial: Trial, where: np.ndarray | None = None) -> None:
    """Print how often the 90 % interval held, at each horizon."""
    shares = " | ".join(f"{coverage(trial, horizon, where):.1%}" for horizon in HORIZONS)
    print(f"| {name} | {shares} |", flush=True)


def crps_all_but_gain(practice: Practice, trial: Trial) -> np.ndarray:
    """Return the CRPS (N, H, K, F) of one who knows the future but for the gain: a bound for any forecast.

    It expects the gain anywhere in the range kitchens are drawn from: E|X - x| - E|X - X'| / 2.
    """
    truth = trial.truth.tpc_pct
    shown = practice.gain * truth
    one_over_gain = 1 / np.linspace(*Habits().gain, 101)
    apart = np.abs(one_over_gain[:, None] - one_over_gain).mean()
    return np.mean([np.abs(shown * one - truth) for one in one_over_gain], axis=0) - shown * apart / 2


def print_crps(practice: Practice, trial: Trial) -> None:
    """Print the CRPS where a fill has the three readings a straight line needs."""
    truth, has_line = trial.truth.tpc_pct, ~np.isnan(trial.rivals[0][0])
    forecasts = [(trial.ours.mean_pct, trial.ours.sd_pct), *trial.rivals]
    points = [*(crps(mean, sd, truth) for mean, sd in forecasts), crps_all_but_gain(practice, trial)]
    each = range(len(HORIZONS))
    scores = np.array([[one[:, i][has_line[:, i]].mean() for one in points] for i in each])
    print("\n| ahead | ours | line | local trend | all but the gain | below line | below trend |")
    print("|---" * 7 + "|")
    for name, row in [*zip(HORIZONS, scores, strict=True), ("all three", scores.mean(axis=0))]:
        numbers = " | ".join(f"{score:.3f}" for score in row)
        print(f"| {name} | {numbers} | {1 - row[0] / row[1]:.1%} | {1 - row[0] / row[2]:.1%} |")


def main(kitchens: int = 250, seed: int = 11) -> None:
    """Print coverage by stratum, the deciles of life's PIT, and the CRPS beside two rivals."""
    noise, shape = tuned_noise(min(TUNED_ON, kitchens), seed + 1000), (kitchens, FRYERS)
    practice, rule = draw(kitchens, seed)
    rivals = (StraightLine(shape=shape), LocalTrend(shape=shape, noise=noise))
    general = try_forecasts(practice, rule, rivals, every_services=EVERY_SERVICES)
    print(f"{kitchens} kitchens of {FRYERS} fryers over {DAYS} days in each stratum, seed {seed}.")
    print("\n| stratum | 1 service ahead | 3 | 7 |\n|---|---|---|---|")
    print_coverage("as they come", general)
    print_coverage("first fill", general, general.truth.first_fill)
    print_coverage("TPC above 19", general, general.truth.now_pct > 19)
    for name, habits in STRATA.items():
        print_coverage(name, try_forecasts(*draw(kitchens, seed, habits), every_services=EVERY_SERVICES))
    print("\nLife's PIT by decile:\n\n| " + " | ".join(map(str, range(1, 11))) + " |\n" + "|---" * 10 + "|")
    shares = decile_shares(life_pit(np.random.default_rng(seed), general))
    print("| " + " | ".join(f"{share:.1%}" for share in shares) + " |")
    print(
        f"\nThe local trend's best standard deviations: level {noise.level_sd_pct:.2f} and slope "
        f"{noise.slope_sd_pct:.2f} points a service, reading {noise.reading_sd_pct:.2f} points."
    )
    print_crps(practice, general)


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
