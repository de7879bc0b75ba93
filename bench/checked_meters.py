"""What checks of the meter and laboratory samples save, and whether intervals stay honest with them.

python bench/checked_meters.py [KITCHENS] [SEED] [DAYS]    1.5 h for 500 kitchens of 4 fryers over a year
"""

import sys
from dataclasses import dataclass, replace

import numpy as np
from calibration import EVERY_SERVICES, draw, print_coverage
from closed_loop import FRYERS, PAST_SHARE

from kettlewell.core.ageing.coefficients import PACKAGED, Coefficients
from kettlewell.core.arrays import Array
from kettlewell.practice.calibration import try_forecasts
from kettlewell.practice.habits import DRIFTING, Habits
from kettlewell.practice.kitchens import Practice, draw_practice
from kettlewell.practice.rules import Clairvoyant, Ours
from kettlewell.practice.run import Course, run
from kettlewell.practice.score import Tally, at_past_share, bounds, measures, resamples, tally
from kettlewell.practice.watch import Upkeep

DAYS, FIRST_DAYS = 365, 150
RISKS = (0.10, 0.20, 0.35)
COVERED_KITCHENS = 250
KITCHENS = {
    "two oils": DRIFTING,
    "one oil": Habits(),
    "one oil, drifts 2-5 times as fast": Habits(walk_factor=(2.0, 5.0)),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Exact(Upkeep):
    """A laboratory that errs by nothing, as the program knows: a bound for any other."""

    @property
    def known(self) -> Coefficients:
        """The coefficients that the program begins with."""
        return replace(PACKAGED, laboratory=replace(PACKAGED.laboratory, sd=1e-4))


BY_WORTH = {"check_days": 28, "first_by_worth": True, "control": True}
FOUR = {**BY_WORTH, "laboratory_days": 12, "most_samples": 4}
CARES = {
    "no checks": Upkeep(),
    "a check every four weeks": Upkeep(check_days=28),
    "and a sample a quarter": Upkeep(check_days=28, laboratory_days=91),
    "and a sample every 46 days": Upkeep(check_days=28, laboratory_days=46),
    "a sample a quarter, bottled as control oil": Upkeep(check_days=28, laboratory_days=91, control=True),
    "and the first by worth": Upkeep(**BY_WORTH, laboratory_days=91),
    "and the three others every twelve days": Upkeep(**FOUR),
    "and the laboratory exact": Exact(**FOUR),
}
STRATA = {
    "as they come": {},
    "all loads logged": {"load_forgotten": (0.0, 0.0)},
    "no load logged": {"load_forgotten": (1.0, 1.0)},
    "gain 0.89": {"gain": (0.89, 0.89), "oil_gain": (0.0, 0.0)},
}


def first_days(practice: Practice, course: Course, days: int) -> tuple[Practice, Course]:
    """Return the first days of a course, and how many services they had."""
    services = days * practice.rota.per_day
    arrays = {name: getattr(course, name)[:services] for name in Course.__slots__}
    return replace(practice, slot=practice.slot[:services]), Course(**arrays)


def with_exact_laboratory(practice: Practice) -> Practice:
    """Return the same kitchens with a laboratory that errs by nothing."""
    findings = practice.findings
    return replace(practice, findings=replace(findings, laboratory=np.zeros_like(findings.laboratory)))


def sums_of(practice: Practice, course: Course, best: Course, days: int) -> Tally:
    """Return the sums over the first days of a course."""
    short, first = first_days(practice, course, days)
    return tally(short, first, first_days(practice, best, days)[1])


def cell(frontier: list[Tally], weights: Array) -> str:
    """Return what is discarded at 0.20 % of hours, with its 95 % bounds."""
    there = at_past_share(frontier, PAST_SHARE).discard_ratio
    low, high = bounds([at_past_share(frontier, PAST_SHARE, weight) for weight in weights])
    return f"{there:.3f} ({low.discard_ratio:.3f}-{high.discard_ratio:.3f})"


def print_loop(name: str, practice: Practice, weights: Array) -> None:
    """Print what each care discards over all days and the first 150 of them."""
    all_days = practice.services // practice.rota.per_day
    best = run(practice, Clairvoyant(practice=practice))
    for care, how in CARES.items():
        lived = with_exact_laboratory(practice) if isinstance(how, Exact) else practice
        courses = [run(lived, Ours(practice=lived, risk=risk, care=how)) for risk in RISKS]
        year, first = (
            [sums_of(practice, course, best, days) for course in courses] for days in (all_days, FIRST_DAYS)
        )
        points = ", ".join(
            f"{one.discard_ratio:.3f} at {100 * one.past_share:.3f} %" for one in map(measures, year)
        )
        print(f"| {name} | {care} | {points} | {cell(year, weights)} | {cell(first, weights)} |", flush=True)


def print_honesty(kitchens: int, seed: int) -> None:
    """Print how often the 90 % intervals held in kitchens of two oils, by stratum and care."""
    print("\n| stratum, care | 1 service ahead | 3 | 7 |\n|---|---|---|---|")
    for stratum, other in STRATA.items():
        practice, rule = draw(kitchens, seed, replace(DRIFTING, **other))
        for care, how in CARES.items():
            trial = try_forecasts(practice, rule, every_services=EVERY_SERVICES, care=how)
            print_coverage(f"{stratum}, {care}", trial)
            if not other:
                print_coverage(f"first fill, {care}", trial, trial.truth.first_fill)
                print_coverage(f"TPC above 19, {care}", trial, trial.truth.now_pct > 19)


def main(kitchens: int = 500, seed: int = 3, days: int = DAYS) -> None:
    """Print the closed loop of each kind of kitchen, then the coverage."""
    print(f"{kitchens} kitchens of {FRYERS} fryers, {days} days, seed {seed}; in brackets 95 % (bootstrap).")
    first = min(FIRST_DAYS, days)
    print(f"\n| kitchens | care | at α = {RISKS} | at 0.20 % of hours | in the first {first} days |")
    print("|---" * 5 + "|")
    for name, habits in KITCHENS.items():
        rng = np.random.default_rng(seed)
        practice = draw_practice(rng, kitchens=kitchens, fryers=FRYERS, days=days, habits=habits)
        print_loop(name, practice, resamples(rng, kitchens))
    print_honesty(min(COVERED_KITCHENS, kitchens), seed)


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
